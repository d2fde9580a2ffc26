//! What a permit says, and the day that permits are held against.

use loadworthy_checks::review::kind_word;
use loadworthy_source::Tree;
use loadworthy_unit::Permit;
use schemars::JsonSchema;
use serde::Serialize;

use crate::permits::Day;
use crate::show::places::{self, Place};

#[derive(Serialize, JsonSchema)]
pub(super) struct PermitShown {
    /// The bound of the permit, as it is written.
    up_to: Option<String>,
    /// The parts that alone are accepted, where the permit names them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    only: Vec<String>,
    /// The kind of insulation that is accepted, where the permit names one.
    #[serde(rename = "as", skip_serializing_if = "Option::is_none")]
    kind: Option<&'static str>,
    /// Why it is accepted.
    reason: String,
    /// Who accepted it.
    accepted_by: String,
    /// The last day of the permit.
    until: String,
    /// Where the permit stands.
    at: Place,
}

impl PermitShown {
    pub(super) fn of(tree: &Tree, permit: &Permit) -> Self {
        Self {
            up_to: permit.up_to.as_ref().map(|up_to| up_to.written.clone()),
            only: names(permit),
            kind: permit.kind.as_ref().map(|kind| kind_word(kind.value)),
            reason: permit.reason.clone(),
            accepted_by: permit.accepted_by.clone(),
            until: permit.until.to_string(),
            at: places::of_node(tree, permit.at),
        }
    }
}

/// The parts of `only`.
fn names(permit: &Permit) -> Vec<String> {
    permit.only.iter().flat_map(|only| &only.value).map(|one| one.value.clone()).collect()
}

/// The day, and where it comes from; stands nowhere without permits.
#[derive(Serialize, JsonSchema)]
pub(super) struct HeldAgainst {
    /// The day that permits are held against.
    on: String,
    /// Where that day comes from: `--on`, or the system clock in UTC.
    day_from: &'static str,
}

impl HeldAgainst {
    pub(super) fn of(day: Day) -> Self {
        Self { on: day.date.to_string(), day_from: day.from.words() }
    }
}
