//! Why something has no value, in words.

use loadworthy_physics::conductors::foil::FOIL;
use loadworthy_physics::insulation::altitude::ALTITUDE_FACTOR;
use loadworthy_physics::insulation::clearance::CLEARANCE;
use loadworthy_physics::insulation::creepage::{CREEPAGE, OF_GROUP_III_B};
use loadworthy_physics::junction_ripple::CASE_AT_REST;
use loadworthy_physics::{Law, machine};
use loadworthy_unit::BEGINS_UNKNOWN;
use loadworthy_unit::missing::POLLUTION_DEGREE;
use loadworthy_unit::solver::{BRIDGE_CURRENTS, CURRENTS, IMPULSE, ONE_WAY, RECTIFIES, UNHELD};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, DutyId, InputId, NodeId, Origin, Reach, Variant};

use crate::figure_text;
use crate::seats::stage_of;
use crate::verdict::Missing;

/// A curve, or another range, that was left.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Reached {
    /// What covers what, without any number: those that differ in nothing else are one line.
    of: String,
    /// Section and name of the entry.
    entry: String,
    what: &'static str,
    /// How far beyond the range it is, as a share of its end.
    beyond: f64,
}

/// Why something has no value.
#[derive(Clone, Debug, PartialEq)]
pub struct CauseText {
    /// The path of a value, in which `*` stands for the duty point, or a whole sentence.
    pub subject: String,
    /// What is wrong with the value; empty where the subject is a sentence.
    pub trouble: &'static str,
    /// Whether the subject is a path.
    pub is_path: bool,
    /// Whether it says that a law was left without a value, and of no number by how much.
    pub is_range: bool,
    /// Whether it says that a duty point has no solution, or none within what a stage can do.
    pub(crate) is_lane: bool,
    pub(crate) reached: Option<Reached>,
    /// The entry that it is about.
    pub near: Option<NodeId>,
}

/// What ends the path of a switch position's device, where a figure of that device follows.
const FITTED: &str = ".fitted.";
const NOT_STATED: &str = "is not stated";
/// Of the share of a source that cannot hold a bus by itself.
const NO_SHARE: &str = "is not stated, nor its current: state the one or the other, the share that it gives beside what holds the bus";
/// Of a value that was written; the rest of its entry counts.
pub(crate) const UNREAD: &str = "could not be read";
pub(crate) const BROKEN: &str = "is part of an entry that could not be read";

impl CauseText {
    /// Path or sentence in one duty point.
    #[must_use]
    pub fn subject_in(&self, duty: &str) -> String {
        // Elsewhere than in a duty point the star is an entry that nobody wrote.
        let names_duty = self.is_path && self.subject.starts_with("duty.");
        if names_duty { self.subject.replacen('*', duty, 1) } else { self.subject.clone() }
    }

    /// Whether it is absent, and nothing of it was written that could not be read.
    pub(crate) fn is_absent(&self) -> bool {
        self.trouble != BROKEN && self.trouble != UNREAD
    }

    /// What makes several of them one.
    pub(crate) fn told_by(&self) -> &str {
        self.reached.as_ref().map_or(&self.subject, |reached| &reached.of)
    }

    /// Whether it says the same of a number that lies further out.
    pub(crate) fn goes_beyond(&self, other: &Self) -> bool {
        let beyond = |text: &Self| text.reached.as_ref().map(|reached| reached.beyond);
        beyond(self) > beyond(other)
    }

    /// Whether it is about a range of an entry, such as the currents of a device.
    pub(crate) fn leaves(&self, entry: &str, what: &str) -> bool {
        self.reached.as_ref().is_some_and(|reached| reached.entry == entry && reached.what == what)
    }

    fn of_lane(subject: String, near: Option<NodeId>) -> Self {
        Self { is_lane: true, ..Self::sentence(subject, near) }
    }

    fn sentence(subject: String, near: Option<NodeId>) -> Self {
        Self { subject, trouble: "", is_path: false, is_range: false, is_lane: false, reached: None, near }
    }

