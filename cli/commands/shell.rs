//! `loadworthy completions` and `loadworthy manual`: the command line for a shell and for a reader of manuals.

use clap_mangen::Man;

use crate::arguments::{self, command_line};
use crate::outcome::Outcome;
use crate::output::Output;

/// Prints a script that completes in a shell.
pub(crate) fn completions(asked: &arguments::Completions, output: &mut Output<'_>) -> Outcome {
    let mut command = command_line();
    let name = command.get_name().to_owned();
    let mut script = Vec::new();
    clap_complete::generate(asked.shell, &mut command, name, &mut script);
    output.put(&String::from_utf8_lossy(&script));
    Outcome::Holds
}

/// Prints the manual: the program, then each command with its options, as one page.
pub(crate) fn manual(output: &mut Output<'_>) -> Outcome {
    output.put(&page());
    Outcome::Holds
}

fn page() -> String {
    let mut command = command_line();
    // Names of the commands become whole: `loadworthy review`.
    command.build();
    let whole = Man::new(command.clone()).manual("Loadworthy");
    let mut text = rendered(|page| {
        whole.render_title(page)?;
        whole.render_name_section(page)?;
        whole.render_synopsis_section(page)?;
        whole.render_description_section(page)?;
        whole.render_options_section(page)
    });
    for command in command.get_subcommands() {
        let name = command.get_bin_name().unwrap_or(command.get_name());
        let own = Man::new(command.clone().display_name(name));
        let part = rendered(|page| {
            own.render_synopsis_section(page)?;
            own.render_description_section(page)?;
            own.render_options_section(page)
        });
        // One heading for each command; its own sections stand below it.
        text.push_str(&format!(".SH \"{}\"\n{}", name.to_uppercase(), part.replace(".SH ", ".SS ")));
    }
    text
}

fn rendered(render: impl FnOnce(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut page = Vec::new();
    // A writer into memory does not fail.
    let _ = render(&mut page);
    String::from_utf8_lossy(&page).into_owned()
}
