//! Why something has no value, in words.

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, DutyId, NodeId, Origin, Reach, Variant};

use crate::figure_text;
use crate::seats::stage_of;
use crate::verdict::Missing;

/// Why something has no value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CauseText {
    /// The path of a value, in which `*` stands for the duty point, or a whole sentence.
    pub subject: String,
    /// What is wrong with the value; empty where the subject is a sentence.
    pub trouble: &'static str,
    /// Whether the subject is a path.
    pub is_path: bool,
    /// The entry that it is about.
    pub near: Option<NodeId>,
}

const NOT_STATED: &str = "is not stated";
const BROKEN: &str = "is part of an entry that could not be read";

impl CauseText {
    /// Path or sentence in one duty point.
    #[must_use]
    pub fn subject_in(&self, duty: &str) -> String {
        if self.is_path { self.subject.replacen('*', duty, 1) } else { self.subject.clone() }
    }

    fn sentence(subject: String, near: Option<NodeId>) -> Self {
        Self { subject, trouble: "", is_path: false, near }
    }

    fn path(path: &str, origin: Origin) -> Self {
        let trouble = if matches!(origin, Origin::Broken(_)) { BROKEN } else { NOT_STATED };
        Self { subject: path.to_owned(), trouble, is_path: true, near: origin.node() }
    }
}

/// What a verdict waits for.
#[must_use]
pub fn missing_text(variant: &Variant, duty: DutyId, missing: Missing) -> CauseText {
    let tables = &variant.tables;
    match missing {
        Missing::Cause(cause) => cause_text(variant, duty, cause),
        Missing::Policy(item) => CauseText {
            subject: format!("policy.{}", item.name),
            trouble: BROKEN,
            is_path: true,
            near: variant.policy(item).and_then(|value| value.stated.origin.node()),
        },
        Missing::Figure(id) => {
            let part = tables.figure_of(id).part;
            let text = format!("{} has no value", tables.figure_path(id));
            CauseText::sentence(text, Some(tables.part_of(part).at))
        }
    }
}

/// Why a figure is missing in a duty point.
#[must_use]
pub fn cause_text(variant: &Variant, duty: DutyId, cause: Cause) -> CauseText {
    let tables = &variant.tables;
    let asked = &variant.duties[duty.index()];
    match cause {
        Cause::Input(id) => CauseText::path(&tables.input_of(id).path, tables.stated(id, duty).origin),
        Cause::Curve(id) => CauseText::path(&tables.curve_of(id).path, tables.curve_of(id).origin),
        Cause::Beyond { reach: Some(reach), .. } => beyond(variant, duty, reach),
        // Chips of a stage leave the range of one law together: one line for all of them.
        Cause::Beyond { figure, law, reach: None } => {
            let part = tables.figure_of(figure).part;
            CauseText::sentence(
                format!(
                    "{} in {} is outside the range of its law ({}): {}",
                    tables.figure_of(figure).name,
                    variant.path(stage_of(variant, part)),
                    law.name,
                    law.validity
                ),
                Some(tables.part_of(part).at),
            )
        }
        Cause::NoSolution { at, .. } => CauseText::sentence(
            format!("{} has no solution: it fails at {}", asked.name, variant.path(at)),
            Some(asked.at),
        ),
        Cause::Undecided { at } => CauseText::sentence(
            format!("{} could not be decided: the search ended at {}", asked.name, variant.path(at)),
            Some(asked.at),
        ),
    }
}

/// A number outside the range of a curve or an input; what is to be stated so that it is covered.
fn beyond(variant: &Variant, duty: DutyId, reach: Reach) -> CauseText {
    let tables = &variant.tables;
    let (path, near) = match reach.of {
        Operand::Input(id) => (tables.input_of(id).path.as_str(), tables.stated(id, duty).origin.node()),
        Operand::Curve(id) => (tables.curve_of(id).path.as_str(), tables.curve_of(id).origin.node()),
        Operand::Figure(id) => (tables.figure_of(id).name, None),
    };
    let text = |number: f64| figure_text::value(number, reach.dimension);
    let range = if reach.high.is_finite() && reach.low.abs() > 0.0 {
        format!("{} to {}", text(reach.low), text(reach.high))
    } else if reach.high.is_finite() {
        format!("at most {}", text(reach.high))
    } else {
        format!("at least {}", text(reach.low))
    };
    let said = format!("{path} covers a {} of {range}, not {}", reach.what, text(reach.value));
    CauseText::sentence(said.replacen('*', &variant.duties[duty.index()].name, 1), near)
}
