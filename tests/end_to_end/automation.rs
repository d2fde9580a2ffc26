//! What a team copies into its automation.

use std::path::Path;
use std::process::Command;

use super::program::{Folder, Ran, project, run_in, template, text_of};

/// A program that notes what it is asked, and ends as it is told to.
const STAND_IN: &str = "#!/bin/sh\necho \"$*\" >>\"$NOTES\"\necho \"said of $2\"\n\
    case \"$*\" in compare*worse.yaml*) exit 1;; compare*) exit 0;; *) exit 3;; esac\n";

fn script(folder: &Folder, arguments: &[&str]) -> Ran {
    let path = std::env::var("PATH").expect("a path");
    Command::new("sh")
        .arg(project().join("examples/automation/review.sh"))
        .args(arguments)
        .current_dir(folder.path())
        .env("PATH", format!("{}:{path}", folder.path().join("bin").display()))
        .env("NOTES", folder.path().join("notes"))
        .output()
        .expect("sh starts")
        .into()
}

fn git(folder: &Path, arguments: &[&str]) {
    let ended = Command::new("git")
        .args(["-c", "user.name=a", "-c", "user.email=a@example.invalid"])
        .args(arguments)
        .current_dir(folder)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .output()
        .expect("git starts");
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
}

#[cfg(unix)]
#[test]
fn the_script_leaves_results_and_ends_as_the_gravest() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new();
    folder.put("bin/loadworthy", STAND_IN);
    let program = folder.path().join("bin/loadworthy");
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).expect("it can be run");
    folder.put("units/same.yaml", "a\n");
    folder.put("units/worse.yaml", "a\n");
    git(folder.path(), &["init", "--quiet", "--initial-branch=main"]);
    git(folder.path(), &["add", "units"]);
    git(folder.path(), &["commit", "--quiet", "--message=first"]);
    folder.put("units/a new one.yml", "a\n");
    let alone = script(&folder, &["units", "results"]);
    assert_eq!(alone.code, Some(3), "{}", alone.err);
    for name in ["review.sarif", "review.md", "review.json"] {
        assert!(folder.path().join("results").join(name).is_file(), "{name}");
    }
    let compared = script(&folder, &["units", "results", "main"]);
    assert_eq!(compared.code, Some(1), "{}", compared.err);
    let notes = std::fs::read_to_string(folder.path().join("notes")).expect("notes");
    let notes = notes.lines().skip(4).collect::<Vec<_>>();
    assert_eq!(
        notes,
        [
            "review units --format sarif",
            "review units --format markdown",
            "review units --format json",
            "review units --quiet",
            "compare units/same.yaml --base main --only-worse --format markdown",
            "compare units/worse.yaml --base main --only-worse --format markdown",
            "review units/a new one.yml --format markdown",
        ]
    );
}

/// What the script and the hooks ask is something that the program knows.
#[test]
fn the_hooks_ask_what_the_program_answers() {
    let hooks = text_of(".pre-commit-hooks.yaml");
    let entries =
        hooks.lines().filter_map(|line| line.strip_prefix("  entry: loadworthy ")).collect::<Vec<_>>();
    assert_eq!(entries.len(), 2, "{hooks}");
    let folder = Folder::new();
    folder.put("units/-dash.yaml", template("x", "60"));
    folder.put("units/parts/a.yaml", "devices: {}\n");
    for (entry, after) in entries.iter().zip([["--", "units/-dash.yaml"].as_slice(), &["units"]]) {
        let arguments = entry.split(' ').chain(after.iter().copied()).collect::<Vec<_>>();
        let ran = run_in(&folder, &arguments);
        assert_eq!(ran.code, Some(1), "{arguments:?}: {}", ran.err);
        assert!(ran.out.contains("units/-dash.yaml:") && ran.out.contains(": major "), "{}", ran.out);
    }
}
