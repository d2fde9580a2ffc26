//! `loadworthy checks`: what is judged, and what a check means.

use loadworthy_checks::list::{CHECKS, PASSES, by_name};
use loadworthy_source::nearest;

use crate::arguments::{self, ChecksForm};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::check_page;
use crate::show::layout::{free_text, hanging, width};

/// Lists the checks, or prints the page of one.
pub(crate) fn run(asked: &arguments::Checks, output: &mut Output<'_>, errors: &mut Output<'_>) -> Outcome {
    let Some(name) = &asked.name else {
        output.put(&match asked.format {
            ChecksForm::Terminal => list(),
            ChecksForm::Markdown => check_page::index(),
        });
        return Outcome::Holds;
    };
    if let Some(pass) = PASSES.iter().find(|pass| pass.name == name) {
        output.line(pass.page.trim_end());
        return Outcome::Holds;
    }
    let Some(check) = by_name(name) else {
        let names = CHECKS.iter().map(|check| check.about().name).chain(PASSES.iter().map(|pass| pass.name));
        let near = nearest(name, names).map_or_else(String::new, |near| format!("; is it `{near}`?"));
        errors.tell(&format!("loadworthy: there is no check `{}`{near}", free_text(name)));
        return Outcome::Unreadable;
    };
    output.put(&check_page::page(check.about()));
    Outcome::Holds
}

fn list() -> String {
    let longest = CHECKS.iter().map(|check| width(check.about().name)).max().unwrap_or_default();
    let mut text = String::new();
    for check in CHECKS {
        let about = check.about();
        text.push_str(&hanging(about.name, longest + 3, about.question));
    }
    for pass in PASSES {
        text.push_str(&hanging(pass.name, longest + 3, pass.question));
    }
    text.push_str("\nWhat one of them means: loadworthy checks NAME\n");
    text
}
