//! Which files a review is of: those that were named, and the descriptions in the folders that were named.
//!
//! In a folder every `*.yaml` and `*.yml` is looked at, folders within it as well, hidden folders not. No link is
//! followed: what it leads to within the folder is found by its own name. What is left out is counted and named.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use loadworthy_language::{FileKind, kind_of};

use crate::files::{self, Stands, shown_name};
use crate::show::layout::counted;

/// Files of a kind that are named where they are left out.
const NAMED: usize = 8;

/// What is to be reviewed, in order.
#[derive(Debug, Default)]
pub(crate) struct Gathered {
    pub(crate) files: Vec<PathBuf>,
    /// Whether a folder was named.
    pub(crate) from_folders: bool,
    /// Folders that gave nothing, each with the reason in a sentence.
    pub(crate) nothing: Vec<String>,
    pub(crate) left_out: LeftOut,
}

/// What stands in folders and is not reviewed.
#[derive(Debug, Default)]
pub(crate) struct LeftOut {
    /// Parts files, which are reviewed with the descriptions that name them.
    pub(crate) parts: Vec<PathBuf>,
    /// YAML that is neither a description nor a parts file.
    pub(crate) other: Vec<PathBuf>,
    /// Links to folders or with the name of a YAML file.
    pub(crate) links: Vec<PathBuf>,
}

impl LeftOut {
    fn kinds(&self) -> [(&[PathBuf], &'static str, &'static str); 3] {
        [
            (&self.other, "YAML file of another kind", "YAML files of another kind"),
            (&self.links, "link", "links"),
            (&self.parts, "parts file", "parts files"),
        ]
    }

    /// How many there are of what the line names first.
    fn first_number(&self) -> usize {
        self.kinds().iter().map(|(paths, ..)| paths.len()).find(|&number| number > 0).unwrap_or_default()
    }

    /// What is left out in one line, and nothing where nothing is.
    pub(crate) fn line(&self) -> Option<String> {
        let told =
            self.kinds().into_iter().filter(|(paths, ..)| !paths.is_empty()).map(|(paths, one, many)| {
                let names =
                    paths.iter().take(NAMED).map(|path| shown_name(path)).collect::<Vec<_>>().join(", ");
                let more = match paths.len().saturating_sub(NAMED) {
                    0 => String::new(),
                    more => format!(" and {more} more"),
                };
                format!("{} ({names}{more})", counted(paths.len(), one, many))
            });
        let told = told.collect::<Vec<_>>();
        (!told.is_empty()).then(|| told.join("; "))
    }
}

/// What is reviewed where these are named.
pub(crate) fn gathered(named: &[PathBuf]) -> Gathered {
    let mut all = Gathered::default();
    let is_folder = |path: &&PathBuf| path.as_os_str() != "-" && files::is_folder(path);
    let single = named.iter().filter(|path| !is_folder(path)).map(|path| files::real(path));
    // A file that is named, or that stands in two of the folders, is taken once.
    let mut known = single.collect::<BTreeSet<_>>();
    for path in named {
        if is_folder(&path) {
            all.from_folders = true;
            all.take_folder(path, &mut known);
        } else {
            all.files.push(path.clone());
        }
    }
    all
}

impl Gathered {
    /// Whether every folder gave something.
    pub(crate) fn is_whole(&self) -> bool {
        self.nothing.is_empty()
    }

    fn take_folder(&mut self, folder: &Path, known: &mut BTreeSet<PathBuf>) {
        let mut found = Vec::new();
        let mut named_as_parts = BTreeSet::new();
        let mut left_out = LeftOut::default();
        let mut unreadable = 0;
        let mut open = vec![folder.to_owned()];
        while let Some(next) = open.pop() {
            let listed = match files::listed(&next) {
                Ok(listed) => listed,
                Err(why) => {
                    self.nothing.push(format!("cannot read {}: {why}", shown_name(&next)));
                    unreadable += 1;
                    continue;
                }
            };
            for one in listed {
                match one.what {
                    Stands::Folder if !is_hidden(&one.path) => open.push(one.path),
                    Stands::Link if is_yaml(&one.path) || files::is_folder(&one.path) => {
                        left_out.links.push(one.path);
                    }
                    // What cannot be read may be a description, and the review says that it cannot be read.
                    Stands::File | Stands::Strange if is_yaml(&one.path) => {
                        match files::bytes(&one.path).map(|bytes| kind_of(&bytes)) {
                            Ok(FileKind::Parts) => left_out.parts.push(one.path),
                            Ok(FileKind::Other) => left_out.other.push(one.path),
                            Ok(FileKind::Description { parts }) => {
                                let beside = one.path.parent().unwrap_or(Path::new("."));
                                let real = |part: &String| files::real(&beside.join(part));
                                named_as_parts.extend(parts.iter().map(real));
                                found.push(one.path);
                            }
                            Err(_) => found.push(one.path),
                        }
                    }
                    _ => {}
                }
            }
        }
        found.sort();
        let before = found.len();
        for path in found {
            let real = files::real(&path);
            if named_as_parts.contains(&real) {
                left_out.parts.push(path);
            } else if known.insert(real) {
                self.files.push(path);
            }
        }
        if before == 0 && unreadable == 0 {
            let verb = if left_out.first_number() == 1 { "is" } else { "are" };
            let what = left_out.line().map_or_else(String::new, |line| format!("; there {verb} {line}"));
            self.nothing.push(format!("there is no description in {}{what}", shown_name(folder)));
            return;
        }
        let LeftOut { mut parts, mut other, mut links } = left_out;
        for (paths, all) in [
            (&mut parts, &mut self.left_out.parts),
            (&mut other, &mut self.left_out.other),
            (&mut links, &mut self.left_out.links),
        ] {
            paths.sort();
            all.append(paths);
        }
    }
}

fn is_yaml(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("yaml") || ending.eq_ignore_ascii_case("yml"))
}

fn is_hidden(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."))
}
