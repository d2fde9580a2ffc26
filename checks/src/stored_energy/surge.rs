//! What a pre-charge drives at its beginning through all that carries it beside its own contactors: its source, the fuse before
//! it, and of one within a source what closes it there, of which no more is known than of the contactor that it leads around.

use loadworthy_unit::plan::{Fuse, Precharge, SourceLimit};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{SURGE, made, put, telling};
use crate::check::{Family, Told};
use crate::collect::{Limit, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::steps::toward;
use crate::tell::{above, part_at, place};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};

pub(super) fn judge(precharge: &Precharge, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let inrush =
        |limit| compare(solved, lane, (precharge.inrush, Dimension::Current), Limit::Input(limit), None);
    // What a battery gives for its shortest time it gives for the moment of a pre-charge; its own supervision may not take it for
    // one. What it gives for good says nothing of a moment that takes more.
    let source = &plan.sources[precharge.from];
    let (for_good, peaks): (Vec<&SourceLimit>, Vec<&SourceLimit>) =
        source.limits.discharge.iter().partition(|limit| limit.lasts.is_infinite());
    let most = peaks.iter().filter_map(|limit| Some((limit.most, solved.input(limit.most, lane)?)));
    let own = match most.max_by(|one, other| one.1.total_cmp(&other.1)) {
        Some((most, _)) => inrush(most).ok().map(|compared| outcome(Ok(compared), Grade::Minor)),
        None => for_good.first().and_then(|limit| inrush(limit.most).ok()).map(|compared| {
            match compared.holds() {
                true => Outcome::Holds(Some(compared)),
                false => Outcome::NotJudged(vec![Missing::Key { of: source.part, key: "discharge.peaks" }]),
            }
        }),
    };
    if let Some(own) = own {
        put(precharge.part, SURGE, own, solved, lane, out);
    }
    let mut held = |compared, grade| {
        // What is not known of it is asked by its energy and by its contactors.
        if let Ok(compared) = compared {
            put(precharge.part, SURGE, outcome(Ok(compared), grade), solved, lane, out);
        }
    };
    if let Some(main) = precharge.around.as_ref().filter(|_| precharge.contactors.is_empty()) {
        let broken = inrush(main.breaks).ok().filter(Comparison::holds);
        held(made(inrush(main.makes), broken, main.makes, solved), Grade::Major);
    }
    for fuse in before(precharge, solved) {
        let pulse = (precharge.pulse, Dimension::SquaredCurrentTime);
        held(compare(solved, lane, pulse, Limit::Input(fuse.melting), None), Grade::Major);
    }
}

/// The fuses through which its source drives it.
fn before<'v>(precharge: &'v Precharge, solved: &Solved<'v>) -> impl Iterator<Item = &'v Fuse> + use<'v> {
    let fuses = solved.variant.plan.fuses.iter().filter(|fuse| fuse.of_source);
    fuses.filter(|fuse| fuse.drives.iter().any(|drive| drive.place == precharge.from))
}

fn precharge_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Precharge> {
    solved.variant.plan.precharges.iter().find(|one| one.part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let precharge = precharge_of(worst, solved)?;
    let text = comparison(compared);
    let Operand::Input(limit) = compared.limit_from? else { return None };
    let fuse = before(precharge, solved).find(|fuse| fuse.melting == limit);
    let by = match (fuse, &precharge.around) {
        (Some(fuse), _) => {
            format!("what melts `{}`", variant.path(plan.conductors[fuse.conductor].part))
        }
        (None, Some(main)) if [main.makes, main.breaks].contains(&limit) => format!(
            "what even the contacts of `{}` make, which are no smaller than those that close it",
            variant.path(main.part)
        ),
        _ => {
            format!("what `{}` gives for its shortest time", variant.path(plan.sources[precharge.from].part))
        }
    };
    let saying = format!(
        "the pre-charge of `{}` by `{}` sends {} into the empty bank, {}",
        variant.path(plan.buses[precharge.bus].part),
        variant.path(precharge.part),
        text.carried,
        above(compared, &by)
    );
    let resistor = telling::resistor(precharge, solved, lane);
    let at = resistor.and_then(|input| {
        let ohms = value(solved.input(input, lane)?, Dimension::Resistance);
        place(solved, input, lane, format!("{ohms} let {} through", text.carried))
    });
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let because = place(solved, limit, lane, format!("{} at most", text.limit));
    Some(Told { because: because.into_iter().collect(), ..Told::new(saying, at) })
}

/// A larger resistor.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(lane), Some(compared), Some(precharge)) =
        (worst.lane(), worst.comparison(), precharge_of(worst, solved))
    else {
        return Vec::new();
    };
    let over = compared.carried_value / compared.allowed;
    let of = (Dimension::Resistance, "");
    let resistor = telling::resistor(precharge, solved, lane);
    resistor
        .map(|input| toward("resistor of the pre-charge", input, of, over, solved, lane))
        .into_iter()
        .collect()
}
