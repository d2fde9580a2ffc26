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
    /// Into the coolant.
    pub coolant: f64,
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
        }
    }

    /// Adds the rows of a chunk. What is not known of a row makes its sum unknown; rows without a solution carry nothing.
    pub(super) fn add(&mut self, variant: &Variant, chunk: &Chunk<'_>, rows: &Rows) {
        let plan = &variant.plan;
        for (row, &lasts) in rows.lasts.iter().enumerate().filter(|&(row, _)| chunk.is_solved(row)) {
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
    }
}
