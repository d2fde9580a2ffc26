//! What contactors open in normal service against what they break, and what sensors measure against what passes them.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Circuit, Conductor};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Solved};

use super::{BEYOND_RANGE, BREAKS_CURRENT, BREAKS_VOLTAGE, OPENS, SHUNT};
use crate::carried;
use crate::check::{Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::cycle::WARMED_THROUGH;
use crate::figure_text::{comparison, value};
use crate::remarks::Remark;
use crate::steps::toward;
use crate::tell::{above, asked_at_end, part_at, place};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    for conductor in &solved.variant.plan.conductors {
        for lane in solved.variant.lane_ids() {
            opened(conductor, solved, lane, out);
            let_pass(conductor, solved, lane, out);
            measured(conductor, solved, lane, out);
            burnt(conductor, solved, lane, out);
        }
    }
    unsaid(solved, out);
}

/// Contactors that part a source from a bus that hurts and do not say what they break.
fn unsaid(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    for opening in plan.openings.iter().filter(|opening| opening.is_contactor) {
        let Circuit::Source(source) = opening.of else { continue };
        let conductor = &plan.conductors[opening.conductor];
        let bus = plan.sources[source].bus.map(|bus| &plan.buses[bus]);
        let hurts = bus.is_some_and(|bus| {
            let lanes = solved.variant.lane_ids();
            let highest = lanes.filter_map(|lane| solved.figure(bus.highest_voltage, lane)).reduce(f64::max);
            highest.is_some_and(|volts| HARMLESS.si() < volts)
        });
        // One that leads around another carries nothing in service, and opens against its bus all the same.
        let defect = if opening.around.is_some() { BREAKS_VOLTAGE } else { BREAKS_CURRENT };
        if conductor.breaks.is_none() && hurts {
            let missing = Missing::Key { of: conductor.part, key: "breaks" };
            let subject = Subject { part: conductor.part, defect, lane: None, kin: None };
            out.put(solved, subject, Outcome::NotJudged(vec![missing]), Vec::new());
        }
    }
}

/// Whether it carries anything in service; one around another does not.
fn is_in_service(conductor: &Conductor) -> bool {
    conductor.carries.is_some() || conductor.unknown.is_some()
}

fn opened(conductor: &Conductor, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(breaks) = &conductor.breaks else { return };
    let subject = |defect| Subject { part: conductor.part, defect, lane: Some(lane), kin: None };
    if is_in_service(conductor) {
        let (outcome, remarks) = against(conductor, breaks.current, Grade::Major, solved, lane);
        out.put(solved, subject(BREAKS_CURRENT), outcome, remarks);
    }
    let Some(bus) = breaks.bus.map(|bus| &solved.variant.plan.buses[bus]) else { return };
    let carried = (bus.highest_voltage, Dimension::Voltage);
    let compared = compare(solved, lane, carried, Limit::Input(breaks.voltage), None);
    let compared = compared.map_err(|missing| {
        // How high the bus may come is asked for by its own name.
        let is_open = solved.input(bus.highest, lane).is_none();
        let own = is_open.then_some(Missing::Cause(Cause::Input(bus.highest)));
        let rest = missing.into_iter().filter(|one| !is_open || !matches!(one, Missing::Figure(_)));
        own.into_iter().chain(rest).collect()
    });
    out.put(solved, subject(BREAKS_VOLTAGE), outcome(compared, Grade::Major), Vec::new());
}

/// What its control must let pass: the duty points that last longer than it waits.
fn let_pass(conductor: &Conductor, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(opens) = conductor.opens.filter(|_| is_in_service(conductor)) else { return };
    let (duty, after) = (solved.variant.duty_of(lane), solved.input(opens.after, lane));
    // A row of a mission may be part of a longer overload, which its own length does not tell.
    let is_part = duty.stretch.is_some();
    let grade = if is_part && after.is_some_and(|after| 0.0 < after) { Grade::Minor } else { Grade::Major };
    let (held, remarks) = against(conductor, opens.above, grade, solved, lane);
    let outcome = match (held, duty.lasts, after) {
        (Outcome::NotJudged(missing), ..) => Outcome::NotJudged(missing),
        (_, Some(_), None) => Outcome::NotJudged(vec![Missing::Cause(Cause::Input(opens.after))]),
        (_, Some(lasts), Some(after)) if !is_part && lasts <= after => Outcome::Holds(None),
        (held, ..) => held,
    };
    let subject = Subject { part: conductor.part, defect: OPENS, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome, remarks);
}

fn measured(conductor: &Conductor, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(range) = conductor.range.filter(|_| is_in_service(conductor)) else { return };
    let (outcome, remarks) = against(conductor, range, Grade::Major, solved, lane);
    let subject = Subject { part: conductor.part, defect: BEYOND_RANGE, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome, remarks);
}

