//! Where the energy of a mission went.

use loadworthy_unit::mission::{Chunk, Rows};
use loadworthy_unit::{FigureId, PartId, Variant};

/// Energies in J, in the order of the plan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energies {
    /// Of each source: given, and taken back.
    pub sources: Vec<(PartId, f64, f64)>,
    /// Lost in each source.
    pub source_losses: Vec<(PartId, f64)>,
    /// Lost in each stage.
    pub stage_losses: Vec<(PartId, f64)>,
    /// Lost in everything that the coolant takes heat from; what those parts store on the way is part of it.
    pub coolant: f64,
    /// Rows that the sums are over: those with a solution of which all powers are known.
    pub rows: usize,
    /// How long these last together, in s.
    pub lasts: f64,
}

impl Energies {
    /// Nothing yet.
    #[must_use]
    pub fn none(variant: &Variant) -> Self {
        let plan = &variant.plan;
        Self {
            sources: plan.sources.iter().map(|source| (source.part, 0.0, 0.0)).collect(),
            source_losses: plan.sources.iter().map(|source| (source.part, 0.0)).collect(),
            stage_losses: plan.stages.iter().map(|stage| (stage.part, 0.0)).collect(),
            coolant: 0.0,
            rows: 0,
            lasts: 0.0,
        }
    }

    /// Adds the rows of a chunk. One whose powers are not known is left out, as is one without a solution; what is known of
    /// no row leaves its sum unknown.
    pub(super) fn add(&mut self, variant: &Variant, chunk: &Chunk<'_>, rows: &Rows) {
        let plan = &variant.plan;
        let powers: Vec<FigureId> = if plan.sources.is_empty() {
            plan.stages.iter().map(|stage| stage.figures.loss).collect()
        } else {
            plan.sources.iter().map(|source| source.power).collect()
        };
        let is_known = |row: usize| {
            chunk.is_solved(row) && powers.iter().all(|&power| chunk.raw(power, row).is_finite())
        };
        for (row, &lasts) in rows.lasts.iter().enumerate().filter(|&(row, _)| is_known(row)) {
            self.rows += 1;
            self.lasts += lasts;
            let energy = |id: FigureId| chunk.raw(id, row) * lasts;
            for (source, (_, given, taken)) in plan.sources.iter().zip(&mut self.sources) {
                let energy = energy(source.power);
                if energy < 0.0 { *taken -= energy } else { *given += energy }
            }
            for (source, (_, lost)) in plan.sources.iter().zip(&mut self.source_losses) {
                *lost += energy(source.loss);
            }
            for (stage, (_, lost)) in plan.stages.iter().zip(&mut self.stage_losses) {
                *lost += energy(stage.figures.loss);
            }
            if let Some(path) = &plan.coolant {
                self.coolant += energy(path.heat);
            }
        }
    }

    /// Adds what came later.
    pub(super) fn then(&mut self, later: &Self) {
        for (own, its) in self.sources.iter_mut().zip(&later.sources) {
            own.1 += its.1;
            own.2 += its.2;
        }
        let losses = self.source_losses.iter_mut().chain(&mut self.stage_losses);
        for (own, its) in losses.zip(later.source_losses.iter().chain(&later.stage_losses)) {
            own.1 += its.1;
        }
        self.coolant += later.coolant;
        self.rows += later.rows;
        self.lasts += later.lasts;
    }
}
