//! The replay of a lane tells how its figures came about, and comes to the same figures.

use std::collections::BTreeSet;

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{FigureId, Solved};

use crate::bench::{ALL, unit};

#[test]
fn a_replay_gives_the_stored_figures_to_the_bit() {
    for text in ALL {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        for lane in variant.lane_ids() {
            let derivation = solved.derivation(lane);
            assert_eq!(derivation.state, solved.state(lane));
            for (k, figure) in derivation.figures.iter().enumerate() {
                let id = FigureId::new(k);
                let stored = solved.raw(id, lane);
                let path = variant.tables.figure_path(id);
                // What a duty point does not ask of a shaft is missing there.
                let figure_of = variant.tables.figure_of(id);
                // These descriptions say nothing of cold surroundings and of passages.
                let waits = ["cold_flow", "cold_outlet", "wall_temperature"].contains(&figure_of.name);
                let may_miss = figure_of.is_asked_for || waits;
                assert!(figure.is_finite() || may_miss, "{path} is missing");
                assert_eq!(figure.to_bits(), stored.to_bits(), "{path}: {figure} against {stored}");
            }
        }
    }
}

#[test]
fn every_figure_has_one_step_and_what_it_starts_from_stands_before_it() {
    // The exceptions: a voltage that is sought until it fits the power that is drawn at it, and the power that a stage
    // passes, which waits for the losses that it makes.
    let is_sought = |out: &str, from: &str| {
        let bus = out.strip_suffix(".voltage");
        let passed =
            ["low_power", "low_current", "high_power", "input_power", "output_power", "output_current"];
        bus.is_some() && bus == from.strip_suffix(".power") || passed.iter().any(|name| from.ends_with(name))
    };
    for text in ALL {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        let path = |id| variant.tables.figure_path(id);
        for lane in variant.lane_ids() {
            let steps = solved.derivation(lane).steps;
            let mut seen = vec![false; variant.tables.figures().len()];
            let mut loose = BTreeSet::new();
            for step in &steps.steps {
                for operand in &step.from {
                    let Operand::Figure(id) = *operand else { continue };
                    let beside = |group: &[FigureId]| group.contains(&id) && group.contains(&step.out);
                    let together = steps.together.iter().any(|(group, _)| beside(group));
                    if !seen[id.index()] && !together && !is_sought(&path(step.out), &path(id)) {
                        loose.insert(format!("{} before {}", path(step.out), path(id)));
                    }
                }
                let twice = core::mem::replace(&mut seen[step.out.index()], true);
                assert!(!twice, "{} is put twice", path(step.out));
            }
            assert_eq!(loose, BTreeSet::new());
            let silent: Vec<_> =
                (0..seen.len()).filter(|&k| !seen[k]).map(|k| path(FigureId::new(k))).collect();
            assert_eq!(silent, Vec::<String>::new(), "figures without a step");
            for (group, residual) in &steps.together {
                assert!(*residual <= 1e-9, "{residual} K left over in {}", path(group[0]));
            }
        }
    }
}