    fn path(variant: &Variant, path: &str, origin: Origin) -> Self {
        let trouble = match origin {
            Origin::Broken(at) if variant.gaps.contains(&at) => UNREAD,
            Origin::Broken(_) => BROKEN,
            _ if is_unread(variant, origin.node()) => BROKEN,
            _ => NOT_STATED,
        };
        // Where no device is fitted, that is what is missing, and not each figure of its data sheet.
        let fitted = path.find(FITTED).and_then(|place| path.get(..place + FITTED.len() - 1));
        Self {
            subject: fitted.unwrap_or(path).to_owned(),
            trouble,
            is_path: true,
            is_range: false,
            is_lane: false,
            reached: None,
            near: origin.node(),
        }
    }
}

/// Whether an entry could not be read, or is named and not there.
fn is_unread(variant: &Variant, entry: Option<NodeId>) -> bool {
    entry.is_some_and(|entry| variant.unread.binary_search(&entry).is_ok())
}

/// What a verdict waits for, in its duty point where it has one.
#[must_use]
pub fn missing_text(variant: &Variant, duty: Option<DutyId>, missing: Missing) -> CauseText {
    let tables = &variant.tables;
    match missing {
        Missing::Cause(cause) => cause_text(variant, duty, cause),
        Missing::CauseIn(cause, other) => cause_text(variant, Some(other), cause),
        Missing::Policy(item) => CauseText {
            subject: format!("policy.{}", item.name),
            trouble: BROKEN,
            is_path: true,
            is_range: false,
            is_lane: false,
            reached: None,
            near: variant.policy(item).and_then(|value| value.stated.origin.node()),
        },
        Missing::Meant => CauseText::sentence(crate::review::MEANT.to_owned(), None),
        Missing::Change => CauseText::sentence(crate::review::CHANGE.to_owned(), variant.doubt),
        Missing::Figure(id) | Missing::FigureIn(id, _) => {
            let part = tables.figure_of(id).part;
            let text = format!("{} has no value", tables.figure_path(id));
            CauseText::sentence(text, Some(tables.part_of(part).at))
        }
        Missing::Key { of, .. } if is_unread(variant, Some(tables.part_of(of).at)) => CauseText {
            subject: variant.path(of).to_owned(),
            trouble: BROKEN,
            is_path: true,
            is_range: false,
            is_lane: false,
            reached: None,
            near: Some(tables.part_of(of).at),
        },
        Missing::Key { of, key } => {
            let text = format!("{key} of {} {NOT_STATED}", variant.path(of));
            CauseText::sentence(text, Some(tables.part_of(of).at))
        }
    }
}

