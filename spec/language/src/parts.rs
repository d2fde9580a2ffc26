//! Parts files: further files that add named entries to a description.

use std::collections::HashMap;

use loadworthy_source::{Content, NodeId, Problem, Span, Tree, nearest};

use crate::ledger::Ledger;
use crate::quantity::shown;
use crate::walk::{Shapes, Subject, Walker};

/// Opens the files that a description names.
pub trait Files {
    /// The bytes of a file, by its path relative to the description.
    ///
    /// The path has been checked: it has `/` between its steps, is relative, and does not leave the folder of the
    /// description by `..`. Links are the implementor's to follow or refuse.
    ///
    /// # Errors
    /// A short sentence that says why it cannot be read.
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String>;
}

/// Sections that parts files may add to.
pub(crate) const SECTIONS: &[&str] = &[
    "sources",
    "buses",
    "branches",
    "stages",
    "machines",
    "loads",
    "devices",
    "capacitors",
    "capacitor_types",
    "magnetics",
    "conductors",
    "gate_supplies",
    "drivers",
    "controllers",
    "sensors",
    "signals",
    "duty",
    "missions",
];
/// More files than a description is ever cut into.
const MOST_PARTS: usize = 100;

/// Reads the parts files of a description and joins them to it. Beside the joined description, whether one of them, or the
/// list of them, could not be read: what is named and is not there may stand in it.
pub(crate) fn join(
    tree: &mut Tree,
    root: NodeId,
    own_name: &str,
    shapes: &Shapes,
    files: &mut dyn Files,
    ledger: &mut Ledger,
    problems: &mut Vec<Problem>,
) -> (NodeId, bool) {
    let Some(parts) = tree.entry(root, "parts") else { return (root, false) };
    if let Some(shape) = shapes.top("parts") {
        Walker { tree, shapes, ledger, patches: None }.value(shape, parts.value, Subject::under(parts.key));
    }
    let named = match tree.content(parts.value) {
        Content::List(items) => items.to_vec(),
        _ => return (root, true),
    };
    let mut lacks = false;
    if named.len() > MOST_PARTS {
        let at = tree.span(parts.value);
        let message = format!("`parts` names {} files, which is more than {MOST_PARTS}", named.len());
        problems.push(Problem::new("too-large", at, message, "too many files"));
    }
    let mut opened: HashMap<String, Span> = HashMap::new();
    let mut roots = Vec::new();
    for item in named.into_iter().take(MOST_PARTS) {
        let at = tree.span(item);
        let written = match tree.scalar(item).and_then(|scalar| scalar.as_text()) {
            Some(written) if !written.is_empty() => written.to_owned(),
            // Said by the walker.
            _ => {
                lacks = true;
                continue;
            }
        };
        let path = match inside(&written) {
            Ok(path) => path,
            Err(why) => {
                let message =
                    format!("{} is not a path below the folder of the description", shown(&written));
                let problem = Problem::new("bad-path", at, message, why);
                problems.push(problem.with_way_out("write a path such as `parts/semiconductors.yaml`"));
                lacks = true;
                continue;
            }
        };
        if let Some(first) = opened.insert(path.clone(), at) {
            let message = format!("{} is named twice", shown(&written));
            problems.push(
                Problem::new("name-twice", at, message, "named again").with_also(first, "named here first"),
            );
            continue;
        }
        match files.open(&path) {
            Ok(bytes) => match tree.read(&beside(own_name, &path), &bytes, problems) {
                Some(part) => roots.push(part),
                None => lacks = true,
            },
            Err(why) => {
                lacks = true;
                let message =
                    format!("cannot read {}: {}", shown(&written), loadworthy_source::escape_text(&why));
                problems.push(Problem::new("cannot-read", at, message, "this file"));
            }
        }
    }
    let mut found = Vec::new();
    let joined = tree.union(root, &roots, SECTIONS, &mut found);
    // A parts file may name its edition, so that an editor can hold it against the schema.
    let editions = roots.iter().filter_map(|part| tree.entry(*part, "edition")).collect::<Vec<_>>();
    for edition in &editions {
        let at = tree.span(edition.key);
        found.retain(|problem| problem.at != at || problem.kind != "not-in-a-parts-file");
        if let Some(shape) = shapes.top("edition") {
            Walker { tree, shapes, ledger, patches: None }.value(
                shape,
                edition.value,
                Subject::under(edition.key),
            );
        }
    }
    problems.extend(found);
    (joined, lacks)
}

/// The path with its `.` and `..` resolved, if it stays below the folder it starts in.
pub(crate) fn inside(written: &str) -> Result<String, &'static str> {
    if written.contains("://") {
        return Err("a web address");
    }
    if written.contains('\\') {
        return Err("write `/` between the steps");
    }
    if written.starts_with(['/', '~']) || written.as_bytes().get(1) == Some(&b':') {
        return Err("not relative");
    }
    if written.chars().any(char::is_control) {
        return Err("holds a control character");
    }
    let mut steps = Vec::new();
    for step in written.split('/') {
        match step {
            "." => {}
            "" => return Err("has an empty step"),
            ".." => {
                steps.pop().ok_or("leaves the folder")?;
            }
            step => steps.push(step),
        }
    }
    if steps.is_empty() { Err("names no file") } else { Ok(steps.join("/")) }
}

/// The name of a file beside another, as it is shown.
fn beside(name: &str, relative: &str) -> String {
    match name.rfind(['/', '\\']) {
        Some(end) => format!("{}{relative}", &name[..=end]),
        None => relative.to_owned(),
    }
}

/// The section that a misspelt one probably is.
pub(crate) fn nearest_section<'s>(word: &str, shapes: &'s Shapes) -> Option<&'s str> {
    nearest(word, shapes.top_keys())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_stay_below_the_folder() {
        for (written, path) in [
            ("semiconductors.yaml", Ok("semiconductors.yaml")),
            ("./parts/a.yaml", Ok("parts/a.yaml")),
            ("parts/../other/a.yaml", Ok("other/a.yaml")),
            ("../a.yaml", Err("leaves the folder")),
            ("parts/../../a.yaml", Err("leaves the folder")),
            ("/etc/a.yaml", Err("not relative")),
            ("~/a.yaml", Err("not relative")),
            ("C:/a.yaml", Err("not relative")),
            ("parts\\a.yaml", Err("write `/` between the steps")),
            ("https://example.org/a.yaml", Err("a web address")),
            ("parts//a.yaml", Err("has an empty step")),
            ("parts/", Err("has an empty step")),
            (".", Err("names no file")),
        ] {
            assert_eq!(inside(written), path.map(str::to_owned), "{written}");
        }
    }

    #[test]
    fn parts_are_shown_beside_their_description() {
        assert_eq!(beside("units/forwarder.yaml", "parts/a.yaml"), "units/parts/a.yaml");
        assert_eq!(beside("forwarder.yaml", "parts/a.yaml"), "parts/a.yaml");
    }
}
