//! The program `loadworthy`.

use std::io::{self, IsTerminal};
use std::process::ExitCode;

use loadworthy::{Surroundings, run, wants_color};
use loadworthy_unit::side_by_side;

fn main() -> ExitCode {
    side_by_side::start();
    // What is told of errors is not kept for one thread: others draw how far they are, or break down and say so.
    let (stdin, stdout, mut errors) = (io::stdin(), io::stdout(), io::stderr());
    let colored = wants_color(stdout.is_terminal(), std::env::var_os("NO_COLOR").as_deref());
    let (mut input, mut output) = (stdin.lock(), stdout.lock());
    run(
        std::env::args_os(),
        Surroundings { input: &mut input, output: &mut output, errors: &mut errors, colored },
    )
}
