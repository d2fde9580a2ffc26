//! Two files, two revisions, two variants, and what is tried, side by side.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

use super::program::{Folder, Ran, assert_shown, program, run, run_in, text_of};

const FORWARDER: &str = "examples/timber-forwarder.yaml";
const HARVESTER: &str = "examples/peat-harvester.yaml";

/// A folder with the parts that examples name.
pub(super) fn workshop() -> Folder {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    folder
}

/// A text with passages replaced, each of which must be there.
fn with(text: &str, passages: &[(&str, &str)]) -> String {
    passages.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    })
}

/// The forwarder as somebody changed it: another order of the coolant, another device, another name.
pub(super) fn forwarder_changed() -> String {
    with(
        &text_of(FORWARDER),
        &[
            ("edition: 2026", "# the pump's stack goes first now\nedition: 2026"),
            ("right: [boost_stack, pump_stack]", "right: [pump_stack, boost_stack]"),
            ("{ fitted: df1200_300, parallel: 1 }", "{ fitted: hb1200_450, parallel: 1 }"),
            ("{ face_a: 0.12 K/W, face_b: 0.12 K/W }", "{ face_a: 0.12 K/W }"),
            ("pump_drivers", "crane_drivers"),
            ("continuous: 380 A", "continuous: 0.38 kA"),
            ("pump: { flow: 14 L/min }", "pump: { flow: 12.5 L/min }"),
        ],
    )
}

fn json(ran: &Ran) -> Value {
    serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}{}", ran.out, ran.err))
}

/// Values under a key of a list of objects.
fn each(list: &Value, key: &str) -> Vec<String> {
    let list = list.as_array().expect("a list");
    list.iter().map(|one| one[key].as_str().unwrap_or_default().to_owned()).collect()
}

