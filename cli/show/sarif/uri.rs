//! Paths as relative references: from the folder that the review was started in, and nothing about the machine beside.

use std::ffi::OsStr;
use std::path::{Component, Path, PathBuf};

use super::log::Artifact;

/// The base of what lies in the folder that the review was started in.
pub(super) const INSIDE: &str = "SRCROOT";
/// The base of what lies elsewhere. No host finds such a file, and none is led to another one by steps upwards.
pub(super) const OUTSIDE: &str = "OUTSIDE";

/// A file as a host finds it.
pub(super) fn of(path: &Path, root: Option<&Path>) -> Artifact {
    if path == Path::new("-") {
        return Artifact { uri: "standard-input".to_owned(), uri_base_id: OUTSIDE };
    }
    let whole = root.map_or_else(|| path.to_owned(), |root| root.join(path));
    let steps = resolved(&whole);
    let from_root = resolved(root.unwrap_or(Path::new("")));
    match steps.as_deref().zip(from_root.as_deref()).and_then(|(steps, root)| steps.strip_prefix(root).ok()) {
        Some(inside) if inside.components().next().is_some() && !whole_is_strange(inside) => {
            Artifact { uri: encoded(inside), uri_base_id: INSIDE }
        }
        _ => {
            let name = path.file_name().unwrap_or(OsStr::new("unnamed"));
            Artifact { uri: encoded(Path::new(name)), uri_base_id: OUTSIDE }
        }
    }
}

/// A path in which `.` and `..` are taken; none where it steps above its beginning.
fn resolved(path: &Path) -> Option<PathBuf> {
    let mut steps = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir => {
                if !steps.pop() {
                    return None;
                }
            }
            other => steps.push(other),
        }
    }
    Some(steps)
}

/// Whether something is left of a root or a drive.
fn whole_is_strange(path: &Path) -> bool {
    path.components().any(|component| !matches!(component, Component::Normal(_)))
}

fn encoded(path: &Path) -> String {
    let steps = path.components().map(|component| {
        let bytes = component.as_os_str().as_encoded_bytes();
        bytes.iter().fold(String::new(), |mut text, &byte| {
            if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~') {
                text.push(char::from(byte));
            } else {
                text.push_str(&format!("%{byte:02X}"));
            }
            text
        })
    });
    steps.collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn uri(path: &str) -> (String, &'static str) {
        let found = of(Path::new(path), Some(Path::new("/home/team/units")));
        (found.uri, found.uri_base_id)
    }

    #[test]
    fn what_lies_inside_is_relative() {
        for path in
            ["a/b.yaml", "./a/b.yaml", "a/./c/../b.yaml", "/home/team/units/a/b.yaml", "../units/a/b.yaml"]
        {
            assert_eq!(uri(path), ("a/b.yaml".to_owned(), INSIDE), "{path}");
        }
    }

    #[test]
    fn of_what_lies_outside_only_the_name_is_told() {
        for path in ["../b.yaml", "/etc/b.yaml", "/home/team/b.yaml", "a/../../b.yaml"] {
            assert_eq!(uri(path), ("b.yaml".to_owned(), OUTSIDE), "{path}");
        }
        assert_eq!(uri("-"), ("standard-input".to_owned(), OUTSIDE));
        assert_eq!(of(Path::new("../b.yaml"), None).uri_base_id, OUTSIDE);
        assert_eq!(of(Path::new("a/b.yaml"), None).uri, "a/b.yaml");
    }

    #[test]
    fn strange_names_are_encoded() {
        assert_eq!(uri("a b/ü#?%:\\.yaml").0, "a%20b/%C3%BC%23%3F%25%3A%5C.yaml");
    }
}
