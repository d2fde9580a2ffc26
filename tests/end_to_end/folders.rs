//! Several files and folders in one run.

use std::fs;

use serde_json::Value;

use super::program::{Folder, assert_shown, run, run_in, template, text_of};

/// A description that holds, and stands alone.
fn holds() -> &'static str {
    loadworthy_checks::list::by_name("output-reach").expect("the check").about().holds
}

/// One in which something fails.
fn fails() -> String {
    template("x", "60")
}

/// A team's folder: descriptions in folders, parts, what others write, and what is broken.
fn team() -> Folder {
    let folder = Folder::new();
    folder.put("units/b-holds.yaml", holds());
    folder.put("units/a/fails.yml", fails());
    folder.put("units/a/z-broken.yaml", "edition: 2026\nstages: {\n");
    let with_parts = template("x", "60") + "parts: [shared/devices.yaml]\n";
    folder.put("units/c-parts.yaml", with_parts);
    folder.put("units/shared/devices.yaml", "edition: 2026\ndevices: {}\n");
    folder.put("units/pipeline.yaml", "stages: [build, test]\n");
    folder.put("units/.hidden/unit.yaml", fails());
    folder.put("units/readme.md", "# nothing\n");
    folder
}

#[test]
fn a_folder_is_reviewed_in_the_order_of_its_names() {
    let folder = team();
    let ran = run_in(&folder, &["review", "units", "--format", "json"]);
    assert_eq!(ran.code, Some(2));
    let run: Value = serde_json::from_str(&ran.out).expect("JSON");
    let files =
        run["reviews"].as_array().expect("a list").iter().map(|one| one["file"].as_str().unwrap_or_default());
    assert_eq!(
        files.collect::<Vec<_>>(),
        ["units/a/fails.yml", "units/a/z-broken.yaml", "units/b-holds.yaml", "units/c-parts.yaml"]
    );
    assert_eq!(run["left_out"]["other"], serde_json::json!(["units/pipeline.yaml"]));
    assert_eq!(run["left_out"]["parts"], serde_json::json!(["units/shared/devices.yaml"]));
    assert_eq!(
        ran.err,
        "loadworthy: not reviewed on their own: 1 YAML file of another kind (units/pipeline.yaml); 1 parts file \
         (units/shared/devices.yaml)\n"
    );
}

