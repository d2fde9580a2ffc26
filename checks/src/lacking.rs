//! What is missing, told together where one entry lacks several things.

use crate::cause::CauseText;
#[cfg(test)]
use crate::cause::{BROKEN, UNREAD};

/// Keys of one entry that are named; more are counted.
const NAMED: usize = 8;

/// The entry that a path leads into, with the key below it: a section and a name, such as `devices.hb650` and
/// `transistor.junction_limit`. A path that is no longer than that has none.
#[must_use]
pub fn entry_and_key(path: &str) -> Option<(&str, &str)> {
    let (section, rest) = path.split_once('.')?;
    let (name, key) = rest.split_once('.')?;
    Some((path.get(..section.len() + 1 + name.len())?, key))
}

/// What is missing in one sentence: `machines.winch: flux_linkage and inductance.d are not stated`. All of them share
/// what is wrong with them, and their entry unless they could not be read.
#[must_use]
pub fn sentence(paths: &[String], text: &CauseText) -> String {
    let together = match paths {
        [] => return text.subject.clone(),
        [only] => return format!("{only} {}", text.trouble),
        several => several,
    };
    // What lies in something else that could not be read is told with it.
    let holds = |whole: &str, path: &str| path.strip_prefix(whole).is_some_and(|rest| rest.starts_with('.'));
    let is_outermost = |path: &&String| !together.iter().any(|whole| holds(whole, path));
    let together: Vec<&String> = together.iter().filter(is_outermost).collect();
    if let [only] = together.as_slice() {
        return format!("{only} {}", text.trouble);
    }
    let entry_of = |path: &String| entry_and_key(path).map(|(entry, _)| entry.to_owned());
    let first = together.first().and_then(|path| entry_of(path));
    let entry = first.filter(|first| together.iter().all(|path| entry_of(path).as_ref() == Some(first)));
    let keys = together.iter().map(|path| match entry_and_key(path) {
        Some((_, key)) if entry.is_some() => key,
        _ => path.as_str(),
    });
    // One more is sooner named than counted.
    let shown = if together.len() > NAMED + 1 { NAMED } else { together.len() };
    let named = keys.take(shown).collect::<Vec<_>>();
    let keys = match named.split_last() {
        _ if together.len() > shown => format!("{} and {} more", named.join(", "), together.len() - shown),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    };
    match entry {
        Some(entry) => format!("{entry}: {keys} {}", of_several(text.trouble)),
        None => {
            let trouble = of_several(text.trouble).replace("part of an entry that", "parts of what");
            format!("{keys} {trouble}")
        }
    }
}

/// What is wrong with several, where it is said of one.
fn of_several(trouble: &str) -> String {
    match trouble.strip_prefix("is ") {
        Some(rest) => format!("are {rest}"),
        // `could not be read` is said of any number.
        None => trouble.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(paths: &[&str], trouble: &'static str) -> String {
        let paths = paths.iter().map(|&path| path.to_owned()).collect::<Vec<_>>();
        let text = CauseText {
            subject: paths[0].clone(),
            trouble,
            is_path: true,
            is_range: false,
            is_lane: false,
            reached: None,
            near: None,
        };
        sentence(&paths, &text)
    }

    #[test]
    fn one_and_several_are_told_in_whole_sentences() {
        let alone = &["machines.winch.flux_linkage"][..];
        let of_one = &["machines.winch.flux_linkage", "machines.winch.pole_pairs"][..];
        let of_two = &["machines.winch.flux_linkage", "buses.link.highest"][..];
        for (paths, trouble, expected) in [
            (alone, "is not stated", "machines.winch.flux_linkage is not stated"),
            (of_one, "is not stated", "machines.winch: flux_linkage and pole_pairs are not stated"),
            (of_two, "is not stated", "machines.winch.flux_linkage and buses.link.highest are not stated"),
            (alone, UNREAD, "machines.winch.flux_linkage could not be read"),
            (of_one, UNREAD, "machines.winch: flux_linkage and pole_pairs could not be read"),
            (of_two, UNREAD, "machines.winch.flux_linkage and buses.link.highest could not be read"),
            (alone, BROKEN, "machines.winch.flux_linkage is part of an entry that could not be read"),
            (
                of_one,
                BROKEN,
                "machines.winch: flux_linkage and pole_pairs are part of an entry that could not be read",
            ),
            (
                of_two,
                BROKEN,
                "machines.winch.flux_linkage and buses.link.highest are parts of what could not be read",
            ),
        ] {
            assert_eq!(told(paths, trouble), expected);
        }
    }
}