/// Why something is missing, in a duty point where there is one.
#[must_use]
pub fn cause_text(variant: &Variant, duty: Option<DutyId>, cause: Cause) -> CauseText {
    let tables = &variant.tables;
    let asked = duty.map(|duty| &variant.duties[duty.index()]);
    let (name, at) = (asked.map_or("the unit", |duty| duty.name.as_str()), asked.map(|duty| duty.at));
    match cause {
        Cause::Input(id) => {
            let (path, origin) = (&tables.input_of(id).path, origin_of(variant, id, duty));
            let cell = variant.plan.sources.iter().find(|source| source.terminal == id);
            match cell.filter(|cell| cell.curve_end.is_some() && origin.is_written()) {
                Some(cell) => {
                    let cell = variant.path(cell.part);
                    let said = format!(
                        "the curve of `{cell}` ends before what {name} asks of it: see source-limits"
                    );
                    CauseText::of_lane(said, at)
                }
                None => {
                    let text = CauseText::path(variant, path, origin);
                    let is_share = variant.plan.sources.iter().any(|source| source.share_power == id);
                    let trouble =
                        if is_share && text.trouble == NOT_STATED { NO_SHARE } else { text.trouble };
                    CauseText { trouble, ..text }
                }
            }
        }
        Cause::Curve(id) => CauseText::path(variant, &tables.curve_of(id).path, tables.curve_of(id).origin),
        Cause::Beyond { figure, law, reach: Some(reach) }
            if is_one_of(law, &[&CREEPAGE])
                && reach.dimension == Dimension::Voltage
                && reach.high <= OF_GROUP_III_B =>
        {
            let part = tables.figure_of(figure).part;
            let text = |number: f64| {
                let digits = figure_text::digits_to_tell(reach.value, reach.high, reach.dimension);
                figure_text::with_digits(number, reach.dimension, digits)
            };
            let said = format!(
                "{}: its {} of {} is above {}, where material of group IIIb is advised against in pollution degree 3 ({})",
                variant.path(part),
                reach.what,
                text(reach.value),
                text(reach.high),
                law.source
            );
            CauseText::sentence(said, Some(tables.part_of(part).at))
        }
        Cause::Beyond { figure, law, reach: Some(reach) }
            if is_one_of(law, &[&IMPULSE, &CLEARANCE, &CREEPAGE]) =>
        {
            if let (POLLUTION_DEGREE, Operand::Input(degree)) = (reach.what, reach.of) {
                return without_column(variant, degree, reach);
            }
            if reach.dimension == Dimension::Frequency {
                return too_fast(reach, tables.part_of(tables.figure_of(figure).part).at);
            }
            let part = tables.figure_of(figure).part;
            let digits = figure_text::digits_to_tell(reach.value, reach.high, reach.dimension);
            let text = |number: f64| figure_text::with_digits(number, reach.dimension, digits);
            let table =
                if reach.dimension == Dimension::Length { ALTITUDE_FACTOR.source } else { law.source };
            let said = format!(
                "{}: its {} of {} is above {}, where the table ends ({table}); nothing is extrapolated",
                variant.path(part),
                reach.what,
                text(reach.value),
                text(reach.high)
            );
            // What ends one table ends it for every barrier: one line, of the one that is furthest beyond.
            let reached = Reached {
                of: format!("{} above {}, where {table} ends", reach.what, text(reach.high)),
                entry: variant.path(part).to_owned(),
                what: reach.what,
                beyond: how_far(reach, reach.high),
            };
            CauseText { reached: Some(reached), ..CauseText::sentence(said, Some(tables.part_of(part).at)) }
        }
        Cause::Beyond { figure, law, reach: Some(reach) } if is_one_of(law, &[&CASE_AT_REST]) => {
            let stage = variant.path(stage_of(variant, tables.figure_of(figure).part));
            let hertz = figure_text::value(reach.value, reach.dimension);
            let least = figure_text::value(reach.low, reach.dimension);
            let said = format!(
                "`{stage}` turns at {hertz}, and below {least} its cases follow each half wave: its junctions hold at the mean of a \
                 turn, and are not known to while the rotor stands; ask for 0 Hz in its place"
            );
            CauseText::sentence(said, at)
        }
        Cause::Beyond { figure, law, reach: Some(reach) } if is_one_of(law, &[&FOIL]) => {
            let text = |number: f64| figure_text::value(number, reach.dimension);
            let part = tables.figure_of(figure).part;
            let said = format!(
                "{}: {} may pass, and what printed foil carries is known up to {} ({})",
                variant.path(part),
                text(reach.value),
                text(reach.high),
                law.source
            );
            CauseText::sentence(said, Some(tables.part_of(part).at))
        }
        Cause::Beyond { reach: Some(reach), .. } => match own_value(variant, duty, reach) {
            Some(input) => out_of_range(variant, duty, input, reach),
            None => beyond(variant, duty, reach),
        },
        Cause::Beyond { figure, law, reach: None } if core::ptr::eq(law, &machine::FIELD_WEAKENING) => {
            let part = tables.figure_of(figure).part;
            let asks = asked.map_or("is asked".to_owned(), |duty| format!("{} asks", duty.name));
            let said = format!("the voltage at {} does not reach the torque that {asks}", variant.path(part));
            CauseText::of_lane(said, at)
        }
        Cause::Beyond { figure, law, reach: None } if is_one_of(law, &[&CURRENTS, &BRIDGE_CURRENTS]) => {
            let stage = variant.path(stage_of(variant, tables.figure_of(figure).part));
            let asks = asked.map_or("is asked".to_owned(), |duty| format!("{} asks", duty.name));
            let said = format!("`{stage}` does not reach the voltage that {asks}: see output-reach");
            CauseText::of_lane(said, at)
        }
        Cause::Beyond { figure, law, reach: None } if is_one_of(law, &[&ONE_WAY, &RECTIFIES]) => {
            let stage = variant.path(stage_of(variant, tables.figure_of(figure).part));
            let asks = asked
                .map_or("the other is asked".to_owned(), |duty| format!("{} asks for the other", duty.name));
            let said = format!("`{stage}` passes power one way, and {asks}: see power-balance");
            CauseText::of_lane(said, at)
        }
        Cause::Beyond { figure, law, reach: None } if is_one_of(law, &[&UNHELD]) => {
            let bus = variant.path(tables.figure_of(figure).part);
            let place = asked.map_or_else(String::new, |duty| format!(" in {}", duty.name));
            CauseText::of_lane(format!("no source holds `{bus}`{place}: see power-balance"), at)
        }
        Cause::Beyond { law, reach: None, .. }
            if is_one_of(law, &[&BEGINS_UNKNOWN]) && starts(variant, duty).is_some() =>
        {
            let from = starts(variant, duty).unwrap_or_default();
            CauseText::of_lane(
                format!(
                    "{name} starts from {from}, of which a solution or a value lacks: nobody knows how warm"
                ),
                at,
            )
        }
        // Chips of a stage leave the range of one law together: one line for all of them.
        Cause::Beyond { figure, law, reach: None } => {
            let part = tables.figure_of(figure).part;
            let text = CauseText::sentence(
                format!(
                    "{} in {} is outside the range of its law ({}): {}",
                    tables.figure_of(figure).name,
                    variant.path(stage_of(variant, part)),
                    law.name,
                    law.validity
                ),
                Some(tables.part_of(part).at),
            );
            CauseText { is_range: true, ..text }
        }
        Cause::NoSolution { at: part, .. } => {
            let path = variant.plan.coolant.as_ref();
            let coolant = path.and_then(|path| path.place_of(part).and(path.highest()));
            let known = coolant.map(|highest| figure_text::value(highest, Dimension::Temperature));
            let known = known
                .map_or_else(String::new, |highest| format!(", where the coolant is known up to {highest}"));
            CauseText::of_lane(
                format!("{name} has no solution: it fails at {}{known}", variant.path(part)),
                at,
            )
        }
        Cause::Undecided { at: part } => CauseText::sentence(
            format!("{name} could not be decided: the search ended at {}", variant.path(part)),
            at,
        ),
    }
}

