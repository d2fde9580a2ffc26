//! What a trial keeps of the solution that it is tried from, and what it answers otherwise.

use std::sync::Arc;

use super::{Edit, Solved, WIDTH, state};
use crate::asked::{Asked, Ear, Places};
use crate::ids::LaneId;
use crate::solver::{LaneState, Late, Scratch, late};
use crate::table::Follows;

impl<'u> Solved<'u> {
    /// Solves the variant once for each trial, one after another, so that no more than one of a large unit takes up room.
    /// What follows from no edit is not solved again.
    pub fn trials<'s>(&'s self, trials: &'s [Vec<Edit>]) -> impl Iterator<Item = Self> + use<'s, 'u> {
        self.note_rest();
        let mut scratch = Scratch::new(&self.variant.plan);
        trials.iter().map(move |edits| self.tried(edits, &mut scratch))
    }

    /// Solves the variant once more, with edits.
    #[must_use]
    pub fn trial(&self, edits: &[Edit]) -> Self {
        self.note_rest();
        self.tried(edits, &mut Scratch::new(&self.variant.plan))
    }

    fn tried(&self, edits: &[Edit], scratch: &mut Scratch<WIDTH>) -> Self {
        match self.follows_late(edits) {
            Some(groups) => self.beside(edits, &groups, scratch),
            None => Self::once(self.variant, edits, scratch),
        }
    }

    /// The groups of late figures that follow from edits, in their order; none where anything may follow.
    fn follows_late(&self, edits: &[Edit]) -> Option<Vec<Late>> {
        if !self.edits.is_empty() {
            return None;
        }
        let mut groups = Vec::new();
        for edit in edits {
            match self.variant.tables.input_of(edit.input).follows {
                Follows::Everything => return None,
                Follows::Late(group) => {
                    groups.push(group);
                    groups.extend(group.readers());
                }
                Follows::Nothing => {}
            }
        }
        groups.sort_unstable();
        groups.dedup();
        Some(groups)
    }

    /// The same figures beside edits from which some late groups follow and nothing else.
    fn beside(&self, edits: &[Edit], groups: &[Late], scratch: &Scratch<WIDTH>) -> Self {
        let mut same = Self { edits: edits.to_vec(), ear: None, ..self.clone() };
        for block in &mut same.blocks {
            for edit in edits {
                block.inputs[edit.input.index()] = [edit.value; WIDTH];
            }
            for &group in groups {
                late::again(&self.variant.plan, group, block, scratch);
            }
        }
        if groups.iter().any(|group| group.is_followed()) {
            // What these groups reckon warms no junction.
            same.followed =
                super::over_time(self.variant, &self.variant.plan, &mut same.blocks, &mut same.courses);
        }
        if groups.contains(&Late::Fuses) {
            crate::over_time::fuses::warm(self.variant, &self.variant.plan, &mut same.blocks);
        }
        same
    }

    /// The same, and from now on it notes what is asked of it.
    #[must_use]
    pub fn listening(mut self) -> Self {
        let tables = &self.variant.tables;
        self.ear = Some(Arc::new(Ear::new(tables.figures().len(), tables.inputs().len())));
        self
    }

    /// The same solution for somebody who asks beside others: what it notes, it notes for that one alone.
    #[must_use]
    pub fn beside_others(&self) -> Self {
        let own = self.clone();
        if self.ear.is_some() { own.listening() } else { own }
    }

    /// From now on it notes nothing. Noting is a write, which several that ask at once would wait for one another with.
    pub fn stop_listening(&mut self) {
        self.ear = None;
    }

    /// What was asked since this was asked last; none where nothing is noted.
    #[must_use]
    pub fn take_asked(&self) -> Option<Asked> {
        self.ear.as_ref().map(|ear| ear.take())
    }

    /// Whether a lane has a solution. That is noted nowhere: where lanes of a trial end otherwise, all is asked anew.
    #[must_use]
    pub fn has_solution(&self, lane: LaneId) -> bool {
        matches!(state(&self.blocks, lane), LaneState::Solved { .. })
    }

    /// What this trial answers otherwise than the description; none where lanes ended otherwise, so that anything may be.
    #[must_use]
    pub fn moved_from(&self, described: &Self) -> Option<Asked> {
        let is_solved = |state: LaneState| matches!(state, LaneState::Solved { .. });
        let states = || {
            self.variant.lane_ids().map(|lane| (state(&self.blocks, lane), state(&described.blocks, lane)))
        };
        if self.followed != described.followed || states().any(|(own, its)| is_solved(own) != is_solved(its))
        {
            return None;
        }
        let both = || self.blocks.iter().zip(&described.blocks);
        // What both have in common need not be looked at.
        let own_figures = both().filter(|(own, its)| !own.figures.are_those_of(&its.figures));
        let own_inputs = both().filter(|(own, its)| !own.inputs.are_those_of(&its.inputs));
        Some(Asked::new(
            own_figures.map(|(own, its)| Places::at_which_differ(&own.figures, &its.figures)).collect(),
            own_inputs.map(|(own, its)| Places::at_which_differ(&own.inputs, &its.inputs)).collect(),
            states().any(|(own, its)| own != its),
            true,
        ))
    }
}