#[test]
fn a_change_of_a_whole_unit() {
    let folder = workshop();
    folder.put("before.yaml", text_of(FORWARDER));
    folder.put("after.yaml", forwarder_changed());
    let ran = run_in(&folder, &["compare", "before.yaml", "after.yaml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""));
    assert!(ran.out.lines().all(|line| line.chars().count() <= 100));
    assert_shown!("compare_forwarder", ran.out);
    let again = run_in(&folder, &["compare", "before.yaml", "after.yaml"]);
    assert_eq!(ran.out, again.out);
}

#[test]
fn a_file_is_the_same_as_itself() {
    let ran = run(&["compare", HARVESTER, HARVESTER]);
    assert!(ran.out.starts_with("no change "), "{}", ran.out);
    assert_eq!(ran.code, Some(1), "it fails as it did");
    assert_eq!(run(&["compare", HARVESTER, HARVESTER, "--only-worse"]).code, Some(0));
    let comparison = &json(&run(&["compare", HARVESTER, HARVESTER, "--format", "json"]))["comparison"];
    assert_eq!(comparison["verdict"], "no change");
    for list in ["changes", "renames", "headrooms", "not_judged"] {
        assert_eq!(comparison[list], serde_json::json!([]), "{list}");
    }
    assert!(each(&comparison["findings"], "turn").iter().all(|turn| turn == "unchanged"));
}

#[test]
fn only_what_is_worse_counts_where_that_is_asked() {
    let mend = "stages.track_bridge.modulation=space_vector";
    let spoil = "stages.track_bridge.carrier.frequency=20kHz";
    let compare = |with: &str, more: &[&str]| run(&[&["compare", HARVESTER, "--with", with], more].concat());
    let worse = compare(spoil, &["--only-worse"]);
    assert_eq!(worse.code, Some(1), "{}", worse.out);
    assert!(worse.out.starts_with("worse "), "{}", worse.out);
    let better = compare(mend, &["--only-worse"]);
    assert_eq!(better.code, Some(0), "{}", better.out);
    assert!(better.out.contains("\ngone        output-reach   track_bridge   major\n"), "{}", better.out);
    assert!(
        better.out.contains("stages.track_bridge.modulation   sinusoidal -> space_vector"),
        "{}",
        better.out
    );
    // What fails before and after fails as a review does.
    assert_eq!(compare("unit.note=no more than a word", &[]).code, Some(1));
    assert_eq!(compare("unit.note=no more than a word", &["--only-worse"]).code, Some(0));
}

#[test]
fn what_is_judged_no_more_is_no_pass() {
    let silent = ["compare", HARVESTER, "--with", "machines.track_motor.inductance=null"];
    let ran = run(&[&silent[..], &["--only-worse"]].concat());
    assert!(matches!(ran.code, Some(1 | 3)), "{:?} {}", ran.code, ran.out);
    assert!(ran.out.contains("\nnot judged  machines.track_motor"), "{}", ran.out);
}

#[test]
fn the_change_that_the_readme_shows_is_the_one_that_is_printed() {
    let readme = text_of("README.md");
    let (_, from) = readme.split_once("## What a change does\n\n```\n").expect("a comparison");
    let (shown, _) = from.split_once("\n```").expect("its end");
    let printed = run(&["compare", HARVESTER, "--with", "stages.track_bridge.modulation=space_vector"]).out;
    for line in shown.lines().filter(|line| *line != "…") {
        assert!(printed.lines().any(|other| other == line), "not printed: {line}");
    }
}

#[test]
fn two_variants_of_one_file() {
    let ran = run(&["compare", FORWARDER, "--variants", "standard", "heavy"]);
    assert!(
        ran.out.contains("before      examples/timber-forwarder.yaml, variant standard\n"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("stages.traction_bridge.switches.high_side.parallel   1 -> 2\n"), "{}", ran.out);
    assert!(ran.out.contains("\ngone        junction-temperature   traction_bridge"), "{}", ran.out);
    let unknown = run(&["compare", FORWARDER, "--variants", "standard", "havy"]);
    assert_eq!(unknown.code, Some(2));
    assert!(unknown.err.contains("there is no variant `havy`; is it `heavy`?"), "{}", unknown.err);
}

#[test]
fn the_json_form_has_places_in_both_files() {
    let folder = workshop();
    folder.put("before.yaml", text_of(FORWARDER));
    folder.put("after.yaml", forwarder_changed());
    let run = json(&run_in(&folder, &["compare", "before.yaml", "after.yaml", "--format", "json"]));
    assert_eq!((&run["form"], &run["version"]), (&"loadworthy-compare".into(), &1.into()));
    let comparison = &run["comparison"];
    assert_eq!(
        comparison["renames"],
        serde_json::json!([{ "section": "drivers", "old": "pump_drivers", "new": "crane_drivers" }])
    );
    let changes = comparison["changes"].as_array().expect("a list");
    let flow = changes.iter().find(|one| one["path"] == "cooling.pump.flow").expect("the flow");
    assert_eq!((&flow["kind"], &flow["old"]["written"]), (&"changed".into(), &"14 L/min".into()));
    assert!((flow["new"]["amount"]["value"].as_f64().expect("a number") - 12.5 / 60_000.0).abs() < 1e-12);
    let (old, new) = (&flow["old"]["at"], &flow["new"]["at"]);
    assert_eq!((&old["file"], &new["file"]), (&"before.yaml".into(), &"after.yaml".into()));
    // A line was put in at the head, and moves everything.
    assert_eq!(new["line"].as_u64(), old["line"].as_u64().map(|line| line + 1));
    // What no longer holds first, then what lost most.
    let holds = |side: &Value| side["comparison"]["headroom"]["value"].as_f64().expect("a number") >= 0.0;
    let loss = |one: &Value| {
        let crosses = holds(&one["old"]) != holds(&one["new"]);
        (crosses, one["loss"].as_f64().expect("a number"))
    };
    let fell = comparison["headrooms"].as_array().expect("a list").iter().filter(|one| one["turn"] == "fell");
    let fell = fell.collect::<Vec<_>>();
    assert!(fell.len() > 20 && fell.windows(2).all(|pair| loss(pair[0]) >= loss(pair[1])));
    for one in fell {
        let headroom = |side: &str| one[side]["comparison"]["headroom"]["value"].as_f64().expect("a number");
        assert!(headroom("old") > headroom("new"), "{one}");
    }
}

#[test]
fn a_side_that_cannot_be_read_is_not_compared() {
    let folder = workshop();
    folder.put("whole.yaml", text_of(FORWARDER));
    folder.put("broken.yaml", text_of(FORWARDER).replace("topology: boost", "topology: bost"));
    for (old, new) in [("whole.yaml", "broken.yaml"), ("broken.yaml", "whole.yaml")] {
        let ran = run_in(&folder, &["compare", old, new, "--only-worse"]);
        assert_eq!(ran.code, Some(2));
        assert!(ran.err.contains("broken.yaml has problems, and nothing is compared with it"), "{}", ran.err);
        assert!(ran.out.contains("bost") && !ran.out.contains("headrooms"), "{}", ran.out);
        let form = json(&run_in(&folder, &["compare", old, new, "--format", "json"]));
        assert_eq!((&form["exit"], &form["comparison"]), (&2.into(), &Value::Null));
    }
    let ran = run_in(&folder, &["compare", "whole.yaml", "gone.yaml"]);
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (Some(2), "loadworthy: cannot read gone.yaml: there is no such file\n")
    );
}

#[test]
fn a_command_line_that_names_no_two_sides_is_refused() {
    for line in [
        &["compare"][..],
        &["compare", FORWARDER],
        &["compare", FORWARDER, HARVESTER, "--base", "HEAD"],
        &["compare", FORWARDER, "--variants", "standard"],
        &["compare", FORWARDER, "--at", "HEAD"],
        &["compare", FORWARDER, "--base", "HEAD", "--variants", "standard", "heavy"],
    ] {
        let ran = run(line);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{line:?}");
        assert!(ran.err.contains("Usage: "), "{}", ran.err);
    }
}

/// A git repository, with the settings of nobody.
struct Repository(Folder);

impl Repository {
    fn new() -> Self {
        let repository = Self(workshop());
        repository.git(&["init", "--quiet", "--initial-branch=main"]);
        repository
    }

    fn alone(command: &mut Command) -> &mut Command {
        for (name, value) in [
            ("GIT_CONFIG_GLOBAL", "/dev/null"),
            ("GIT_CONFIG_NOSYSTEM", "1"),
            ("GIT_AUTHOR_NAME", "Nobody"),
            ("GIT_AUTHOR_EMAIL", "nobody@example.invalid"),
            ("GIT_COMMITTER_NAME", "Nobody"),
            ("GIT_COMMITTER_EMAIL", "nobody@example.invalid"),
        ] {
            command.env(name, value);
        }
        command.env("GIT_CEILING_DIRECTORIES", std::env::temp_dir())
    }

    fn git(&self, arguments: &[&str]) {
        let mut git = Command::new("git");
        let ran =
            Self::alone(git.arg("-C").arg(self.0.path()).args(arguments)).output().expect("git is installed");
        assert!(ran.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&ran.stderr));
    }

    fn commit(&self) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--message=a step"]);
    }

    fn compare(&self, folder: &Path, arguments: &[&str]) -> Ran {
        let mut program = program();
        program.current_dir(folder).arg("compare").args(arguments);
        Self::alone(&mut program).output().expect("the program starts").into()
    }
}