/// What a shunt burns, against what it stands. A short duty point may end before it has warmed through.
fn burnt(conductor: &Conductor, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(stands) = conductor.stands.filter(|_| is_in_service(conductor)) else { return };
    let loss = (conductor.heating_loss.unwrap_or(conductor.loss), Dimension::Power);
    let compared = match solved.variant.tables.is_absent(conductor.resistance) {
        true => Err(vec![Missing::Cause(Cause::Input(conductor.resistance))]),
        false => compare(solved, lane, loss, Limit::Input(stands), None),
    };
    let is_short = solved.variant.duty_of(lane).lasts.is_some_and(|lasts| lasts <= WARMED_THROUGH);
    let grade = if is_short { Grade::Minor } else { Grade::Major };
    let subject = Subject { part: conductor.part, defect: SHUNT, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome(compared, grade), Vec::new());
}

/// What it carries, ripple included, against a current that it states.
fn against(
    conductor: &Conductor,
    most: InputId,
    grade: Grade,
    solved: &Solved<'_>,
    lane: LaneId,
) -> (Outcome, Vec<Remark>) {
    carried::judged(conductor, |current| {
        let carried = (current, Dimension::Current);
        let compared = compare(solved, lane, carried, Limit::Input(most), None);
        (outcome(compared, grade), Vec::new())
    })
}

/// The conductor of a verdict with what it is held against.
fn limit_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Conductor, InputId)> {
    let mut all = solved.variant.plan.conductors.iter().filter(|one| one.part == worst.part);
    all.find_map(|conductor| {
        let limit = match worst.defect {
            BREAKS_VOLTAGE => conductor.breaks.map(|breaks| breaks.voltage),
            BREAKS_CURRENT => conductor.breaks.map(|breaks| breaks.current),
            OPENS => conductor.opens.map(|opens| opens.above),
            SHUNT => conductor.stands,
            _ => conductor.range,
        };
        Some((conductor, limit?))
    })
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let (conductor, limit) = limit_of(worst, solved)?;
    let (part, branch) = (variant.path(conductor.part), variant.path(conductor.branch));
    let (text, rms) = (comparison(compared), carried::rms(conductor, compared));
    let (saying, label) = match worst.defect {
        BREAKS_VOLTAGE => {
            let over = above(compared, "the voltage that it breaks");
            let bus = conductor.breaks?.bus.map(|bus| variant.path(variant.plan.buses[bus].part))?;
            (
                format!("`{part}` in `{branch}` opens against up to {} of `{bus}`, {over}", text.carried),
                format!("breaks up to {}", text.limit),
            )
        }
        BREAKS_CURRENT => {
            let over = above(compared, "the current that it breaks");
            (
                format!(
                    "`{part}` in `{branch}` carries {}{rms} when it has to open in service, {over}",
                    text.carried
                ),
                format!("breaks up to {}", text.limit),
            )
        }
        SHUNT => {
            let over = above(compared, "the power that it stands");
            (
                format!("`{part}` in `{branch}` burns {}, {over}", text.carried),
                format!("stands {}", text.limit),
            )
        }
        OPENS => {
            let over = above(compared, "the current that its control opens it above");
            (
                format!("`{part}` in `{branch}` carries {}{rms} in service, {over}", text.carried),
                format!("opens above {}", text.limit),
            )
        }
        _ => {
            let over = above(compared, "the highest current that it measures");
            (
                format!("{}{rms} pass `{part}` in `{branch}`, {over}", text.carried),
                format!("measures up to {}", text.limit),
            )
        }
    };
    let mut because = Vec::new();
    if worst.defect == BREAKS_VOLTAGE {
        let bus = &variant.plan.buses[conductor.breaks?.bus?];
        because.extend(place(solved, bus.highest, lane, format!("{} at most", text.carried)));
    } else {
        because.extend(asked_at_end(conductor, solved, lane));
        let ohms = solved.input(conductor.resistance, lane).filter(|_| worst.defect == SHUNT);
        because.extend(ohms.and_then(|ohms| {
            let label = format!("{} in the line", value(ohms, Dimension::Resistance));
            place(solved, conductor.resistance, lane, label)
        }));
    }
    let at =
        place(solved, limit, lane, label).unwrap_or_else(|| part_at(solved, conductor.part, String::new()));
    Some(Told { because, ..Told::new(saying, at) })
}

/// Another part that breaks, or measures, more.
pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let found = worst.lane().zip(worst.comparison()).zip(limit_of(worst, solved));
    let Some(((lane, compared), (conductor, limit))) = found else { return Vec::new() };
    let part = solved.variant.path(conductor.part);
    let (name, dimension) = match worst.defect {
        BREAKS_VOLTAGE => (format!("voltage that `{part}` breaks"), Dimension::Voltage),
        BREAKS_CURRENT => (format!("current that `{part}` breaks"), Dimension::Current),
        OPENS => (format!("current above which `{part}` opens"), Dimension::Current),
        SHUNT => (format!("power that `{part}` stands"), Dimension::Power),
        _ => (format!("range of `{part}`"), Dimension::Current),
    };
    let more = compared.carried_value / compared.allowed;
    vec![toward(&name, limit, (dimension, ""), more, solved, lane)]
}
