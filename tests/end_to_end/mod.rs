//! What goes in is a command line and files, what is looked at is text and an exit code.

mod bad_input;
mod balance;
#[expect(clippy::disallowed_methods, reason = "a stepping of its own, compared within a tolerance")]
mod capability;
mod checks;
mod compare;
mod compare_markdown;
mod examples;
mod exit_codes;
mod faults;
mod files;
mod hostile;
mod json;
mod markdown;
mod mission;
mod outline;
mod permits;
mod pipes;
mod program;
#[expect(clippy::disallowed_methods, reason = "an account of its own, compared within a tolerance")]
mod recomputed;
mod resolve;
mod sarif;
mod size;
mod stress;
mod structure;
mod swaps;
mod tolerance;
