//! Trials of a duty point side by side are what the whole variant is when it is solved with each.

use loadworthy_unit::{DutyId, Edit, FigureId, LaneId, Solved, Trials, Variant};

use crate::bench::{ALL, MOSFET, changed, unit};

fn lanes_of(variant: &Variant, duty: DutyId) -> Vec<LaneId> {
    variant.lane_ids().filter(|&lane| variant.lane(lane).duty == duty).collect()
}

#[test]
fn a_trial_has_the_bits_of_the_variant_solved_with_it() {
    let short = ("  hold:\n", "  hold:\n    lasts: 3 s\n    starts_from: press\n");
    let over_time =
        changed(MOSFET, &[("value: 0.004 K/W,", "heat_capacity: 900 J/K, value: 0.004 K/W,"), short]);
    for text in ALL.into_iter().chain([over_time.as_str()]) {
        let unit = unit(text);
        let variant = &unit.variants[0];
        let carriers =
            |value| variant.plan.stages.iter().map(move |stage| Edit { input: stage.carrier, value });
        for (place, point) in variant.duties.iter().enumerate() {
            let duty = DutyId::new(place);
            let mut trials = vec![Vec::new()];
            // What a duty point starts from is not edited with it.
            if point.starts_from.is_none() {
                trials.extend([6e3, 9e3].map(|value| carriers(value).collect::<Vec<_>>()));
            }
            trials.push(Vec::new());
            let wide = Trials::of(variant, duty, &trials);
            let side_by_side = Solved::without_shares(&wide.variant);
            for (trial, whole) in Solved::with(variant, &trials).iter().enumerate() {
                assert_eq!(wide.trial(wide.duty(trial)), Some(trial));
                let own = lanes_of(&wide.variant, wide.duty(trial));
                let alone = lanes_of(variant, duty);
                assert_eq!(own.len(), alone.len());
                for (own, alone) in own.into_iter().zip(alone) {
                    assert_eq!(side_by_side.is_followed(own), whole.is_followed(alone));
                    for figure in (0..variant.tables.figures().len()).map(FigureId::new) {
                        let bits = |value: Option<f64>| value.map(f64::to_bits);
                        let path = variant.tables.figure_path(figure);
                        let (one, other) = (side_by_side.figure(figure, own), whole.figure(figure, alone));
                        assert_eq!(bits(one), bits(other), "{path} in {}", point.name);
                    }
                }
            }
        }
    }
}
