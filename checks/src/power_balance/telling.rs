//! What cannot pass a source, or hardly passes it, in words.

use loadworthy_unit::plan::{Bus, Source};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::{bus_of, transferable};
use crate::check::Told;
use crate::consumers::heaviest;
use crate::figure_text::{comparison, percent, value};
use crate::review::Place;
use crate::tell::{part_at, place};
use crate::verdict::{Fault, Verdict};

/// Share of the largest demand with a solution at which the losses are looked at; at the edge itself the search ends.
const INSIDE: f64 = 0.999;

/// A power that no voltage is left for.
pub(super) fn beyond(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let bus = bus_of(worst.part, solved, lane)?;
    let (part, duty) = (variant.path(worst.part), &variant.duty_of(lane).name);
    let Some(&Fault::Unsolved { largest_share }) = worst.fault() else { return None };
    let (volts, ohms) = solved.behind(bus, lane)?;
    let most = value(transferable(volts, ohms), Dimension::Power);
    let (open, inside) = (value(volts, Dimension::Voltage), value(ohms, Dimension::Resistance));
    let holding = holding(bus, solved, lane);
    let (who, whose) = match holding.as_slice() {
        [_, _, ..] => (holding.join(" and "), "their resistances"),
        [one] => (one.clone(), "its resistance"),
        [] => (format!("`{part}`"), "its resistance"),
    };
    let label = format!("at most {} of what `{duty}` asks can pass", percent(largest_share));
    let saying = format!("{who} cannot give the power: {label} through {whose}, losses included");
    let mut facts = vec![
        format!("{most} at most, from {open} through {inside}"),
        format!("{} of the demand", percent(largest_share)),
    ];
    facts.extend(lost_at_largest(bus, largest_share, solved, lane));
    let worked = vec![
        format!(
            "P_max = V_oc²/(4·R) = {most}: V_oc {open}, R {inside}; half the voltage is lost inside there"
        ),
        format!(
            "with {} of what is asked the duty point has a solution, with more it has none: found by halving, all losses solved each time",
            percent(largest_share)
        ),
    ];
    let no_proposal = Some("ask less of it, or describe another source".to_owned());
    let at = part_at(solved, worst.part, label);
    Some(Told { because: because(bus, solved, lane), facts, worked, no_proposal, ..Told::new(saying, at) })
}

/// A power that conductors leave no voltage for.
pub(super) fn beyond_line(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan, lane) = (solved.variant, &solved.variant.plan, worst.lane()?);
    let Some(&Fault::Unsolved { largest_share }) = worst.fault() else { return None };
    let conductor = plan.conductors.iter().find(|conductor| conductor.part == worst.part)?;
    let (part, duty) = (variant.path(worst.part), &variant.duty_of(lane).name);
    let stages =
        plan.stages.iter().flat_map(|stage| stage.ports.iter().map(move |port| (stage.part, &port.line)));
    let loads = plan.loads.iter().map(|load| (load.part, &load.port.line));
    let sources = plan.sources.iter().map(|source| (source.part, &source.line));
    let mut all = stages.chain(loads).chain(sources);
    let (whose, _) = all.find(|(_, line)| line.contains(&conductor.resistance))?;
    let ohms = value(solved.input(conductor.resistance, lane)?, Dimension::Resistance);
    let share = if largest_share > 0.0 {
        format!("at most {} of what `{duty}` asks has a solution", percent(largest_share))
    } else {
        format!("nothing of what `{duty}` asks has a solution")
    };
    let saying = format!(
        "{ohms} of `{part}` in `{}` leave no voltage for the power of `{}`: {share}",
        variant.path(conductor.branch),
        variant.path(whose)
    );
    let at = place(solved, conductor.resistance, lane, format!("{ohms} on the way"))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("{ohms} on the way")));
    let because = vec![part_at(solved, whose, "its power passes there".to_owned())];
    let facts = vec![format!("{ohms} on the way"), format!("{} of the demand", percent(largest_share))];
    let worked = vec![
        "of a voltage V behind a resistance R no more than V²/(4·R) can be taken; beyond that the voltage collapses".to_owned(),
    ];
    let no_proposal = Some("a conductor that is meant to carry this, or less power".to_owned());
    Some(Told { because, facts, worked, no_proposal, ..Told::new(saying, at) })
}

