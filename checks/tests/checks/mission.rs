//! Missions are judged row by row where they must be, and compared directly where that says the same.

use std::collections::BTreeMap;

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{CHUNK, Judge};
use loadworthy_checks::verdict::Outcome;
use loadworthy_checks::{Check, Verdicts};
use loadworthy_unit::mission::{Chunk, Heat, Rows, Stretch};
use loadworthy_unit::{DutyId, Variant};

use crate::descriptions::{failing, holding, unit};

const ROWS: usize = 1500;

/// Rows of a bridge that drives, brakes and stands, out of a generator of its own.
fn rows(variant: &Variant) -> Vec<Rows> {
    let mut seed = 12_345_u64;
    let mut random = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as f64 / (1_u64 << 31) as f64
    };
    let duties = variant.duties.len();
    let all: Vec<(DutyId, f64, f64)> = (0..ROWS)
        .map(|_| {
            (
                DutyId::new((random() * duties as f64) as usize),
                0.5 + (random() * 2.0).floor(),
                30.0 + 35.0 * random(),
            )
        })
        .collect();
    all.chunks(CHUNK)
        .map(|chunk| Rows {
            duties: chunk.iter().map(|row| row.0).collect(),
            lasts: chunk.iter().map(|row| row.1).collect(),
            values: chunk.iter().map(|row| row.2).collect(),
        })
        .collect()
}

#[test]
fn the_worst_is_what_all_checks_find_on_every_row() {
    for name in ["junction-temperature", "source-limits", "current-headroom", "fuse-coordination"] {
        let unit = unit(holding(name));
        let variant = &unit.variants[0];
        let columns = [variant.duty_input("coolant.inlet").expect("the inlet")];
        let all = rows(variant);
        let mut judge = Judge::new(CHECKS, variant, &columns, None, 2);
        for some in all.chunks(2) {
            judge.take(some);
        }
        let each: Vec<&dyn Check> =
            CHECKS.iter().copied().filter(|check| check.judges_each_duty_point()).collect();
        let (mut heat, mut stretch) = (Heat::new(variant, None), Stretch::new(variant, None));
        let mut chunk = Chunk::new(variant, &columns);
        let mut least: BTreeMap<(&str, usize, &str), f64> = BTreeMap::new();
        let mut failing: BTreeMap<(&str, usize, &str), f64> = BTreeMap::new();
        for rows in &all {
            chunk.solve(rows);
            heat.follow(&mut chunk, rows);
            stretch.follow(&mut chunk, rows);
            chunk.show(|solved| {
                for check in &each {
                    let mut out = Verdicts::new(check.about().name);
                    check.judge(solved, &mut out);
                    for verdict in out.into_list() {
                        let Some(lane) = verdict.lane() else { continue };
                        let key = (verdict.check, verdict.part.index(), verdict.defect);
                        if matches!(verdict.outcome, Outcome::Fails { .. }) {
                            *failing.entry(key).or_default() += rows.lasts[lane.index()];
                        }
                        if let Some(comparison) = verdict.comparison() {
                            let known = least.entry(key).or_insert(f64::INFINITY);
                            *known = known.min(comparison.headroom);
                        }
                    }
                }
            });
        }
        assert!(judge.tally.judged < judge.tally.rows, "{name}: nothing is compared directly");
        for (key, worst) in &judge.tally.worst {
            let key = (key.check, key.part.index(), key.defect);
            if let Some(comparison) = worst.verdict.comparison() {
                let expected = least.remove(&key).expect("a comparison that the checks make");
                assert!(
                    (comparison.headroom - expected).abs() <= 1e-9 * expected.abs().max(1.0),
                    "{name}: {key:?}"
                );
            }
            let expected = failing.remove(&key).unwrap_or(0.0);
            assert!(
                (worst.fails_for - expected).abs() < 1e-9,
                "{name}: {key:?} fails for {}",
                worst.fails_for
            );
        }
        assert!(least.is_empty() && failing.is_empty(), "{name}: {least:?} {failing:?}");
    }
}

#[test]
fn what_a_fault_drives_counts_in_every_row() {
    let unit = unit(failing("fuse-coordination"));
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("coolant.inlet").expect("the inlet")];
    let all = rows(variant);
    let mut judge = Judge::new(CHECKS, variant, &columns, None, 2);
    judge.take(&all[..2]);
    let lasts: f64 = all[..2].iter().flat_map(|rows| &rows.lasts).sum();
    let worst =
        judge.tally.worst.iter().find(|(key, _)| key.defect == "breaking-capacity").expect("judged").1;
    assert!((worst.fails_for - lasts).abs() < 1e-9, "{} of {lasts} s", worst.fails_for);
}

/// A tug that pulls for 29 s of each 30 s, or of each 60 s: 284 A, where its pack gives 130 A for good.
fn pulls(rest: f64, memory: &str) -> Judged {
    let text = format!(
        "{}\nmissions:\n  run: {{ steps: [{{ duty: ramp, lasts: 1 s }}] }}\n",
        holding("source-limits")
    );
    let text =
        crate::descriptions::changed(&text, "current: 220 A, lasts: 10 s", "current: 500 A, lasts: 30 s");
    let text = crate::descriptions::changed(
        &text,
        "    charge: { continuous: 60 A }\n",
        &format!("    charge: {{ continuous: 60 A }}\n{memory}"),
    );
    let unit = unit(&text);
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("loads.tug_motor.electrical_power").expect("a power")];
    let mut judge = Judge::new(CHECKS, variant, &columns, None, 1);
    for _ in 0..60 {
        judge.take(&[Rows {
            duties: vec![DutyId::new(0); 2],
            lasts: vec![29.0, rest],
            values: vec![60e3, 10e3],
        }]);
    }
    let worst = judge.tally.worst.iter().find(|(key, _)| key.defect == "cycle-current").expect("judged").1;
    let compared = worst.verdict.comparison().copied().expect("a comparison");
    let is_assumed = worst.verdict.remarks.iter().any(|remark| remark.to_string().contains("assumed"));
    (worst.verdict.fails(), compared.carried_value, is_assumed)
}

/// Whether it fails, the largest RMS current in A, and whether what the source remembers is assumed.
type Judged = (bool, f64, bool);

#[test]
fn pauses_do_not_make_a_source_forget_its_peaks() {
    let (often, rarely) = (pulls(1.0, ""), pulls(600.0, ""));
    assert!(often.0 && often.1 > 180.0, "{often:?}");
    // A peak of 29 s is a tenth of what it remembers.
    assert!(!rarely.0 && rarely.1 < 110.0, "{rarely:?}");
    assert!(often.2 && rarely.2);
    // One of a minute, as stated: √(1 − e^(−29/60)) = 62 % of the 207 A that it pulls.
    let small = pulls(600.0, "    memory: 60 s\n");
    assert!((small.1 / 207.0 - 0.62).abs() < 0.01 && !small.2, "{small:?}");
    // Stated as what is assumed it is the same.
    assert_eq!(pulls(600.0, "    memory: 5 min\n").1.to_bits(), rarely.1.to_bits());
}
