//! A description at a revision of the git repository that it lies in.
//!
//! The git program reads the repository: `rev-parse` says which commit and which folder are meant, `cat-file` gives the bytes.
//! Arguments go to it directly, without a shell. What a person calls a revision is looked up once, behind
//! `--end-of-options`; from there on only the numbers of objects are used, so that no name can become an option. `cat-file`
//! runs none of the programs that a repository may name for showing its files. Parts follow the same rule as on disk: links
//! included, they stay below the folder of their description.

use std::ffi::OsStr;
use std::io::{self, Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use loadworthy_language::Files;
use loadworthy_source::escape_text;

use crate::files::{MOST_BYTES, Opened, shown_name};
use crate::output::reason;
use crate::show::layout::cut;

/// Characters of a revision's name that are shown.
const LONGEST_NAME: usize = 80;
/// Bytes of the line with which an object begins, at most.
const LONGEST_HEADER: usize = 4096;

/// The name of a file at a revision as it is shown: `HEAD~1:units/forwarder.yaml`.
pub(crate) fn name_at(path: &Path, revision: &str) -> String {
    format!("{}:{}", escape_text(&cut(revision, LONGEST_NAME)), shown_name(path))
}

/// Opens a description as it was at a revision.
///
/// # Errors
/// A sentence that says why it cannot be read.
pub(crate) fn open_at(path: &Path, revision: &str) -> Result<Opened, String> {
    let file = path.file_name().and_then(OsStr::to_str).filter(|_| path != Path::new("-"));
    let Some(file) = file else {
        return Err("only a file with a name in UTF-8 has revisions".to_owned());
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        return Err("its folder is not there".to_owned());
    }
    let prefix = answer(folder, &["rev-parse", "--show-prefix"]).map_err(|why| match why {
        NoAnswer::Refused(said) => format!("its folder lies in no git repository that can be read: {said}"),
        NoAnswer::NotAsked(why) => why,
    })?;
    let commit = format!("{revision}^{{commit}}");
    let commit = answer(folder, &["rev-parse", "--verify", "--quiet", "--end-of-options", &commit]);
    let commit = commit.map_err(|why| match why {
        NoAnswer::Refused(_) => {
            let shown = cut(revision, LONGEST_NAME);
            format!("the repository knows no revision `{}`", escape_text(&shown))
        }
        NoAnswer::NotAsked(why) => why,
    })?;
    if !is_number(&commit) {
        return Err("git did not say which revision that is".to_owned());
    }
    let tree = format!("{commit}:{}", prefix.trim_end_matches('/'));
    let tree = answer(folder, &["rev-parse", "--verify", "--quiet", "--end-of-options", &tree]);
    let mut parts = match tree {
        Ok(tree) if is_number(&tree) => Revision { folder: folder.to_owned(), tree },
        Ok(_) | Err(NoAnswer::Refused(_)) => {
            return Err("its folder did not exist at that revision".to_owned());
        }
        Err(NoAnswer::NotAsked(why)) => return Err(why),
    };
    let bytes = parts.open(file)?;
    Ok(Opened { name: name_at(path, revision), bytes, parts: Box::new(parts) })
}

/// The folder of a description at a revision.
struct Revision {
    folder: std::path::PathBuf,
    /// The number of the folder's tree.
    tree: String,
}

impl Files for Revision {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        // The language has checked it; here a line feed would begin another question.
        if relative.contains(['\n', '\0']) || relative.split('/').any(|step| matches!(step, "" | "." | ".."))
        {
            return Err("its name is not one that a file in a repository can have".to_owned());
        }
        let mut git = git(&self.folder, &["cat-file", "--batch", "--follow-symlinks"]);
        git.stdin(Stdio::piped()).stderr(Stdio::null());
        let mut git = git.spawn().map_err(|why| not_started(&why))?;
        let read = ask(&mut git, &format!("{}:{relative}\n", self.tree));
        // What is left of a file that is too long is not waited for.
        let _ = git.kill();
        let _ = git.wait();
        read
    }
}

