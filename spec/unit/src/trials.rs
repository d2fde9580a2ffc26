//! One duty point once for each trial: a variant in which the trials stand side by side as duty points of their own, so
//! that their lanes are solved and judged together.

use crate::ids::DutyId;
use crate::solved::Edit;
use crate::table::{Input, Stated};
use crate::variant::{Duty, Lane, Variant};

/// A variant whose duty points are trials of one.
#[derive(Clone, Debug)]
pub struct Trials {
    /// The variant; parts, inputs, curves and figures have the same ids as in the one that it was made from.
    pub variant: Variant,
    /// The duty point of the first trial; before it stand those that the trials start from.
    first: usize,
}

impl Trials {
    /// One duty point with the edits of each trial. Only it is edited: what it starts from stays as described.
    #[must_use]
    pub fn of(described: &Variant, duty: DutyId, trials: &[Vec<Edit>]) -> Self {
        let kept = starts(described, duty);
        let copies: Vec<DutyId> = kept.iter().copied().chain(trials.iter().map(|_| duty)).collect();
        let place = |from: DutyId| kept.iter().position(|&known| known == from).map(DutyId::new);
        let mut variant = Variant { is_apart: true, ..described.clone() };
        variant.duties = copies
            .iter()
            .map(|&of| {
                let duty = &described.duties[of.index()];
                Duty { starts_from: duty.starts_from.and_then(place), ..duty.clone() }
            })
            .collect();
        let lanes_of = |of: DutyId| described.lanes.iter().filter(move |lane| lane.duty == of);
        let copied = copies.iter().enumerate();
        variant.lanes = copied
            .flat_map(|(own, &of)| lanes_of(of).map(move |lane| Lane { duty: DutyId::new(own), ..*lane }))
            .collect();
        for input in variant.tables.inputs_mut() {
            if input.values.len() > 1 {
                input.values = copies.iter().map(|of| at(&input.values, of.index())).collect();
            }
        }
        let first = kept.len();
        for (trial, edits) in trials.iter().enumerate() {
            variant.edit(DutyId::new(first + trial), copies.len(), edits);
        }
        Self { variant, first }
    }

    /// The duty point of a trial.
    #[must_use]
    pub fn duty(&self, trial: usize) -> DutyId {
        DutyId::new(self.first + trial)
    }

    /// The trial that a duty point is; none for what trials start from.
    #[must_use]
    pub fn trial(&self, duty: DutyId) -> Option<usize> {
        duty.index().checked_sub(self.first)
    }
}

impl Variant {
    /// Puts values in place of what one duty point is given.
    pub(crate) fn edit(&mut self, duty: DutyId, duties: usize, edits: &[Edit]) {
        let sections = self.plan.conductors.iter().filter_map(|conductor| {
            let section = conductor.section()?;
            let is_set = section.is_set_by(|input| edits.iter().any(|edit| edit.input == input));
            is_set.then_some((conductor.resistance, section))
        });
        // How long it lasts is not only an input: temperatures are followed for that time.
        let times = self.plan.duration.map(|times| times.lasts);
        for edit in edits.iter().filter(|edit| times == Some(edit.input)) {
            self.duties[duty.index()].lasts = Some(edit.value);
        }
        let tables = &mut self.tables;
        for edit in edits {
            tables.inputs_mut()[edit.input.index()].put(duty, duties, edit.value);
        }
        for (resistance, section) in sections {
            let ohms = section.resistance(|input| tables.stated(input, duty).value);
            tables.inputs_mut()[resistance.index()].put(duty, duties, ohms);
        }
    }
}

impl Input {
    /// Puts a value in one of so many duty points.
    fn put(&mut self, duty: DutyId, duties: usize, value: f64) {
        if self.values.len() == 1 && duties > 1 {
            self.values = vec![self.values[0]; duties];
        }
        self.values[duty.index()].value = value;
    }
}

fn at(values: &[Stated], duty: usize) -> Stated {
    values[if values.len() == 1 { 0 } else { duty }]
}

/// The duty points that one starts from, one after another, each once.
fn starts(variant: &Variant, duty: DutyId) -> Vec<DutyId> {
    let mut kept = Vec::new();
    let mut from = variant.duties[duty.index()].starts_from;
    while let Some(next) = from.filter(|next| !kept.contains(next)) {
        kept.push(next);
        from = variant.duties[next.index()].starts_from;
    }
    kept
}
