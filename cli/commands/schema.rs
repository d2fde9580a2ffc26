//! `loadworthy schema`: the description language, or a form of output, as a JSON Schema.

use crate::arguments::{self, AskedSchema};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::json::{self, schemas};

/// Prints a schema; that of the language with the policy items and the names of all checks.
pub(crate) fn run(asked: &arguments::Schema, output: &mut Output<'_>) -> Outcome {
    let schema = match asked.of {
        AskedSchema::Language => {
            let checks = loadworthy_checks::list::names_and_questions();
            loadworthy_language::schema(&loadworthy_checks::list::policy_vocabulary(), &checks)
        }
        form => schemas::of(form),
    };
    output.line(&json::text(&schema));
    Outcome::Holds
}
