//! Single faults and what comes of each, worst first.

use loadworthy_checks::faults::{Fault, FaultWalk};

use crate::show::layout::{counted, cut};
use crate::show::words::fault::{Line, lines, title};

use super::block::{folded, item};
use super::escape::{html_text, text};

/// Characters of the parts that may fail, in the line that a fault is folded under.
const LONGEST: usize = 160;

/// The walk of each variant: its heading and its faults. One that comes to the same as an earlier one is not told again.
pub(super) fn walks(walks: &[FaultWalk]) -> Vec<(String, Vec<String>)> {
    let mut sections = Vec::new();
    for (place, walk) in walks.iter().enumerate() {
        if walks[..place].iter().any(|other| other.faults == walk.faults) {
            continue;
        }
        let name = walk.variant_name.as_ref().map_or_else(String::new, |name| format!(" of variant {name}"));
        let number: usize = walk.faults.iter().map(Fault::count).sum();
        let faults = counted(number, "single fault", "single faults");
        let head = format!(
            "**Faults**: {}, one at a time, worst first; none counts as a finding:\n\n",
            text(&format!("{faults}{name}"))
        );
        sections.push((head, walk.faults.iter().map(|one| fault(walk, one)).collect()));
    }
    sections
}

fn fault(walk: &FaultWalk, fault: &Fault) -> String {
    let said = lines(walk, fault);
    let inside = said.iter().map(|Line { lead, said }| item(lead, said)).collect::<String>();
    folded(&html_text(&cut(&title(fault).replace('\n', "; "), LONGEST)), &inside)
}