#[test]
fn a_file_against_an_earlier_revision() {
    let repository = Repository::new();
    let folder = repository.0.path().to_owned();
    repository.0.put("harvester.yaml", text_of(HARVESTER));
    repository.commit();
    // A part of the description changes in a parts file, and nothing in the file itself.
    let parts = text_of("examples/parts/semiconductors.yaml");
    repository.0.put(
        "parts/semiconductors.yaml",
        parts.replace("junction_limit: 175 degC", "junction_limit: 165 degC"),
    );
    let at_home = repository.compare(&folder, &["harvester.yaml", "--base", "main"]);
    assert_eq!((at_home.code, at_home.err.as_str()), (Some(1), ""));
    assert!(
        at_home.out.contains("before      main:harvester.yaml\nafter       harvester.yaml\n"),
        "{}",
        at_home.out
    );
    assert!(
        at_home.out.contains("hb650_300.transistor.junction_limit\n            175 degC -> 165 degC (-10 K)"),
        "{}",
        at_home.out
    );
    // From another folder, where the name of the file is another one.
    std::fs::create_dir_all(folder.join("elsewhere")).expect("a folder");
    let aside = repository.compare(&folder.join("elsewhere"), &["../harvester.yaml", "--base", "main"]);
    let lines = |ran: &Ran| ran.out.lines().filter(|line| !line.contains("harvester.yaml")).count();
    assert_eq!((aside.code, lines(&aside)), (at_home.code, lines(&at_home)), "{}", aside.err);
    // A hook runs with the repository in its surroundings.
    let mut hook = program();
    hook.current_dir(folder.join("elsewhere")).args(["compare", "../harvester.yaml", "--base", "main"]);
    let hook: Ran = Repository::alone(hook.env("GIT_DIR", ".git")).output().expect("starts").into();
    assert_eq!((hook.code, hook.out), (aside.code, aside.out));
    // Two revisions; the file as it is does not matter.
    repository.commit();
    repository.0.put("harvester.yaml", "broken: [");
    let both = repository.compare(&folder, &["harvester.yaml", "--base", "HEAD~1", "--at", "HEAD"]);
    assert!(both.out.contains("after       HEAD:harvester.yaml\n"), "{}{}", both.out, both.err);
    assert_eq!(lines(&both), lines(&at_home));
}

