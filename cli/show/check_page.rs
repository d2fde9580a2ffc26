//! What a check means, as Markdown: its page with an example that fails and one that holds, and an index of all.

use loadworthy_checks::check::About;
use loadworthy_checks::figure_text::{percent, written};
use loadworthy_checks::list::{CHECKS, PASSES};
use loadworthy_language::{PolicyForm, PolicyItem};

/// The page of a check.
pub(crate) fn page(about: &About) -> String {
    let mut text = format!("{}\n", about.page.trim_end());
    for (heading, description) in
        [("An example that fails", about.fails), ("An example that holds", about.holds)]
    {
        text.push_str(&format!("\n## {heading}\n\n```yaml\n{}\n```\n", description.trim_end()));
    }
    text
}

/// All checks with what they ask, what they find, and the policy items that they use; each name leads to its page.
pub(crate) fn index() -> String {
    let mut text = "# The checks\n\n\
        Each page says what is compared, by which physics, how accurate it is, and when a permit is reasonable, with a unit\n\
        that fails and one that holds. The program prints the same: `loadworthy checks NAME`.\n"
        .to_owned();
    for about in CHECKS.iter().map(|check| check.about()) {
        text.push_str(&format!("\n## [{0}]({0}.md)\n\n{1}\n\n", about.name, about.question));
        if !about.former_names.is_empty() {
            text.push_str(&format!("Formerly {}.\n\n", about.former_names.join(", ")));
        }
        text.push_str("| finds | that |\n|---|---|\n");
        for (defect, says) in about.defects {
            text.push_str(&format!("| `{defect}` | {} |\n", says.replace('|', "\\|")));
        }
        if !about.policy.is_empty() {
            text.push_str(
                "\n| policy | what it leaves | unless said otherwise | usually |\n|---|---|---|---|\n",
            );
            for item in about.policy {
                text.push_str(&policy(item));
            }
        }
    }
    for pass in PASSES {
        text.push_str(&format!("\n## [{0}]({0}.md)\n\n{1}\n", pass.name, pass.question));
    }
    text
}

fn policy(item: &PolicyItem) -> String {
    let (key, default, (low, high)) = match item.form {
        PolicyForm::UseAtMost { default, usual } => {
            ("use_at_most", percent(default), (percent(usual.0), percent(usual.1)))
        }
        PolicyForm::Keep { dimension, default, usual } => {
            let shown = |value| written(value, dimension);
            ("keep", shown(default), (shown(usual.0), shown(usual.1)))
        }
    };
    format!(
        "| `{}` | {} | `{{ {key}: {default} }}` | {low} to {high} |\n",
        item.name,
        item.help.replace('|', "\\|")
    )
}
