//! Trials side by side are each judged as they are alone, whatever stands beside them.

use loadworthy_checks::capability::{self, Question};
use loadworthy_checks::list::CHECKS;
use loadworthy_checks::verdict::{Grade, Missing, Outcome};
use loadworthy_checks::{Check, Verdicts};
use loadworthy_unit::{DutyId, Edit, Solved, Trials, Variant};

use crate::descriptions::{failing, holding, trencher, unit};

/// What every check that compares says of a trial of a block.
fn said(trials: &Trials, solved: &Solved<'_>, trial: usize) -> Vec<String> {
    let duty = trials.duty(trial);
    let all = CHECKS.iter().filter(|check| check.compares()).flat_map(|&check| judged(check, solved));
    all.filter_map(|(of, text)| (of == Some(duty)).then_some(text)).collect()
}

fn judged(check: &dyn Check, solved: &Solved<'_>) -> Vec<(Option<DutyId>, String)> {
    let mut out = Verdicts::new(check.about().name);
    check.judge(solved, &mut out);
    let text = |outcome: &Outcome| match outcome {
        // Where a lane stands in its block is no part of what is said.
        Outcome::NotJudged(missing) => {
            let one = |one: &Missing| match one {
                Missing::FigureIn(figure, _) => format!("{:?}", Missing::Figure(*figure)),
                one => format!("{one:?}"),
            };
            format!("not judged: {:?}", missing.iter().map(one).collect::<Vec<_>>())
        }
        outcome => format!("{outcome:?}"),
    };
    let verdicts = out.into_list();
    let one = |verdict: &loadworthy_checks::verdict::Verdict| {
        let of = solved.variant.path(verdict.part);
        let text = format!("{} {} of {of}: {}", verdict.check, verdict.defect, text(&verdict.outcome));
        (verdict.duty(), text)
    };
    verdicts.iter().map(one).collect()
}

/// Demands from none to more than there is a solution for, and each condition a good way off.
fn edits(variant: &Variant, duty: DutyId) -> Vec<Vec<Edit>> {
    let stated = |input| variant.tables.stated(input, duty).value;
    let asked: Vec<_> = capability::conditions(variant, duty)
        .map(|(_, input)| input)
        .filter(|&input| variant.tables.input_of(input).is_demand)
        .collect();
    let demands = [0.0, 0.5, 1.0, 2.5, 1e3].map(|factor| {
        asked.iter().map(|&input| Edit { input, value: factor * stated(input) }).collect::<Vec<_>>()
    });
    let others = capability::conditions(variant, duty).filter(|(_, input)| !asked.contains(input));
    let off = others
        .flat_map(|(_, input)| [0.8, 1.3].map(|factor| vec![Edit { input, value: factor * stated(input) }]));
    demands.into_iter().chain(off).collect()
}

/// Judges trials of every duty point in one block and each in its own.
fn hold_alike(text: &str) {
    let unit = unit(text);
    for variant in &unit.variants {
        for duty in (0..variant.duties.len()).map(DutyId::new) {
            let edits = edits(variant, duty);
            let block = Trials::of(variant, duty, &edits);
            let solved = Solved::without_shares(&block.variant);
            for (trial, own) in edits.iter().enumerate() {
                let alone = Trials::of(variant, duty, core::slice::from_ref(own));
                let solved_alone = Solved::without_shares(&alone.variant);
                let name = &variant.duties[duty.index()].name;
                assert_eq!(
                    said(&block, &solved, trial),
                    said(&alone, &solved_alone, 0),
                    "trial {trial} of {name}: {own:?}"
                );
            }
        }
    }
}

#[test]
fn a_trial_beside_others_is_judged_as_it_is_alone() {
    hold_alike(trencher());
    for check in CHECKS.iter().filter(|check| check.compares()) {
        for text in [failing(check.about().name), holding(check.about().name)] {
            hold_alike(text);
        }
    }
}

/// The largest loads of the failing example of a check at so many even steps of a condition, with what limits each.
fn curve(name: &str, stage: &str, over: &str, (from, to): (f64, f64), points: u32) -> Vec<(f64, String)> {
    let unit = unit(failing(name));
    let variant = &unit.variants[0];
    let duty = DutyId::new(0);
    let demand = capability::demand(variant, duty, stage).expect("a demand");
    let scaled: Vec<_> = demand.asked.iter().map(|&(input, _)| input).collect();
    let condition = capability::condition(variant, duty, over, &scaled).expect("a condition");
    let at = (0..points).map(|k| from + (to - from) * f64::from(k) / f64::from(points - 1)).collect();
    let question =
        Question { unit: &unit, variant: 0, duty, demand, condition, at, grade: Grade::Minor, day: None };
    let points = capability::curve(&question).points;
    let one = |point: &capability::Point| {
        let limit = point.limit.as_ref().map(|limit| (limit.check, limit.defect, variant.path(limit.part)));
        (point.at, format!("{:?} {limit:?}", point.factor))
    };
    points.iter().map(one).collect()
}

#[test]
fn a_point_of_a_curve_hangs_on_no_other_point() {
    let two = curve("coolant-purging", "arm_bridge", "coolant.inlet", (20.0, 80.0), 2);
    let four = curve("coolant-purging", "arm_bridge", "coolant.inlet", (20.0, 80.0), 4);
    assert_eq!([&two[0], &two[1]], [&four[0], &four[3]]);
}
