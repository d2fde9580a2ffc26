//! `loadworthy outline`: a description to start from.

use crate::arguments;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::outline;

/// Prints the outline.
pub(crate) fn run(asked: &arguments::Outline, output: &mut Output<'_>, errors: &mut Output<'_>) -> Outcome {
    match outline::text(&asked.with) {
        Ok(text) => {
            output.put(&text);
            Outcome::Holds
        }
        Err(why) => {
            errors.tell(&format!("loadworthy: {why}"));
            Outcome::Unreadable
        }
    }
}
