//! What a team copies into its automation.

use std::path::Path;
use std::process::Command;

use super::program::{Folder, Ran, project, run_in, template, text_of};

fn script(folder: &Folder, arguments: &[&str]) -> Ran {
    let path = std::env::var("PATH").expect("a path");
    let program = Path::new(env!("CARGO_BIN_EXE_loadworthy"));
    Command::new("sh")
        .arg(project().join("examples/automation/review.sh"))
        .args(arguments)
        .current_dir(folder.path())
        .env("PATH", format!("{}:{path}", program.parent().expect("a folder").display()))
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

/// A repository with a unit that holds, one that fails, and what is no unit, in folders within a folder.
fn repository() -> Folder {
    let folder = Folder::new();
    folder.put("units/holds.yaml", holds());
    folder.put("units/old/fails.yml", template("x", "60"));
    folder.put("units/parts/stock.yaml", "devices: {}\n");
    folder.put("units/settings.yaml", "foo: 1\n");
    git(folder.path(), &["init", "--quiet", "--initial-branch=main"]);
    git(folder.path(), &["add", "units"]);
    git(folder.path(), &["commit", "--quiet", "--message=first"]);
    folder
}

fn holds() -> &'static str {
    loadworthy_checks::list::by_name("output-reach").expect("the check").about().holds
}

fn compared(folder: &Folder) -> String {
    std::fs::read_to_string(folder.path().join("results/compare.md")).expect("what is compared")
}

#[cfg(unix)]
#[test]
fn the_script_leaves_results_and_ends_as_the_gravest() {
    let folder = repository();
    let alone = script(&folder, &["units", "results"]);
    assert_eq!(alone.code, Some(1), "{}", alone.err);
    for name in ["review.sarif", "review.md", "review.json"] {
        assert!(folder.path().join("results").join(name).is_file(), "{name}");
    }
    let absolute = folder.path().join("units");
    let absolute = absolute.to_str().expect("a name");
    for units in ["units", "./units/", absolute] {
        let unchanged = script(&folder, &[units, "results", "main"]);
        assert_eq!(unchanged.code, Some(0), "what failed before is no news in {units}: {}", unchanged.err);
        let said = compared(&folder);
        assert!(said.contains("units/holds.yaml") && said.contains("units/old/fails.yml"), "{said}");
    }
    folder.put("units/deeper/a new \"one\".yaml", holds());
    assert_eq!(script(&folder, &["units", "results", "main"]).code, Some(0), "a new unit that holds");
    let worse = template("x", "60").replace("buses: { link: 300 V }", "buses: { link: 280 V }");
    folder.put("units/old/fails.yml", worse);
    for units in ["units", absolute] {
        let worse = script(&folder, &[units, "results", "main"]);
        assert_eq!(worse.code, Some(1), "it got worse in a folder of {units}: {}", worse.err);
    }
}

#[cfg(unix)]
#[test]
fn the_script_ends_with_2_where_something_cannot_be_held_against_anything() {
    let folder = repository();
    let unknown = script(&folder, &["units", "results", "no-such-branch"]);
    assert_eq!(unknown.code, Some(2));
    assert!(unknown.err.contains("git knows no revision no-such-branch"), "{}", unknown.err);
    folder.put("units/old/empty.yaml", "");
    let ran = script(&folder, &["units", "results", "main"]);
    assert_eq!(ran.code, Some(2), "{}", ran.err);
    std::fs::create_dir(folder.path().join("nothing")).expect("a folder");
    assert_eq!(script(&folder, &["nothing", "results", "main"]).code, Some(2), "nothing is there");
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