/// A frequency above what the tables of distances hold for: the same for every barrier of which none says what it is proven for.
fn too_fast(reach: Reach, barrier: NodeId) -> CauseText {
    let text = |number: f64| figure_text::value(number, reach.dimension);
    let said = format!(
        "voltages recur at {} across barriers, and the tables of distances hold up to {}: what IEC 60664-4 asks for above \
         that is not reckoned; state the `frequency` that each is proven for",
        text(reach.value),
        text(reach.high)
    );
    CauseText::sentence(said, Some(barrier))
}

/// A pollution degree for which the tables give no distance: the same for every barrier that stands in it.
fn without_column(variant: &Variant, degree: InputId, reach: Reach) -> CauseText {
    let input = variant.tables.input_of(degree);
    let said = format!(
        "{} is {:.0}, and the tables of distances have degrees {:.0} to {:.0} (IEC 60664-1): keep what conducts away from the barriers, by \
         a housing or a coating, and state the degree that is left there",
        input.path, reach.value, reach.low, reach.high
    );
    CauseText::sentence(said, origin_of(variant, degree, None).node())
}

/// The name of what a duty point starts from.
fn starts(variant: &Variant, duty: Option<DutyId>) -> Option<&str> {
    let from = variant.duties[duty?.index()].starts_from?;
    Some(&variant.duties[from.index()].name)
}

fn is_one_of(law: &'static Law, laws: &[&'static Law]) -> bool {
    laws.iter().any(|one| core::ptr::eq(*one, law))
}

/// The input that a number is the value of, where it is not one that is held against a range stated with it.
fn own_value(variant: &Variant, duty: Option<DutyId>, reach: Reach) -> Option<InputId> {
    let Operand::Input(input) = reach.of else { return None };
    let first = variant.tables.input_of(input).values.first()?;
    let stated = duty.map_or(*first, |duty| variant.tables.stated(input, duty)).value;
    (stated.to_bits() == reach.value.to_bits()).then_some(input)
}

