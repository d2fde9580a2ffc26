//! Blocks as they are before they are solved.

use super::sections::FollowingSections;
use super::{Edit, WIDTH};
use crate::solver::Block;
use crate::variant::{Lane, Variant};

/// Blocks with the inputs of every lane of a variant.
pub(super) fn filled(variant: &Variant, edits: &[Edit]) -> Vec<Block<WIDTH>> {
    let (inputs, figures) = (variant.tables.inputs().len(), variant.tables.figures().len());
    let sections = FollowingSections::of(variant, edits);
    let block = |lanes: &[Lane]| {
        let mut block = Block::new(inputs, figures);
        // The last block is filled up with its first lane.
        let lanes: [Lane; WIDTH] = core::array::from_fn(|l| *lanes.get(l).unwrap_or(&lanes[0]));
        for (input, values) in variant.tables.inputs().iter().zip(block.inputs.iter_mut()) {
            *values = match input.values.as_slice() {
                [always] => [always.value; WIDTH],
                each => lanes.map(|lane| each[lane.duty.index()].value),
            };
        }
        for (l, lane) in lanes.into_iter().enumerate() {
            block.crest[l] = lane.crest;
            for edit in edits {
                block.inputs[edit.input.index()][l] = edit.value;
            }
            sections.follow(&mut block.inputs, l);
        }
        block
    };
    variant.lanes.chunks(WIDTH).map(block).collect()
}