/// A power that is close to the most that can pass.
pub(super) fn near(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let bus = bus_of(worst.part, solved, lane)?;
    let (part, duty) = (variant.path(worst.part), &variant.duty_of(lane).name);
    let compared = worst.comparison()?;
    let (volts, ohms) = solved.behind(bus, lane)?;
    let at_bus = solved.figure(bus.voltage, lane)?;
    let carried = comparison(compared).carried;
    let sag = percent(1.0 - at_bus / volts);
    // q = I·R/(V − I·R) with V − I·R the voltage that is left.
    let rate = (volts - at_bus) / at_bus;
    let holding = holding(bus, solved, lane);
    let (who, verb) =
        if holding.len() > 1 { (holding.join(" and "), "give") } else { (format!("`{part}`"), "gives") };
    let saying = format!(
        "{who} {verb} {carried} in `{duty}`, {} of the {} that can pass {}: close to the most",
        percent(compared.carried_value / compared.limit),
        value(compared.limit, Dimension::Power),
        value(ohms, Dimension::Resistance),
    );
    let label =
        format!("{sag} of its voltage is lost on the way; each watt more costs {} inside", watts(rate));
    let no_proposal = Some("ask less of it, or describe another source".to_owned());
    let because = because(bus, solved, lane);
    Some(Told { because, no_proposal, ..Told::new(saying, part_at(solved, worst.part, label)) })
}

/// Names of the sources that hold a bus in a lane: those that state no share.
fn holding(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Vec<String> {
    let sources = bus.sources.iter().map(|&source| &solved.variant.plan.sources[source]);
    let shares = |source: &Source| {
        [source.share_power, source.share_current]
            .into_iter()
            .any(|input| solved.input(input, lane).is_some())
    };
    let holding = sources.filter(|source| source.may_balance && !shares(source));
    holding.map(|source| format!("`{}`", solved.variant.path(source.part))).collect()
}

/// What a watt more at the bus costs inside the source: d(R·I²)/dP = 2·q/(1 − q).
fn watts(rate: f64) -> String {
    value(2.0 * rate / (1.0 - rate), Dimension::Power)
}

/// Share of the whole resistance below which one on the way is not worth pointing at.
const WORTH_A_WORD: f64 = 0.05;

/// The voltage, the resistances and the largest demand.
fn because(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Vec<Place> {
    let plan = &solved.variant.plan;
    let mut places = Vec::new();
    for source in bus.sources.iter().map(|&source| &plan.sources[source]) {
        let volts = [source.terminal, source.open_circuit].into_iter();
        if let Some((input, volts)) =
            volts.filter_map(|input| Some((input, solved.input(input, lane)?))).next()
        {
            let text = format!("{} without current", value(volts, Dimension::Voltage));
            places.extend(place(solved, input, lane, text));
        }
        let all = resistances(source, solved, lane);
        let ohms = |input: &InputId| solved.input(*input, lane).unwrap_or(0.0);
        let whole: f64 = all.iter().map(ohms).sum();
        for input in all.iter().filter(|input| ohms(input) >= WORTH_A_WORD * whole) {
            let text = value(ohms(input), Dimension::Resistance);
            places.extend(place(solved, *input, lane, format!("{text} on the way")));
        }
    }
    let own = plan.buses.iter().position(|other| other.part == bus.part);
    places.extend(own.and_then(|own| heaviest(solved, own, false, lane)));
    places
}

/// The resistances that a source's current passes, those of nothing left out.
pub(super) fn resistances(source: &Source, solved: &Solved<'_>, lane: LaneId) -> Vec<InputId> {
    let inside = solved.input(source.terminal, lane).is_none().then_some(source.resistance);
    let all = inside.into_iter().chain(source.line.iter().copied());
    all.filter(|&input| solved.input(input, lane).is_some_and(|ohms| ohms > 0.0)).collect()
}

/// Where the power goes at the largest demand that has a solution: what the sources lose, and the stage that loses most.
fn lost_at_largest(bus: &Bus, share: f64, solved: &Solved<'_>, lane: LaneId) -> Vec<String> {
    let variant = solved.variant;
    let duty = variant.lane(lane).duty;
    let mut edits = solved.edits().to_vec();
    let inputs = variant.tables.inputs().iter().enumerate();
    for id in inputs.filter(|(_, input)| input.is_demand).map(|(place, _)| InputId::new(place)) {
        let asked = variant.tables.stated(id, duty).value;
        if asked.is_finite() && !edits.iter().any(|edit| edit.input == id) {
            edits.push(Edit { input: id, value: asked * share * INSIDE });
        }
    }
    let Some(trial) = Solved::with(variant, &[edits]).pop() else { return Vec::new() };
    let lost = |figure| trial.figure(figure, lane);
    let plan = &variant.plan;
    let inside =
        bus.sources.iter().map(|&source| lost(plan.sources[source].loss)).collect::<Option<Vec<f64>>>();
    let stages = plan.stages.iter().filter_map(|stage| Some((lost(stage.figures.loss)?, stage.part)));
    let most = stages.reduce(|most, one| if one.0 > most.0 { one } else { most });
    let inside = inside.map(|all| all.iter().sum::<f64>()).filter(|watts| *watts > 0.0);
    let inside =
        inside.map(|watts| format!("{} lost in the source just below it", value(watts, Dimension::Power)));
    let most = most.filter(|(watts, _)| *watts > 0.0).map(|(watts, part)| {
        format!("of the stages `{}` loses most, {}", variant.path(part), value(watts, Dimension::Power))
    });
    inside.into_iter().chain(most).collect()
}
