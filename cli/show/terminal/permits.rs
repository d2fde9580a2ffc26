//! Permits that something rests on, in a table that is no review.

use loadworthy_unit::Permit;

use crate::permits::Day;
use crate::show::layout::{free_text, hanging, reason_text};
use crate::show::words::permit::{held_against, terms};

use super::{MARGIN, Paint};

/// Each permit once with its terms and its reason, and the day that all are held against; nothing without permits.
pub(crate) fn permits<'p>(used: impl Iterator<Item = &'p Permit>, day: Option<Day>, paint: Paint) -> String {
    let Some(day) = day else { return String::new() };
    let mut text = String::new();
    let mut seen = Vec::new();
    for permit in used {
        if seen.contains(&permit.at) {
            continue;
        }
        seen.push(permit.at);
        let what = format!("{}   {}", free_text(&permit.check.value), free_text(&permit.part.value));
        let said =
            format!("{what}\n{}\nbecause {}", terms(permit, None, Some(day)), reason_text(&permit.reason));
        text.push_str(&paint.heading("accepted", &hanging("accepted", MARGIN, &said)));
    }
    text.push_str(&paint.heading("permits", &hanging("permits", MARGIN, &held_against(day))));
    text.push('\n');
    text
}