/// A stated value beyond what is known of it.
fn out_of_range(variant: &Variant, duty: Option<DutyId>, input: InputId, reach: Reach) -> CauseText {
    let path = &variant.tables.input_of(input).path;
    let path = duty.map_or(path.clone(), |duty| path.replacen('*', &variant.duties[duty.index()].name, 1));
    let end = if reach.value > reach.high { reach.high } else { reach.low };
    let digits = figure_text::digits_to_tell(reach.value, end, reach.dimension);
    let text = |number: f64| match reach.dimension {
        Dimension::Ratio => figure_text::percent(number),
        dimension => figure_text::with_digits(number, dimension, digits),
    };
    let known = if reach.low.is_finite() && reach.high.is_finite() && has_a_low_end(reach) {
        format!("from {} to {}", text(reach.low), text(reach.high))
    } else if reach.high.is_finite() {
        format!("up to {}", text(reach.high))
    } else {
        format!("from {} up", text(reach.low))
    };
    let said = format!("{path} is {}, and what follows from it is known {known}", text(reach.value));
    let near = origin_of(variant, input, duty).node();
    let reached = Reached {
        of: format!("{path}, as far as known"),
        entry: path,
        what: reach.what,
        beyond: how_far(reach, end),
    };
    CauseText { reached: Some(reached), ..CauseText::sentence(said, near) }
}

/// A number outside the range of a curve or an input; what is to be stated so that it is covered.
fn beyond(variant: &Variant, duty: Option<DutyId>, reach: Reach) -> CauseText {
    let tables = &variant.tables;
    let (path, near) = match reach.of {
        Operand::Input(id) => (tables.input_of(id).path.as_str(), origin_of(variant, id, duty).node()),
        Operand::Curve(id) => (tables.curve_of(id).path.as_str(), tables.curve_of(id).origin.node()),
        Operand::Figure(id) => (tables.figure_of(id).name, None),
    };
    let end = if reach.value > reach.high { reach.high } else { reach.low };
    let digits = figure_text::digits_to_tell(reach.value, end, reach.dimension);
    let text = |number: f64| figure_text::with_digits(number, reach.dimension, digits);
    let range = if reach.high.is_finite() && reach.low.is_finite() && has_a_low_end(reach) {
        format!("{} to {}", text(reach.low), text(reach.high))
    } else if reach.high.is_finite() {
        format!("at most {}", text(reach.high))
    } else {
        format!("at least {}", text(reach.low))
    };
    // Curves of one device are left together, by all that leave one of them: one line for the furthest.
    let entry = path.match_indices('.').nth(1).map_or(path, |(end, _)| &path[..end]);
    let is_curve = matches!(reach.of, Operand::Curve(_)) && entry.len() < path.len();
    let of = match reach.dimension {
        Dimension::Current | Dimension::Voltage if is_curve => {
            format!("{entry}: its curves cover a {}", reach.what)
        }
        _ => format!("{path} covers a {}", reach.what),
    };
    let of = match duty {
        Some(duty) => of.replacen('*', &variant.duties[duty.index()].name, 1),
        None => of,
    };
    let said = format!("{of} of {range}, not {}", text(reach.value));
    let reached = Reached { of, entry: entry.to_owned(), what: reach.what, beyond: how_far(reach, end) };
    CauseText { reached: Some(reached), ..CauseText::sentence(said, near) }
}

/// Whether the low end of a range says anything: no magnitude is below nothing, but a temperature is.
fn has_a_low_end(reach: Reach) -> bool {
    reach.low != 0.0 || reach.value < reach.low || reach.dimension == Dimension::Temperature
}

/// How far beyond the end of a range a number lies, over the whole of the range, or over its end where it has but one.
fn how_far(reach: Reach, end: f64) -> f64 {
    let whole = reach.high - reach.low;
    (reach.value - end).abs() / if whole.is_finite() { whole } else { end.abs() }
}

/// Where an input comes from in a duty point; without one, where the first of its values does.
pub(crate) fn origin_of(variant: &Variant, input: InputId, duty: Option<DutyId>) -> Origin {
    let first = variant.tables.input_of(input).values.first();
    match (duty, first) {
        (Some(duty), _) => variant.tables.stated(input, duty).origin,
        (None, Some(stated)) => stated.origin,
        (None, None) => Origin::Absent { near: None },
    }
}
