//! The single faults of a unit and what comes of each, worst first.

use loadworthy_checks::faults::{Fault, FaultWalk};

use crate::show::layout::{counted, hanging};
use crate::show::words::fault::{Line, lines, title};

use super::paint::Paint;

/// Faults that are shown unless all are asked for.
const FIRST: usize = 12;
const MARGIN: usize = 7;
const BELOW: usize = MARGIN + 14;

/// The walks of all variants; one that comes to the same as the first is not told again.
pub(super) fn faults(walks: &[FaultWalk], all: bool, paint: Paint) -> String {
    let mut text = String::new();
    for (place, walk) in walks.iter().enumerate() {
        let name = walk.variant_name.as_ref().map_or_else(String::new, |name| format!(" of variant {name}"));
        let same = walks[..place].iter().find(|other| other.faults == walk.faults);
        let number: usize = walk.faults.iter().map(Fault::count).sum();
        let said = match same.and_then(|other| other.variant_name.as_ref()) {
            Some(other) => format!("single faults{name}: as of {other}"),
            None if number == 0 => format!("single faults{name}: nothing is declared that could fail"),
            None => {
                format!(
                    "{}{name}, one at a time, worst first; none counts as a finding",
                    counted(number, "single fault", "single faults")
                )
            }
        };
        text.push_str(&paint.heading("faults", &hanging("faults", MARGIN, &said)));
        text.push('\n');
        if same.is_some() {
            continue;
        }
        let shown = if all { walk.faults.len() } else { FIRST };
        for one in walk.faults.iter().take(shown) {
            text.push_str(&fault(walk, one, paint));
        }
        if walk.faults.len() > shown {
            text.push_str(&format!("+{} more faults, `--all`\n", walk.faults.len() - shown));
        }
        text.push('\n');
    }
    text
}

fn fault(walk: &FaultWalk, fault: &Fault, paint: Paint) -> String {
    let mut text = paint.heading("fault", &hanging("fault", MARGIN, &title(fault)));
    for Line { lead, said } in lines(walk, fault) {
        text.push_str(&hanging(&format!("{}{lead}", " ".repeat(MARGIN)), BELOW, &said));
    }
    text
}