#[test]
fn a_revision_that_is_not_there_is_told() {
    let repository = Repository::new();
    let folder = repository.0.path().to_owned();
    repository.0.put("units/old.yaml", text_of(HARVESTER));
    repository.commit();
    repository.0.put("units/new.yaml", text_of(HARVESTER));
    repository.0.put("drafts/new.yaml", text_of(HARVESTER));
    for (file, revision, told) in [
        ("units/old.yaml", "nowhere", "the repository knows no revision `nowhere`"),
        // No revision can become an option of git.
        ("units/old.yaml", "--output=forged", "the repository knows no revision `--output=forged`"),
        ("units/old.yaml", "-h", "the repository knows no revision `-h`"),
        ("units/old.yaml", "", "the repository knows no revision ``"),
        ("units/old.yaml", "HEAD:units", "the repository knows no revision `HEAD:units`"),
        ("units/old.yaml", "a\u{1b}[31m\nb", "the repository knows no revision `a\\u{001B}[31m\\u{000A}b`"),
        ("units/new.yaml", "HEAD", "it did not exist at that revision"),
        ("drafts/new.yaml", "HEAD", "its folder did not exist at that revision"),
        ("gone/new.yaml", "HEAD", "its folder is not there"),
    ] {
        let base = format!("--base={revision}");
        let ran = repository.compare(&folder, &[file, &base]);
        assert_eq!(ran.code, Some(2), "{file} {revision}");
        assert!(!ran.out.contains("headrooms"), "{}", ran.out);
        assert!(ran.err.contains(told), "{}", ran.err);
        assert!(!ran.err.contains('\u{1b}') && !folder.join("forged").exists());
    }
    // The parts of that revision are not there: a problem of that side.
    let ran = repository.compare(&folder, &["units/old.yaml", "--base", "HEAD"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.out.contains("cannot read \"parts/semiconductors.yaml\"")
            || ran.out.contains("it did not exist at that revision"),
        "{}",
        ran.out
    );
    let outside = workshop();
    outside.put("unit.yaml", text_of(HARVESTER));
    let ran = repository.compare(outside.path(), &["unit.yaml", "--base", "HEAD"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("lies in no git repository"), "{}", ran.err);
    let mut lonely = program();
    lonely.current_dir(&folder).args(["compare", "units/old.yaml", "--base", "HEAD"]).env("PATH", "");
    let lonely: Ran = lonely.output().expect("starts").into();
    assert_eq!(lonely.code, Some(2));
    assert!(
        lonely.err.contains("the git program, which reads revisions, is not installed"),
        "{}",
        lonely.err
    );
}

#[cfg(unix)]
#[test]
fn links_at_a_revision_stay_below_the_folder_as_on_disk() {
    let repository = Repository::new();
    let folder = repository.0.path().to_owned();
    repository.0.put("secret.yaml", "edition: 2026\nloads: { stolen: {} }\n");
    repository.0.put("units/here.yaml", "edition: 2026\nloads: { lamp: {} }\n");
    for name in ["inside", "outside"] {
        repository
            .0
            .put(&format!("units/{name}.yaml"), format!("edition: 2026\nparts: [{name}_link.yaml]\n"));
    }
    let link = |to: &str, name: &str| std::os::unix::fs::symlink(to, folder.join(name)).expect("a link");
    link("here.yaml", "units/inside_link.yaml");
    link("../secret.yaml", "units/outside_link.yaml");
    repository.commit();
    let ran = repository.compare(&folder, &["units/inside.yaml", "--base", "HEAD"]);
    assert!(!ran.out.contains("problem"), "{}{}", ran.out, ran.err);
    assert!(ran.out.starts_with("no change "), "{}", ran.out);
    let ran = repository.compare(&folder, &["units/outside.yaml", "--base", "HEAD", "--at", "HEAD"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.out.contains("leads out of the folder"), "{}", ran.out);
}
