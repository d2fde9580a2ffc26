//! Resistances that follow from the section of a conductor.

use std::collections::BTreeSet;

use crate::ids::InputId;
use crate::plan::Section;
use crate::solved::Edit;
use crate::variant::Variant;

/// Resistances that follow from a section do so where an edit changes it.
pub(super) struct FollowingSections<'v>(Vec<(&'v Section, InputId)>);

impl<'v> FollowingSections<'v> {
    /// Those of which an edit sets anything.
    pub(super) fn of(variant: &'v Variant, edits: &[Edit]) -> Self {
        let edited: BTreeSet<InputId> = edits.iter().map(|edit| edit.input).collect();
        let all = variant.plan.conductors.iter().filter_map(|one| Some((one.section()?, one.resistance)));
        Self(all.filter(|(section, _)| section.is_set_by(|input| edited.contains(&input))).collect())
    }

    /// Sets them in one of several lanes side by side.
    pub(super) fn follow<const L: usize>(&self, inputs: &mut [[f64; L]], l: usize) {
        for &(section, resistance) in &self.0 {
            inputs[resistance.index()][l] = section.resistance(|input| inputs[input.index()][l]);
        }
    }
}
