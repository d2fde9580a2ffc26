//! Files that should not be opened, and names that files can have all the same.

use std::ffi::OsString;
use std::fs;

use super::program::{Folder, program, run, run_in, template, text_of};

const SECRET: &str = "secret-8c21: 1\n";

fn with_part(folder: &Folder, part: &str) -> super::program::Ran {
    folder.put("unit/unit.yaml", template("x", "60") + &format!("parts: [\"{part}\"]\n"));
    run_in(folder, &["review", "unit/unit.yaml"])
}

#[test]
fn parts_stay_below_the_folder_of_their_description() {
    let folder = Folder::new();
    folder.put("outside.yaml", SECRET);
    for part in ["../outside.yaml", "/etc/hostname", "a/../../outside.yaml", "https://example.org/a.yaml"] {
        let ran = with_part(&folder, part);
        assert_eq!(ran.code, Some(2), "{part}");
        assert!(ran.out.contains("unit/unit.yaml:") && !ran.out.contains("secret-8c21"), "{}", ran.out);
    }
}

#[cfg(unix)]
#[test]
fn links_do_not_lead_out_either() {
    let folder = Folder::new();
    folder.put("outside.yaml", SECRET);
    folder.put("unit/inside.yaml", "devices: {}\n");
    let link = |to: &str, name: &str| {
        std::os::unix::fs::symlink(folder.path().join(to), folder.path().join("unit").join(name))
            .expect("a link")
    };
    link("outside.yaml", "out.yaml");
    link(".", "up");
    link("/dev/zero", "zero.yaml");
    link("unit/loop.yaml", "loop.yaml");
    link("unit/inside.yaml", "in.yaml");
    for (part, why) in [
        ("out.yaml", "it leads out of the folder of the description"),
        ("up/outside.yaml", "it leads out of the folder of the description"),
        ("zero.yaml", "it leads out of the folder of the description"),
        ("loop.yaml", "cannot read"),
        ("no-such-file.yaml", "there is no such file"),
        ("up", "it leads out of the folder of the description"),
    ] {
        let ran = with_part(&folder, part);
        assert_eq!(ran.code, Some(2), "{part}: {}", ran.out);
        let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(why) && !flat.contains("secret-8c21"), "{part}: {}", ran.out);
    }
    assert_eq!(with_part(&folder, "in.yaml").code, Some(1), "a link that stays inside is followed");
}

#[cfg(unix)]
#[test]
fn what_is_no_regular_file_is_not_waited_for() {
    let folder = Folder::new();
    folder.put("unit/readme", "");
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("unit/pipe.yaml")).status();
    assert!(made.is_ok_and(|status| status.success()), "a pipe can be made");
    let ran = with_part(&folder, "pipe.yaml");
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("it is not a regular file"), "{}", ran.out);
    for (name, why) in [
        ("unit/pipe.yaml", "it is not a regular file"),
        ("/dev/zero", "it is not a regular file"),
        ("unit/unit.yaml/below", "a step of its path is no folder"),
    ] {
        let ran = run_in(&folder, &["review", name]);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{name}");
        assert_eq!(ran.err, format!("loadworthy: cannot read {name}: {why}\n"));
    }
    let ran = run_in(&folder, &["stress", "unit"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(2), "loadworthy: cannot read unit: it is a folder\n"));
}

#[test]
fn a_file_that_is_too_large_is_refused_before_it_is_read_whole() {
    let folder = Folder::new();
    let file = fs::File::create(folder.path().join("large.yaml")).expect("a file");
    // A hole of 8 GiB takes no room on the disk and would take all of a small memory.
    file.set_len(8 << 30).expect("a hole");
    let ran = run_in(&folder, &["review", "large.yaml"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("16 MiB"), "{}", ran.out);
}

#[test]
fn the_standard_input_is_a_file_too() {
    let text = text_of("examples/harbour-shuttle.yaml");
    let folder = Folder::new();
    folder.put("parts/semiconductors.yaml", text_of("examples/parts/semiconductors.yaml"));
    folder.put("parts/capacitors.yaml", text_of("examples/parts/capacitors.yaml"));
    folder.put("input", text);
    let input = fs::File::open(folder.path().join("input")).expect("a file");
    let output =
        program().current_dir(folder.path()).args(["review", "-"]).stdin(input).output().expect("starts");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
}

#[cfg(target_os = "linux")]
#[test]
fn a_name_that_is_not_utf_8_is_opened_all_the_same() {
    use std::os::unix::ffi::OsStringExt;
    let folder = Folder::new();
    let name = OsString::from_vec(b"unit\xff\xfe.yaml".to_vec());
    fs::write(folder.path().join(&name), template("x", "60")).expect("a file");
    let ran = run_in(&folder, &[OsString::from("review"), name]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    assert!(ran.out.contains("unit\u{FFFD}\u{FFFD}.yaml:"), "{}", ran.out);
    let missing = OsString::from_vec(b"no\xff.yaml".to_vec());
    let ran = run_in(&folder, &[OsString::from("review"), missing]);
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (Some(2), "loadworthy: cannot read no\u{FFFD}.yaml: there is no such file\n")
    );
}

#[test]
fn names_with_hidden_characters_are_written_out() {
    for arguments in
        [&["review", "no\u{1b}[31m\n\u{202e}file.yaml"][..], &["derive", "no\u{1b}[31m\n\u{202e}file.yaml"]]
    {
        let ran = run(arguments);
        assert_eq!(ran.code, Some(2));
        assert_eq!(
            ran.err,
            "loadworthy: cannot read no\\u{001B}[31m\\u{000A}\\u{202E}file.yaml: there is no such file\n"
        );
    }
    let long = run(&["review", &"x".repeat(3000)]);
    assert_eq!(long.code, Some(2));
    assert!(long.err.chars().count() < 400, "{}", long.err);
}
