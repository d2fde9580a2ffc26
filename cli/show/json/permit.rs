//! What a permit says, and the day that permits are held against.

use loadworthy_source::Tree;
use loadworthy_unit::Permit;
use serde::Serialize;

use crate::permits::Day;
use crate::show::places::{self, Place};

#[derive(Serialize)]
pub(super) struct PermitShown {
    up_to: Option<String>,
    reason: String,
    accepted_by: String,
    until: String,
    at: Place,
}

impl PermitShown {
    pub(super) fn of(tree: &Tree, permit: &Permit) -> Self {
        Self {
            up_to: permit.up_to.as_ref().map(|up_to| up_to.written.clone()),
            reason: permit.reason.clone(),
            accepted_by: permit.accepted_by.clone(),
            until: permit.until.to_string(),
            at: places::of_node(tree, permit.at),
        }
    }
}

/// The day, and where it comes from; stands nowhere without permits.
#[derive(Serialize)]
pub(super) struct HeldAgainst {
    on: String,
    day_from: &'static str,
}

impl HeldAgainst {
    pub(super) fn of(day: Day) -> Self {
        Self { on: day.date.to_string(), day_from: day.from.words() }
    }
}
