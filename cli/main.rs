//! The program `loadworthy`.

use std::io::{self, IsTerminal};
use std::process::ExitCode;

use loadworthy::{Surroundings, run, wants_color};

fn main() -> ExitCode {
    let (stdin, stdout, stderr) = (io::stdin(), io::stdout(), io::stderr());
    let colored = wants_color(stdout.is_terminal(), std::env::var_os("NO_COLOR").as_deref());
    let (mut input, mut output, mut errors) = (stdin.lock(), stdout.lock(), stderr.lock());
    run(
        std::env::args_os(),
        Surroundings { input: &mut input, output: &mut output, errors: &mut errors, colored },
    )
}
