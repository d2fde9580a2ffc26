//! Two entries of which each leads to what the other is named after: outputs, drivers and sensors whose lists were exchanged.
//!
//! A name says nothing by itself. Where all entries beside them are named after what they lead to, two that are crossed are a suspicion.

use loadworthy_language::Description;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list};

type Names = Located<Vec<Located<String>>>;

/// Entries of one section with a list each.
struct Lists<'s> {
    section: &'static str,
    key: &'static str,
    all: Vec<(&'s str, &'s Names)>,
    write: fn(&mut Description, &str, &Names),
}

pub(super) fn crossed(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let description = seen.description;
    let feeds =
        description.gate_supplies.readable().filter_map(|(name, _, one)| Some((name, one.feeds.as_ref()?)));
    let drives =
        description.drivers.readable().filter_map(|(name, _, one)| Some((name, one.drives.as_ref()?)));
    let of = description.sensors.readable().filter_map(|(name, _, one)| Some((name, one.of.as_ref()?)));
    let sections = [
        Lists {
            section: "gate_supplies",
            key: "feeds",
            all: feeds.collect(),
            write: |all, name, to| all.gate_supplies.change(name, |one| one.feeds = Some(to.clone())),
        },
        Lists {
            section: "drivers",
            key: "drives",
            all: drives.collect(),
            write: |all, name, to| all.drivers.change(name, |one| one.drives = Some(to.clone())),
        },
        Lists {
            section: "sensors",
            key: "of",
            all: of.collect(),
            write: |all, name, to| all.sensors.change(name, |one| one.of = Some(to.clone())),
        },
    ];
    for lists in &sections {
        in_section(seen, lists, out);
    }
}

fn in_section(seen: &Seen<'_>, lists: &Lists<'_>, out: &mut Vec<Draft>) {
    // One that leads to anything that it is named after stands where it was meant to.
    let strange: Vec<_> = lists.all.iter().filter(|(name, to)| !is_after(name, to)).collect();
    let mut pairs = Vec::new();
    for (place, &&(name, own)) in strange.iter().enumerate() {
        let rest = strange[place + 1..].iter();
        pairs.extend(
            rest.filter(|(far, theirs)| is_after(name, theirs) && is_after(far, own))
                .map(|far| ((name, own), **far)),
        );
    }
    if pairs.len() > MOST_STRANGE {
        return;
    }
    for ((name, own), (far, theirs)) in pairs {
        let moves = vec![
            list((lists.section, name, lists.key), own, &theirs.value),
            list((lists.section, far, lists.key), theirs, &own.value),
        ];
        out.push(seen.draft(moves, |all| {
            (lists.write)(all, name, theirs);
            (lists.write)(all, far, own);
        }));
    }
}

/// Whether the first word of a name is that of something it leads to.
fn is_after(name: &str, to: &Names) -> bool {
    to.value.iter().any(|one| first_word(&one.value) == first_word(name))
}

fn first_word(name: &str) -> &str {
    name.split(['_', '-', '.']).next().unwrap_or(name)
}
