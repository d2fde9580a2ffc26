//! Descriptions as the tests read them.

use loadworthy_checks::list::{by_name, policy_vocabulary};
use loadworthy_checks::review::Finding;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_checks::{Review, review};
use loadworthy_language::{Files, Input, read};
use loadworthy_unit::{FigureId, Solved, Unit};
use proptest::test_runner::{Config as ProptestConfig, RngSeed};

/// Parts files of the examples.
pub(crate) struct Parts;

impl Files for Parts {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        let path = format!("{}/../examples/{relative}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read(&path).map_err(|problem| format!("{path}: {problem}"))
    }
}

/// The failing example of a check.
pub(crate) fn failing(check: &str) -> &'static str {
    by_name(check).expect(check).about().fails
}

/// The holding example of a check.
pub(crate) fn holding(check: &str) -> &'static str {
    by_name(check).expect(check).about().holds
}

/// A unit with a stage of each kind, in which everything holds.
pub(crate) fn trencher() -> &'static str {
    include_str!("trencher.yaml")
}

/// The text with one passage replaced, which must be there.
pub(crate) fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from} is not in\n{text}");
    text.replace(from, to)
}

/// The tug with a contactor of so many ampere behind its fuse.
pub(crate) fn with_contactor(text: &str, amps: u32, more: &str) -> String {
    let text = changed(text, "through: [pack_fuse,", "through: [pack_fuse, pack_contactor,");
    let contactor = format!(
        "\nconductors:\n  pack_contactor:
    {{ kind: contactor, current: {{ continuous: {amps} A, at: 85 degC }}, {more}withstands: 600e3 A^2 s, resistance: 0.2 mohm }}\n"
    );
    changed(&text, "\nconductors:\n", &contactor)
}

/// The tug that ramps for a while after a slow roll, which is lane 0.
pub(crate) fn after_a_roll(text: &str, lasts: &str) -> String {
    let roll = "  roll:
    lasts: continuous
    coolant: { inlet: 60 degC }
    sources: { pack: { open_circuit: 320 V } }
    loads:
      tug_motor: { electrical_power: 6 kW, line_voltage: 60 V rms, power_factor: 0.9, frequency: 30 Hz }
";
    changed(
        text,
        "  ramp:\n    lasts: continuous\n",
        &format!("{roll}  ramp:\n    {lasts}\n    starts_from: roll\n"),
    )
}

/// The unit that a description states; the test ends where it has a problem.
pub(crate) fn unit(text: &str) -> Unit {
    unit_with(text, &[])
}

/// The unit with changes, as paths and values.
pub(crate) fn unit_with(text: &str, changes: &[(String, String)]) -> Unit {
    let (unit, problems) = built(text, changes);
    assert!(problems.is_empty(), "{problems:#?}");
    unit
}

/// What is left of a description of which something cannot be read.
pub(crate) fn unit_despite_problems(text: &str) -> Unit {
    let (unit, problems) = built(text, &[]);
    assert!(!problems.is_empty(), "all of it can be read");
    unit
}

pub(crate) fn built(text: &str, changes: &[(String, String)]) -> (Unit, Vec<String>) {
    let vocabulary = policy_vocabulary();
    let input = Input {
        name: "unit.yaml",
        bytes: text.as_bytes(),
        written: &[],
        overrides: changes,
        vocabulary: &vocabulary,
    };
    let reading = read(input, &mut Parts);
    let (unit, problems) = Unit::build(&reading, &vocabulary);
    (unit, reading.problems.iter().chain(&problems).map(|problem| problem.message.clone()).collect())
}

/// Its problems.
pub(crate) fn problems(text: &str) -> Vec<String> {
    built(text, &[]).1
}

/// The review of a description.
pub(crate) fn reviewed(text: &str) -> Review {
    review(&unit(text))
}

/// The finding of that defect; the test ends where there is none.
pub(crate) fn finding<'r>(review: &'r Review, defect: &str) -> &'r Finding {
    let found = review.findings.iter().find(|finding| finding.defect == defect);
    found.unwrap_or_else(|| panic!("no {defect} among {:#?}", review.findings))
}

/// Whether a finding says what is not judged because of it.
pub(crate) fn keeps_open(finding: &Finding) -> bool {
    finding.facts.iter().any(|fact| fact.starts_with("not judged for want of it: "))
}

/// Check and defect of every failing verdict, each once.
pub(crate) fn defects(review: &Review) -> Vec<(&'static str, &'static str)> {
    let failing = review.verdicts.iter().flatten().filter(|verdict| verdict.fails());
    let mut defects: Vec<_> = failing.map(|verdict| (verdict.check, verdict.defect)).collect();
    defects.sort_unstable();
    defects.dedup();
    defects
}

/// Whether a verdict holds.
pub(crate) fn holds(verdict: &Verdict) -> bool {
    matches!(verdict.outcome, Outcome::Holds(_))
}

/// Random cases that are the same in every run.
pub(crate) fn repeatable(cases: u32) -> ProptestConfig {
    let rng_seed = RngSeed::Fixed(1);
    ProptestConfig { cases, failure_persistence: None, rng_seed, ..ProptestConfig::default() }
}

/// A figure by its path, in the first lane of the first variant.
pub(crate) fn figure(text: &str, path: &str) -> f64 {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = variant.lane_ids().next().expect("a lane");
    let mut all = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = all.find(|&id| variant.tables.figure_path(id) == path).expect(path);
    solved.figure(id, lane).expect(path)
}
