//! The single faults of a unit and what comes of each, worst first; none counts as a finding.

use loadworthy_checks::faults::{Effect, Fault, FaultWalk};

use crate::show::layout::counted;
use crate::show::words::fault::{left, named, open, worse_text};

use super::markup::Markup;

/// The walks of all variants; one that comes to the same as an earlier one is not told again.
pub(crate) fn faults(walks: &[FaultWalk]) -> Markup {
    let mut out = Markup::new();
    out.raw("<p>One at a time, worst first. None counts as a finding: a machine may stop at a fault, and whether that is ");
    out.raw("right is for whoever answers for it.</p>\n");
    for (place, walk) in walks.iter().enumerate() {
        let of = walk.variant_name.as_ref().map_or_else(String::new, |name| format!(" of variant {name}"));
        let same = walks[..place].iter().find(|other| other.faults == walk.faults);
        let number: usize = walk.faults.iter().map(Fault::count).sum();
        let said = match same.and_then(|other| other.variant_name.as_ref()) {
            Some(other) => format!("Single faults{of}: as of {other}"),
            None if number == 0 => format!("Single faults{of}: nothing is declared that could fail"),
            None => format!("{}{of}", counted(number, "single fault", "single faults")),
        };
        out.element("<h3>", &said, "</h3>\n");
        if same.is_some() || number == 0 {
            continue;
        }
        out.raw("<ul class=\"walk\">");
        for fault in &walk.faults {
            one(&mut out, walk, fault);
        }
        out.raw("</ul>\n");
    }
    out
}

fn one(out: &mut Markup, walk: &FaultWalk, fault: &Fault) {
    let title: Vec<String> = fault
        .causes
        .iter()
        .map(|(kind, names)| format!("{}: {}", kind.words(), named(names, None)))
        .collect();
    out.element("<li><strong>", &title.join("; "), "</strong><ul>");
    let Effect { cut_off, stops, dead, not_served, unsolved, worse, discharge, says, .. } = &fault.effect;
    let mut put = |word: &'static str, said: &str| {
        out.raw("<li>").raw(word).element(" ", said, "</li>");
    };
    for said in says {
        put("then", said);
    }
    for (word, names, of) in [
        ("cut off:", cut_off, None),
        ("stops", stops, Some(walk.stages)),
        ("without feed:", dead, None),
        ("not served:", not_served, Some(walk.duties)),
        ("no solution:", unsolved, Some(walk.duties)),
    ] {
        if !names.is_empty() {
            put(word, &named(names, of));
        }
    }
    for one in worse {
        put("fails then:", &worse_text(one));
    }
    for said in open(&fault.effect) {
        put("open:", &said);
    }
    for one in discharge {
        put("discharge:", one);
    }
    if let Some(said) = left(walk, &fault.effect) {
        put("left:", said);
    }
    out.raw("</ul></li>\n");
}
