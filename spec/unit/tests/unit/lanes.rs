//! Lanes side by side do not touch one another, and solving takes nothing from the heap.

use loadworthy_unit::solver::{Block, Scratch, solve};
use loadworthy_unit::trace::Silent;
use loadworthy_unit::{Edit, FigureId, InputId, LaneId, Solved, Variant};

use crate::bench::{ALL, unit};

/// Hands a lane of the variant to a place in a block.
fn fill<const L: usize>(variant: &Variant, block: &mut Block<L>, place: usize, lane: LaneId) {
    for (k, values) in block.inputs.iter_mut().enumerate() {
        values[place] = variant.tables.stated(InputId::new(k), variant.lane(lane).duty).value;
    }
    block.crest[place] = variant.lane(lane).crest;
}

fn empty<const L: usize>(variant: &Variant) -> Block<L> {
    Block::new(variant.tables.inputs().len(), variant.tables.figures().len())
}

#[test]
fn a_lane_gives_the_same_bits_alone_and_among_any_neighbours() {
    for text in ALL {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let lanes: Vec<LaneId> = variant.lane_ids().collect();
        for (start, &lane) in lanes.iter().enumerate() {
            let mut alone = empty::<1>(variant);
            fill(variant, &mut alone, 0, lane);
            solve(&variant.plan, &mut alone, &mut Scratch::new(&variant.plan), &mut Silent);
            for stride in 1..4 {
                let mut block = empty::<8>(variant);
                let place = (start + stride) % 8;
                for at in 0..8 {
                    let neighbour = lanes[(start + stride * (at + 8 - place)) % lanes.len()];
                    fill(variant, &mut block, at, if at == place { lane } else { neighbour });
                }
                let mut scratch = Scratch::new(&variant.plan);
                solve(&variant.plan, &mut block, &mut scratch, &mut Silent);
                // Room that was used before must not matter either.
                solve(&variant.plan, &mut block, &mut scratch, &mut Silent);
                assert_eq!(format!("{:?}", block.state[place]), format!("{:?}", alone.state[0]));
                for (id, (among, alone)) in block.figures.iter().zip(alone.figures.iter()).enumerate() {
                    let path = variant.tables.figure_path(loadworthy_unit::FigureId::new(id));
                    assert_eq!(among[place].to_bits(), alone[0].to_bits(), "{path}");
                }
            }
        }
    }
}

#[test]
fn a_glance_at_a_lane_gives_the_bits_of_the_whole_variant() {
    for text in ALL {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        let mut scratch = Scratch::new(&variant.plan);
        let carriers = variant.plan.stages.iter().map(|stage| Edit { input: stage.carrier, value: 6000.0 });
        for edits in [Vec::new(), carriers.collect::<Vec<_>>()] {
            let whole = &Solved::with(variant, std::slice::from_ref(&edits))[0];
            for lane in variant.lane_ids() {
                let glance = solved.glance(lane, &edits, &mut scratch);
                assert_eq!(
                    std::mem::discriminant(&glance.state()),
                    std::mem::discriminant(&whole.state(lane))
                );
                for figure in (0..variant.tables.figures().len()).map(FigureId::new) {
                    let bits = |value: Option<f64>| value.map(f64::to_bits);
                    let path = variant.tables.figure_path(figure);
                    assert_eq!(bits(glance.figure(figure)), bits(whole.figure(figure, lane)), "{path}");
                }
                for edit in &edits {
                    assert_eq!(glance.input(edit.input), Some(edit.value));
                }
            }
        }
    }
}

#[test]
fn solving_allocates_nothing() {
    for text in ALL {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let mut block = empty::<8>(variant);
        let lanes: Vec<LaneId> = variant.lane_ids().collect();
        for place in 0..8 {
            fill(variant, &mut block, place, lanes[place % lanes.len()]);
        }
        let mut scratch = Scratch::new(&variant.plan);
        let taken = allocation_counter::measure(|| {
            solve(&variant.plan, &mut block, &mut scratch, &mut Silent);
        });
        assert_eq!(taken.count_total, 0, "{} bytes", taken.bytes_total);
    }
}
