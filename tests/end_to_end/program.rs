//! Runs the program, and gives it folders to work in.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// The folder that holds the whole project.
pub(super) fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The program in the project's folder, so that names of files are the same on every machine.
pub(super) fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loadworthy"));
    command.current_dir(project()).env_remove("NO_COLOR").stdin(Stdio::null());
    command
}

/// What a run left behind.
#[derive(Debug)]
pub(super) struct Ran {
    pub(super) code: Option<i32>,
    pub(super) out: String,
    pub(super) err: String,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        let text = |bytes| String::from_utf8(bytes).expect("what is printed is UTF-8");
        Self { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }
}

/// Runs the program with arguments.
pub(super) fn run<A: AsRef<OsStr>>(arguments: &[A]) -> Ran {
    program().args(arguments).output().expect("the program starts").into()
}

/// Runs the program with arguments in a folder.
pub(super) fn run_in<A: AsRef<OsStr>>(folder: &Folder, arguments: &[A]) -> Ran {
    program().current_dir(folder.path()).args(arguments).output().expect("the program starts").into()
}

/// A folder that goes away with its value.
#[derive(Debug)]
pub(super) struct Folder(PathBuf);

impl Folder {
    pub(super) fn new() -> Self {
        static NUMBER: AtomicU32 = AtomicU32::new(0);
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("loadworthy-{}-{number}", std::process::id()));
        fs::create_dir_all(&path).expect("a folder can be made");
        Self(path)
    }

    pub(super) fn path(&self) -> &Path {
        &self.0
    }

    /// Writes a file, with the folders it stands in.
    pub(super) fn put(&self, name: &str, text: impl AsRef<[u8]>) {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().expect("a file stands in a folder")).expect("a folder can be made");
        fs::write(path, text).expect("a file can be written");
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // A folder left behind in the place for such folders harms nobody.
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// A file of the project.
pub(super) fn text_of(name: &str) -> String {
    fs::read_to_string(project().join(name)).unwrap_or_else(|why| panic!("{name}: {why}"))
}

/// The smallest unit in which something fails, with a name and a number put in.
pub(super) fn template(name: &str, number: &str) -> String {
    let template = text_of("tests/end_to_end/descriptions/hostile.template.yaml");
    template.replace("@@NAME@@", name).replace("@@VALUE@@", number)
}

/// Compares with what was accepted before.
macro_rules! assert_shown {
    ($name:expr, $shown:expr) => {
        assert_shown!("snapshots", $name, $shown)
    };
    ($folder:expr, $name:expr, $shown:expr) => {{
        let mut settings = insta::Settings::clone_current();
        settings.set_snapshot_path($folder);
        settings.set_prepend_module_to_snapshot(false);
        settings.set_omit_expression(true);
        settings.bind(|| insta::assert_snapshot!($name, $shown));
    }};
}
pub(super) use assert_shown;
