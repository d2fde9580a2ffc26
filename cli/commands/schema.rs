//! `loadworthy schema`: the description language, or a form of output, as a JSON Schema.

use crate::arguments::{self, AskedSchema};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::json::{self, schemas};

/// Prints a schema; that of the language with the policy items of all checks.
pub(crate) fn run(asked: &arguments::Schema, output: &mut Output<'_>) -> Outcome {
    let schema = match asked.of {
        AskedSchema::Language => loadworthy_language::schema(&loadworthy_checks::list::policy_vocabulary()),
        form => schemas::of(form),
    };
    output.line(&json::text(&schema));
    Outcome::Holds
}
