//! What is missing, told together where one entry lacks several things.

use crate::cause::CauseText;

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
    let trouble = text.trouble.strip_prefix("is ").unwrap_or(text.trouble);
    let keys = match named.split_last() {
        _ if together.len() > shown => format!("{} and {} more", named.join(", "), together.len() - shown),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    };
    match entry {
        Some(entry) => format!("{entry}: {keys} are {trouble}"),
        None => format!("{keys} are {}", trouble.replace("part of an entry that", "parts of what")),
    }
}
