//! Rules: the checks with their pages, what is not judged, and the kinds of problems that a description has.

use std::collections::BTreeSet;

use loadworthy_checks::list::{CHECKS, PASSES};

use crate::show::layout::cut;

use super::log::{Configuration, Help, Level, Message, Rule, RuleProperties};

/// The rule of what could not be judged.
pub(super) const NOT_JUDGED: &str = "not-judged";
/// Characters of a description that hosts keep.
const LONGEST: usize = 1024;

/// The rule of a kind of problems.
pub(super) fn reading(kind: &str) -> String {
    format!("reading/{kind}")
}

/// All checks and passes, what is not judged, and the kinds of problems that were met.
pub(super) fn all(kinds: &BTreeSet<&'static str>) -> Vec<Rule> {
    let checks = CHECKS.iter().map(|check| {
        let about = check.about();
        let defects = about.defects.iter().map(|(_, says)| *says).collect::<Vec<_>>().join("; ");
        let full = format!("{} It finds: {defects}.", about.question);
        rule(about.name.to_owned(), about.question, &full, page(about.name, about.page), "power-electronics")
    });
    let passes = PASSES.iter().map(|pass| {
        rule(pass.name.to_owned(), pass.question, pass.question, page(pass.name, pass.page), "review")
    });
    let not_judged = not_judged();
    checks.chain(passes).chain([not_judged]).chain(kinds.iter().map(|kind| of_kind(kind))).collect()
}

fn rule(id: String, short: &str, full: &str, help: Help, tag: &'static str) -> Rule {
    Rule {
        id,
        short_description: Message { text: short.to_owned() },
        full_description: Message { text: cut(full, LONGEST) },
        help,
        // Each result states its own; a check gives major, minor and note alike.
        default_configuration: Configuration { level: Level::Warning },
        properties: RuleProperties { precision: "high", tags: vec!["concept", tag] },
    }
}

fn page(name: &str, page: &str) -> Help {
    Help {
        text: format!(
            "`loadworthy checks {name}` prints what is compared, the physics behind it, its accuracy and sources, when a permit is reasonable, and an example that fails and one that holds."
        ),
        markdown: page.trim_end().to_owned(),
    }
}

fn not_judged() -> Rule {
    let full = "Checks wait for something that the description does not state, or that is not known. What is not judged is no pass: state what is missing, or leave the check out of account knowingly.";
    let help = Help { text: full.to_owned(), markdown: full.to_owned() };
    let short = "Is everything stated that the checks need?";
    let mut rule = rule(NOT_JUDGED.to_owned(), short, full, help, "description");
    rule.properties.precision = "very-high";
    rule
}

fn of_kind(kind: &str) -> Rule {
    let words = kind.replace('-', " ");
    let short = format!("The description cannot be taken as it is written: {words}.");
    let full = format!("{short} What depends on the marked text is not judged, and the run ends with 2.");
    let text =
        format!("{full} `loadworthy schema` prints the schema that gives completion and help in an editor.");
    let help = Help { markdown: text.clone(), text };
    let mut rule = rule(reading(kind), &short, &full, help, "description");
    rule.default_configuration.level = Level::Error;
    rule.properties.precision = "very-high";
    rule
}