#[test]
fn a_table_at_the_end_sums_up() {
    let folder = team();
    let ran = run_in(&folder, &["review", "units", "no-such.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err.ends_with("loadworthy: cannot read no-such.yaml: there is no such file\n"),
        "{}",
        ran.err
    );
    let (_, table) = ran.out.rsplit_once("\n\n").expect("a table");
    assert_shown!("table-of-a-folder", table);
    for line in table.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn the_table_counts_what_the_reviews_count() {
    let ran = run(&["review", "examples"]);
    assert_eq!(ran.code, Some(1));
    let (_, table) = ran.out.rsplit_once("\n\n").expect("a table");
    assert_shown!("table-of-the-examples", table);
    // The same numbers, added up from what each review says of itself.
    let machine: Value =
        serde_json::from_str(&run(&["review", "examples", "--format", "json"]).out).expect("JSON");
    let sum = |key: &str| -> u64 {
        machine["reviews"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(|one| one["counts"][key].as_u64())
            .sum()
    };
    let all = table.lines().last().expect("a sum").split_whitespace().collect::<Vec<_>>();
    assert_eq!(all[..5], ["all", "5", "files", &sum("hold").to_string(), &sum("fail").to_string()]);
}

#[test]
fn each_file_of_several_says_what_it_says_alone() {
    let folder = team();
    let together = run_in(&folder, &["review", "units"]).out;
    for name in ["units/a/fails.yml", "units/a/z-broken.yaml", "units/b-holds.yaml", "units/c-parts.yaml"] {
        let alone = run_in(&folder, &["review", name]).out;
        assert!(together.contains(&format!("— {name}\n{alone}")), "{name}");
    }
}

#[test]
fn one_line_for_a_whole_run() {
    let folder = team();
    let ran = run_in(&folder, &["review", "-q", "units", "no-such.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(2), ""));
    assert_eq!(ran.out.lines().count(), 1);
    assert!(
        ran.out.starts_with("unreadable   5 files: unreadable 1, problems 1, fails 2, holds 1   "),
        "{}",
        ran.out
    );
    assert!(ran.out.ends_with("   1 left out   first no-such.yaml: there is no such file\n"), "{}", ran.out);
    let ran = run_in(&folder, &["review", "-q", "units/b-holds.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert!(ran.out.starts_with("holds   ") && ran.out.ends_with("   units/b-holds.yaml\n"), "{}", ran.out);
    for arguments in
        [["review", "-q", "units/.hidden"], ["review", "-q", "units/shared"], ["review", "-q", "no.yaml"]]
    {
        let ran = run_in(&folder, &arguments);
        assert_eq!((ran.out.lines().count(), ran.err.as_str()), (1, ""), "{arguments:?}");
    }
    assert_eq!(run_in(&folder, &["review", "-q", "--format", "json", "units"]).code, Some(2), "not both");
}

#[test]
fn a_folder_without_descriptions_is_told() {
    let folder = team();
    fs::create_dir(folder.path().join("empty")).expect("a folder");
    let ran = run_in(&folder, &["review", "empty", "units/shared", "units/b-holds.yaml"]);
    assert_eq!(ran.code, Some(2), "what was asked for is not there, however good the rest");
    assert_eq!(
        ran.err,
        "loadworthy: there is no description in empty\n\
         loadworthy: there is no description in units/shared; there is 1 parts file (units/shared/devices.yaml)\n"
    );
    assert!(ran.out.contains("units/b-holds.yaml"), "the rest is reviewed all the same");
}

#[test]
fn several_parts_files_are_told_in_the_plural() {
    let folder = Folder::new();
    folder.put("u/a.yaml", "devices: {}\n");
    folder.put("u/b.yaml", "edition: 2026\ncapacitors: {}\n");
    let ran = run_in(&folder, &["review", "u"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err.contains("no description in u; there are 2 parts files (u/a.yaml, u/b.yaml)"),
        "{}",
        ran.err
    );
    for name in ["u/a.yaml", "u/b.yaml"] {
        let ran = run_in(&folder, &["review", name]);
        assert_eq!(ran.code, Some(2), "{}", ran.out);
        assert!(ran.out.contains("this is a parts file") && !ran.out.contains("lacks"), "{}", ran.out);
        assert!(ran.out.contains("review a description that names it"), "{}", ran.out);
    }
}

#[test]
fn what_a_broken_description_has_become_is_not_passed_over() {
    for broken in [
        &b""[..],
        b"\n",
        b"\xff\xfee\0d\0i\0t\0i\0o\0n\0:\0",
        b"# M\xfcller\nedition: 2026\n",
        b"edition: 2026\nstagse: {}\n",
        b"edition: 2026\nunit: [\n",
        b"buses:\n\t- a\n",
    ] {
        let folder = Folder::new();
        folder.put("u/holds.yaml", holds());
        fs::write(folder.path().join("u/broken.yaml"), broken).expect("it is written");
        let ran = run_in(&folder, &["review", "u"]);
        assert_eq!(ran.code, Some(2), "{}", String::from_utf8_lossy(broken));
        assert!(ran.out.contains("broken.yaml") && ran.err.is_empty(), "{}{}", ran.out, ran.err);
    }
    let folder = Folder::new();
    folder.put("u/no-stages.yaml", "edition: 2026\nbuses: {}\nsources: {}\n");
    let ran = run_in(&folder, &["review", "u"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(3), ""), "it can be read, and nothing is judged");
}

#[test]
fn a_file_that_is_named_is_reviewed_whatever_it_is() {
    let folder = team();
    let ran = run_in(&folder, &["review", "units/pipeline.yaml", "units/.hidden/unit.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("— units/pipeline.yaml\n") && ran.out.contains("— units/.hidden/unit.yaml\n"));
    let twice = run_in(&folder, &["review", "units/b-holds.yaml", "units", "units/a", "--format", "json"]);
    let run: Value = serde_json::from_str(&twice.out).expect("JSON");
    assert_eq!(run["reviews"].as_array().map(Vec::len), Some(4), "each once");
    assert_eq!(run["reviews"][0]["file"], "units/b-holds.yaml", "in the order of what was named");
}

#[cfg(unix)]
#[test]
fn links_are_named_and_not_followed() {
    use std::os::unix::fs::symlink;
    let folder = Folder::new();
    folder.put("units/unit.yaml", holds());
    folder.put("outside/unit.yaml", fails());
    symlink("../outside", folder.path().join("units/out")).expect("a link");
    symlink(".", folder.path().join("units/round")).expect("a link");
    symlink("../outside/unit.yaml", folder.path().join("units/other.yaml")).expect("a link");
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("units/pipe.yaml")).status();
    assert!(made.is_ok_and(|status| status.success()), "a pipe can be made");
    let ran = run_in(&folder, &["review", "units", "--quiet"]);
    assert_eq!(ran.code, Some(2), "{}", ran.out);
    fs::remove_file(folder.path().join("units/pipe.yaml")).expect("it goes");
    let ran = run_in(&folder, &["review", "units"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert_eq!(
        ran.err,
        "loadworthy: not reviewed on their own: 3 links (units/other.yaml, units/out, units/round)\n"
    );
    // A folder that is itself named by a link is what was asked for.
    symlink("units", folder.path().join("link")).expect("a link");
    assert_eq!(run_in(&folder, &["review", "-q", "link"]).code, Some(0));
}

#[test]
fn names_and_units_of_others_do_no_harm_in_the_table() {
    let folder = Folder::new();
    folder.put("u/a\u{1b}[31m\n|`@x`<script>.yaml", template("a\u{202e}b | <b> ](http://x) `c`", "60"));
    folder.put(&format!("u/{}.yaml", "long ".repeat(40)), template(&"w".repeat(500), "60"));
    for arguments in [&["review", "u"][..], &["review", "-q", "u"], &["review", "--format=lines", "u"]] {
        let ran = run_in(&folder, arguments);
        assert_eq!(ran.code, Some(1), "{}", ran.err);
        let hidden = |text: &str| text.chars().any(|c| c != '\n' && (c.is_control() || c == '\u{202e}'));
        assert!(!hidden(&ran.out) && !hidden(&ran.err), "{}", ran.out);
    }
}

#[test]
fn the_same_on_every_run_however_many_threads_there_are() {
    let folder = Folder::new();
    for number in 0..30 {
        folder
            .put(&format!("u/{number:02}.yaml"), if number % 7 == 3 { fails() } else { holds().to_owned() });
    }
    let first = run_in(&folder, &["review", "u"]);
    assert_eq!((first.code, first.err.as_str()), (Some(1), ""));
    for _ in 0..3 {
        assert_eq!(run_in(&folder, &["review", "u"]).out, first.out);
    }
    let names = first.out.lines().filter_map(|line| line.strip_prefix("— u/")).collect::<Vec<_>>();
    assert_eq!(names, (0..30).map(|number| format!("{number:02}.yaml")).collect::<Vec<_>>());
}

#[test]
fn a_line_for_each_finding_with_its_place() {
    let ran = run(&["review", "--format", "lines", "examples", "no-such.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert_shown!("lines-of-the-examples", ran.out);
    let text = text_of("examples/peat-harvester.yaml");
    let line = text.lines().position(|line| line.contains("modulation: sinusoidal")).expect("the line") + 1;
    assert!(
        ran.out.contains(&format!("examples/peat-harvester.yaml:{line}:17: major output-reach: ")),
        "{}",
        ran.out
    );
    let folder = team();
    let ran = run_in(&folder, &["review", "--format", "lines", "units/b-holds.yaml"]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (Some(0), "", ""), "what holds has no line");
    let ran = run_in(
        &folder,
        &["review", "--format", "lines", "units/a/z-broken.yaml", "units/shared/devices.yaml"],
    );
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.out.starts_with("units/a/z-broken.yaml:2:") && ran.out.contains(": problem: "),
        "{}",
        ran.out
    );
}

/// On a terminal a bar is drawn while threads work, which must not keep anyone waiting for another.
#[cfg(target_os = "linux")]
#[test]
fn on_a_terminal_it_ends_as_well() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};
    let folder = team();
    let line = format!("'{}' review units", env!("CARGO_BIN_EXE_loadworthy"));
    let child = Command::new("script")
        .args(["--quiet", "--return", "--command", &line, "screen"])
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn();
    let Ok(mut child) = child else { return };
    let begun = Instant::now();
    let ended = loop {
        if let Some(ended) = child.try_wait().expect("it can be asked") {
            break ended;
        }
        if begun.elapsed() > Duration::from_secs(60) {
            child.kill().expect("it can be ended");
            panic!("it waits for ever");
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    assert_eq!(ended.code(), Some(2));
    let screen = fs::read_to_string(folder.path().join("screen")).expect("what was on the screen");
    assert!(screen.contains(" of 4 files") && screen.contains("all       4 files"), "{screen}");
}
