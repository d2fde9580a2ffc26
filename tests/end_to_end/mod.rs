//! What goes in is a command line and files, what is looked at is text and an exit code.

mod automation;
mod bad_input;
mod balance;
#[expect(clippy::disallowed_methods, reason = "a stepping of its own, compared within a tolerance")]
mod capability;
mod checks;
mod compare;
mod compare_html;
mod compare_markdown;
mod examples;
mod exit_codes;
mod faults;
mod files;
mod folders;
mod formulas;
mod hostile;
mod html;
mod json;
mod markdown;
mod markup;
mod mission;
mod one_cause;
mod outline;
mod permits;
mod permits_bound;
mod permits_kind;
mod permits_only;
mod pipes;
mod program;
mod proposed;
mod published;
#[expect(clippy::disallowed_methods, reason = "an account of its own, compared within a tolerance")]
mod recomputed;
mod resolve;
mod sarif;
mod shell;
mod size;
mod size_shelf;
mod stress;
mod structure;
mod supplies;
mod swaps;
mod tolerance;
