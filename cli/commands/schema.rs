//! `loadworthy schema`: the description language as a JSON Schema.

use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::json;

/// Prints the schema, the policy items of all checks included.
pub(crate) fn run(output: &mut Output<'_>) -> Outcome {
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    output.line(&json::text(&loadworthy_language::schema(&vocabulary)));
    Outcome::Holds
}
