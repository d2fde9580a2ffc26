//! The voltage along a return that gates share: what it comes to, in words, and what would be in order.

use loadworthy_unit::plan::{SharedReturn, Swing};
use loadworthy_unit::{Dimension, PolicyForm, PolicyItem, Solved};

use super::COMMON;
use super::potentials::{fed_alone, path};
use super::propose::{isolated, reviewed};
use super::tell::drawn;
use crate::check::{Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::review::Place;
use crate::steps::{family, scaled};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Grade;

/// Share of the gate swing that may stand along a shared return.
pub(crate) static SHARED_RETURN: PolicyItem = PolicyItem {
    name: "shared_return",
    help: "Share of the gate voltage from off to on that may stand between two sources that one output feeds, while a current is turned off; a rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.1, usual: (0.05, 0.2) },
    since: 2026,
};

/// Shares of the inductance that are tried.
const LESS: [f64; 7] = [0.75, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1];

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    for of in &solved.variant.plan.shared_returns {
        for lane in solved.variant.lane_ids() {
            let carried = (of.voltage, Dimension::Voltage);
            let compared =
                compare(solved, lane, carried, Limit::Figure(of.swing_figure), Some(&SHARED_RETURN));
            let subject = Subject { part: of.part, defect: COMMON, lane: Some(lane), kin: None };
            out.put(solved, subject, outcome(compared, Grade::Minor), Vec::new());
        }
    }
}

fn of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<&'v SharedReturn> {
    solved.variant.plan.shared_returns.iter().find(|of| of.part == failure.worst.part)
}

pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let of = of(failure, solved)?;
    let (variant, lane, compared) = (solved.variant, failure.worst.lane()?, failure.worst.comparison()?);
    let plan = &variant.plan;
    let fed = fed_alone(&plan.gate_supplies[of.supply]);
    let saying = format!(
        "{} between the sources that `{}` feeds while a current is turned off, {}",
        comparison(compared).carried,
        variant.path(of.part),
        above(compared, "the gate swing")
    );
    let henry = value(solved.input(of.inductance, lane)?, Dimension::Inductance);
    let label = format!("{henry} between {} sources on one output", fed.len());
    let at =
        place(solved, of.inductance, lane, label.clone()).unwrap_or_else(|| part_at(solved, of.part, label));
    let mut because: Vec<Place> = Vec::new();
    for switching in &of.switches {
        let Some(time) = solved.input(switching.fall, lane) else { continue };
        let label = format!("falls in {}", value(time, Dimension::Time));
        let place = place(solved, switching.fall, lane, label);
        because.extend(place.filter(|place| !because.iter().any(|known| known.node == place.node)));
    }
    if let Swing::Stated(on, off) = of.swing {
        for input in [on, off] {
            let volts = value(solved.input(input, lane)?, Dimension::Voltage);
            because.extend(place(solved, input, lane, format!("drives at {volts}")));
        }
    }
    because.extend(policy_place(solved, &SHARED_RETURN));
    let names = drawn(fed.iter().map(|&gate| path(variant, gate).to_owned()).collect());
    let worked = vec![
        format!("on one return: {names}"),
        "what drops along it shifts each of these gates against its own source".to_owned(),
        "also helps: local buffering with return resistors, or auxiliary source terminals, which take the shared \
         path out of the gate loops"
            .to_owned(),
    ];
    Some(Told { because, worked, ..Told::new(saying, at) })
}

/// Less inductance, or an output for each low side.
pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(of), Some(lane)) = (of(failure, solved), failure.worst.lane()) else { return Vec::new() };
    let fed = fed_alone(&solved.variant.plan.gate_supplies[of.supply]);
    let less = scaled("common inductance", &[of.inductance], Dimension::Inductance, &LESS, solved, lane);
    let names = drawn(fed.iter().map(|&gate| path(solved.variant, gate).to_owned()).collect());
    let say = format!("an output for each of {names}");
    let own = reviewed(say, "no return that two gates share", vec![isolated(fed.len() - 1)]);
    vec![super::propose::family(own), family("common inductance down to", less)]
}
