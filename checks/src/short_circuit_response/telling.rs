//! A protection that does not suit in words, and what would change it.

use loadworthy_unit::plan::GateDrive;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{EARLY, UNNOTICED, highest};
use crate::check::{Failure, Family, Told};
use crate::figure_text::{comparison, value};
use crate::gated::{of_failing, places};
use crate::steps::toward_all;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// A driver that notices no short circuit.
fn unnoticed(drive: &GateDrive, worst: &Verdict, solved: &Solved<'_>) -> Told {
    let variant = solved.variant;
    let path = variant.tables.input_of(drive.channel.blanking).path.as_str();
    let driver = path.split('.').nth(1).unwrap_or(path);
    let saying = format!(
        "`{driver}` says nothing of how it notices a short circuit: one through `{}` lasts until something bursts",
        variant.path(worst.part)
    );
    let resistor = drive.channel.turn_off_resistor;
    let at = place(solved, resistor, LaneId::new(0), "drives it, and looks at nothing".to_owned());
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, "no `short_circuit` of its driver".to_owned()));
    let why = "state `short_circuit` of the driver: `blanking`, `filter`, `delay` and `turn_off`";
    Told { no_proposal: Some(why.to_owned()), ..Told::new(saying, at) }
}

pub(super) fn told(drive: &GateDrive, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    if worst.defect == UNNOTICED {
        return Some(unnoticed(drive, worst, solved));
    }
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let (part, text) = (solved.variant.path(worst.part), comparison(compared));
    let (gate, channel) = (&drive.gate, &drive.channel);
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let time = |input: InputId| stated(input, Dimension::Time);
    let blanking = time(channel.blanking);
    let (saying, mut causes) = if worst.defect == EARLY {
        let saying = format!(
            "`{part}` may take {} to turn on, and its driver looks for a short circuit after {} already",
            text.carried, text.limit
        );
        let mut causes = vec![(gate.turn_on_time, format!("on after up to {}", text.carried))];
        let fitted = solved.figure(drive.figures.on_resistance, lane);
        let stated_with = gate.stated_with.and_then(|with| Some((with, solved.input(with, lane)?)));
        if let Some(((with, stated), fitted)) = stated_with.zip(fitted)
            && fitted > stated * (1.0 + 1e-9)
        {
            causes[0].1 =
                format!("on after up to {} behind {}", text.carried, value(fitted, Dimension::Resistance));
            causes.push((with, format!("its times hold at {}", value(stated, Dimension::Resistance))));
            // What slows it is the cause, where its own time would do.
            causes.insert(0, (channel.turn_on_resistor, "slower behind this".to_owned()));
            causes.insert(1, (channel.blanking, format!("{blanking} without a look")));
        } else {
            causes.insert(0, (channel.blanking, format!("{blanking} without a look")));
        }
        (saying, causes)
    } else {
        let bus = highest(drive, solved, lane).map(|(_, volts)| value(volts, Dimension::Voltage));
        let saying = format!(
            "a short circuit through `{part}` is off after {}, {}",
            text.carried,
            above(compared, "what its device stands")
        );
        let mut causes = vec![
            (channel.blanking, format!("{blanking} without a look")),
            (channel.filter, format!("{} to be sure", time(channel.filter))),
            (channel.delay, format!("{} until the gate moves", time(channel.delay))),
            (channel.turn_off, format!("{} to turn off", time(channel.turn_off))),
        ];
        // What takes longest comes first.
        let longest = |input| solved.input(input, lane).unwrap_or(f64::NAN);
        causes.sort_by(|one, other| longest(other.0).total_cmp(&longest(one.0)));
        causes.push((gate.withstand, format!("stands it for {}", time(gate.withstand))));
        let at = stated(gate.withstand_voltage, Dimension::Voltage);
        causes.extend(bus.map(|bus| (gate.withstand_voltage, format!("at {at}; here up to {bus}"))));
        (saying, causes)
    };
    let (first, label) = causes.remove(0);
    let at = place(solved, first, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label));
    let mut because = places(solved, lane, causes);
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

pub(super) fn propose(drive: &GateDrive, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let time = (Dimension::Time, "");
    let over = compared.carried_value - compared.allowed;
    let less = |name: &str, of: &dyn Fn(&GateDrive) -> InputId| {
        let share = 1.0 - over / solved.input(of(drive), lane)?;
        let inputs = of_failing(failure, solved, of);
        (share > 0.0).then(|| toward_all(name, &inputs, time, share, solved, lane))
    };
    if worst.defect == EARLY {
        let inputs = of_failing(failure, solved, |drive| drive.channel.blanking);
        let longer = compared.carried_value / compared.allowed;
        return vec![toward_all("blanking", &inputs, time, longer, solved, lane)];
    }
    let families = [
        less("filter", &|drive| drive.channel.filter),
        less("blanking", &|drive| drive.channel.blanking),
        less("turn-off of a short circuit", &|drive| drive.channel.turn_off),
    ];
    families.into_iter().flatten().collect()
}
