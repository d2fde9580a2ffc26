//! Every proposal that comes as a patch is laid over its description by other means than the program's own, and reviewed: what
//! it is for is gone, and nothing comes that its side effects do not name.

use std::collections::BTreeSet;

use loadworthy_checks::list::CHECKS;
use serde_json::Value;

use super::program::{Folder, run_in, text_of};
use super::size::{patch, read};

/// Findings at minor or graver by check, part and defect, and what is missing.
struct Said {
    findings: Vec<Value>,
    graver: BTreeSet<String>,
    missing: BTreeSet<String>,
}

fn review(folder: &Folder, text: &str) -> Said {
    folder.put("unit.yaml", text);
    let ran = run_in(folder, &["review", "--format", "json", "unit.yaml"]);
    let run: Value = serde_json::from_str(&ran.out).unwrap_or_else(|why| panic!("{why}: {}", ran.err));
    let review = &run["reviews"][0];
    assert_eq!(review["problems"].as_array().map(Vec::len), Some(0), "{}", review["problems"]);
    let list = |key: &str| review[key].as_array().cloned().unwrap_or_default();
    let findings = list("findings");
    let is_graver = |one: &&Value| one["grade"] != "note";
    let missing = list("not_judged").iter().map(|one| one["missing"].to_string()).collect();
    Said { graver: findings.iter().filter(is_graver).map(name).collect(), missing, findings }
}

fn name(finding: &Value) -> String {
    ["check", "part", "defect"].map(|key| finding[key].as_str().unwrap_or_default()).join(" ")
}

#[test]
fn a_proposal_mends_what_it_is_for_and_harms_nothing() {
    let folder = Folder::new();
    for parts in ["parts/semiconductors.yaml", "parts/capacitors.yaml"] {
        folder.put(parts, text_of(&format!("examples/{parts}")));
    }
    let examples = ["peat-harvester", "vineyard-carrier"];
    let examples = examples.map(|unit| text_of(&format!("examples/{unit}.yaml")));
    let own = CHECKS.iter().map(|check| check.about().fails.to_owned());
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for text in own.chain(examples) {
        let before = review(&folder, &text);
        for finding in &before.findings {
            for proposal in finding["proposals"].as_array().into_iter().flatten() {
                let Some(with) = proposal["patch"].as_str() else { continue };
                // What stands in a file of parts is patched there.
                let is_elsewhere =
                    |set: &Value| set["instead_of"]["file"].as_str().is_some_and(|file| file != "unit.yaml");
                if proposal["set"].as_array().into_iter().flatten().any(is_elsewhere) {
                    continue;
                }
                tried += 1;
                let mut document = read(&text);
                patch(&mut document, &read(with));
                let after = review(&folder, &document.to_string());
                let effects = proposal["side_effects"].to_string();
                let stays = after.findings.iter().any(|one| name(one) == name(finding));
                let comes: Vec<&String> = after.graver.difference(&before.graver).collect();
                let open: Vec<&String> = after.missing.difference(&before.missing).collect();
                let stays = stays && !effects.contains("still fails");
                let is_open = !open.is_empty() && !effects.contains("is not judged then");
                if stays || is_open || !comes.is_empty() {
                    let change = &proposal["change"];
                    wrong.push(format!("{}: {change}: {stays} {comes:?} {open:?} {effects}", name(finding)));
                }
            }
        }
    }
    assert!(tried > 30, "{tried}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
