//! The program `loadworthy`.

use std::io::{self, IsTerminal};
use std::process::ExitCode;

use loadworthy::Surroundings;

fn main() -> ExitCode {
    let (stdin, stdout, stderr) = (io::stdin(), io::stdout(), io::stderr());
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let colored = stdout.is_terminal() && !no_color;
    loadworthy::run(
        std::env::args_os(),
        Surroundings {
            input: &mut stdin.lock(),
            output: &mut stdout.lock(),
            errors: &mut stderr.lock(),
            colored,
        },
    )
}