/// Asks for an object and reads it, no more of it than a description may have.
fn ask(git: &mut Child, question: &str) -> Result<Vec<u8>, String> {
    let (Some(mut input), Some(output)) = (git.stdin.take(), git.stdout.take()) else {
        return Err("git cannot be asked".to_owned());
    };
    let failed = |why: io::Error| format!("git did not answer: {}", reason(&why));
    input.write_all(question.as_bytes()).map_err(failed)?;
    drop(input);
    let mut output = io::BufReader::new(output);
    let mut header = Vec::new();
    let mut byte = [0];
    while header.len() < LONGEST_HEADER && output.read(&mut byte).map_err(failed)? == 1 && byte != [b'\n'] {
        header.push(byte[0]);
    }
    let header = String::from_utf8_lossy(&header);
    let words = header.split(' ').collect::<Vec<_>>();
    let size = match words.as_slice() {
        [number, "blob", size] if is_number(number) => size.parse::<u64>().ok(),
        [number, "tree", _] if is_number(number) => return Err("it is a folder".to_owned()),
        [number, "commit", _] if is_number(number) => return Err("it is another repository".to_owned()),
        ["symlink", _] => return Err("it leads out of the folder of the description".to_owned()),
        ["dangling", _] => return Err("it is a link to what did not exist at that revision".to_owned()),
        ["loop", _] => return Err("it is a link to itself".to_owned()),
        ["notdir", _] => return Err("a step of its path is no folder".to_owned()),
        [.., "missing"] => return Err("it did not exist at that revision".to_owned()),
        _ => None,
    };
    let size = size.ok_or_else(|| "git did not answer".to_owned())?.min(MOST_BYTES);
    let mut bytes = Vec::new();
    output.take(size).read_to_end(&mut bytes).map_err(failed)?;
    if u64::try_from(bytes.len()) == Ok(size) { Ok(bytes) } else { Err("git ended early".to_owned()) }
}

/// Why git gave no answer.
enum NoAnswer {
    /// It could not be asked.
    NotAsked(String),
    /// It refused, and said this.
    Refused(String),
}

/// What git prints in one line.
fn answer(folder: &Path, arguments: &[&str]) -> Result<String, NoAnswer> {
    let output = git(folder, arguments).output().map_err(|why| NoAnswer::NotAsked(not_started(&why)))?;
    if output.status.success() {
        let said = String::from_utf8_lossy(&output.stdout);
        Ok(said.strip_suffix('\n').unwrap_or(&said).to_owned())
    } else {
        let complaint = String::from_utf8_lossy(&output.stderr);
        let first = complaint.lines().next().unwrap_or_default();
        Err(NoAnswer::Refused(escape_text(&cut(first, 200)).into_owned()))
    }
}

fn git(folder: &Path, arguments: &[&str]) -> Command {
    let mut git = Command::new("git");
    git.arg("-C").arg(folder).args(arguments);
    // The repository is the one that the file lies in, also where another one runs this program as a hook.
    for name in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"] {
        git.env_remove(name);
    }
    // Answers are in one language, and nothing is fetched from elsewhere or asked of a person.
    for (name, value) in [
        ("LC_ALL", "C"),
        ("GIT_OPTIONAL_LOCKS", "0"),
        ("GIT_NO_LAZY_FETCH", "1"),
        ("GIT_TERMINAL_PROMPT", "0"),
    ] {
        git.env(name, value);
    }
    git.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    git
}

fn not_started(why: &io::Error) -> String {
    match why.kind() {
        io::ErrorKind::NotFound => "the git program, which reads revisions, is not installed".to_owned(),
        _ => format!("the git program cannot be started: {}", reason(why)),
    }
}

/// Whether a text is the number of an object.
fn is_number(text: &str) -> bool {
    (40..=64).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}
