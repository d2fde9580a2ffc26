//! What the commands that print a description, or about descriptions, may be asked.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use clap_complete::Shell;

use super::forms::{ChecksForm, ResolveForm};
use super::values::override_of;

/// What `resolve` is asked.
#[derive(Debug, Args)]
pub(crate) struct Resolve {
    /// The description; `-` reads the standard input
    pub(crate) file: PathBuf,
    /// This variant; without it the only one, or the description without any of several
    #[arg(long, value_name = "NAME")]
    pub(crate) variant: Option<String>,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = ResolveForm::Yaml)]
    pub(crate) format: ResolveForm,
    /// Try a value without editing the file
    #[arg(long, value_name = "PATH=VALUE", value_parser = override_of)]
    pub(crate) with: Vec<(String, String)>,
}

/// What `checks` is asked.
#[derive(Debug, Args)]
pub(crate) struct Checks {
    /// The check to explain
    pub(crate) name: Option<String>,
    /// How to show the list; the page of a check is Markdown in any case
    #[arg(long, value_enum, default_value_t = ChecksForm::Terminal)]
    pub(crate) format: ChecksForm,
}

/// What `outline` is asked.
#[derive(Debug, Args)]
pub(crate) struct Outline {
    /// Sections to write that are otherwise left as comments; `everything` for all of them
    #[arg(long, value_name = "SECTION", num_args = 1..)]
    pub(crate) with: Vec<String>,
}

/// What `schema` is asked.
#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// What the schema describes: the language, or what a command prints with `--format json`
    #[arg(long, value_enum, default_value_t = AskedSchema::Language, value_name = "FORM")]
    pub(crate) of: AskedSchema,
}

/// What has a published schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum AskedSchema {
    /// The description language
    Language,
    /// `review`
    Review,
    /// `compare`
    Compare,
    /// `stress`
    Stress,
    /// `stress --tolerance`
    Tolerance,
    /// `capability`
    Capability,
    /// `size`
    Size,
    /// `balance`
    Balance,
    /// `mission`
    Mission,
    /// `derive` without a figure
    Figures,
    /// `derive` with a figure
    Derivation,
    /// `resolve`
    Resolved,
}

/// What `completions` is asked.
#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub(crate) shell: Shell,
}
