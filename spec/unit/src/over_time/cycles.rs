//! How junctions come and go over a mission: cycles counted as they close, and what they use of the life of packages.

use loadworthy_physics::rainflow::{Cycle, CycleLife, Rainflow};

use crate::plan::{Plan, PowerCycling};

/// Temperatures are rounded to this many K.
const STEP: f64 = 0.5;
/// Lower ends of the bands that cycles are counted in, in K; smaller ones are the ripple of rows.
pub const BANDS: [f64; 7] = [5.0, 10.0, 20.0, 30.0, 40.0, 60.0, 80.0];

/// Cycles of every chip.
#[derive(Clone, Debug)]
pub struct Cycles {
    chips: Vec<Counter>,
    /// Rows in which no temperature is known for sure, and which are left out.
    pub left_out: usize,
}

#[derive(Clone, Debug)]
struct Counter {
    flow: Rainflow,
    life: Option<PowerCycling>,
    counted: Counted,
}

/// What the cycles of a chip came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Counted {
    /// The largest swing in K.
    pub largest: f64,
    /// How many there were in each of the [`BANDS`].
    pub bands: [u64; BANDS.len()],
    /// Share of its life that they use, of those that its curve knows.
    pub used: f64,
    /// How many swung less than its curve begins with: they are not counted against its life.
    pub below: u64,
    /// How many swung more than it ends with, or went hotter than it holds: what they use is not known.
    pub beyond: u64,
}

impl Counted {
    fn add(&mut self, cycle: Cycle, life: Option<&PowerCycling>) {
        if self.largest < cycle.swing {
            self.largest = cycle.swing;
        }
        if let Some(band) = BANDS.iter().rposition(|&least| least <= cycle.swing) {
            self.bands[band] += 1;
        }
        let Some(life) = life else { return };
        let hottest = cycle.mean + 0.5 * cycle.swing;
        if life.points.first().is_some_and(|first| cycle.swing < first.0) {
            self.below += 1;
        } else if hottest > life.up_to || life.points.last().is_none_or(|last| last.0 < cycle.swing) {
            self.beyond += 1;
        } else {
            self.used += 1.0 / CycleLife(&life.points).cycles(cycle.swing);
        }
    }
}

impl Cycles {
    /// None yet.
    pub(crate) fn none(plan: &Plan) -> Self {
        let of = |chip: usize| {
            let mut all = plan
                .stages
                .iter()
                .flat_map(|stage| stage.positions.iter().map(move |position| (stage, position)));
            let (stage, position) = all.find(|(_, position)| position.chips.contains(&chip))?;
            stage.seats[position.seat].power_cycling.clone()
        };
        let new = |chip| Counter { flow: Rainflow::new(STEP), life: of(chip), counted: Counted::default() };
        Self { chips: (0..plan.chips.len()).map(new).collect(), left_out: 0 }
    }

    /// Takes the junctions of a moment in, in °C.
    pub(crate) fn take(&mut self, junctions: impl Iterator<Item = f64>) {
        for (chip, junction) in self.chips.iter_mut().zip(junctions) {
            let Counter { flow, life, counted } = chip;
            flow.take(junction, &mut |cycle| counted.add(cycle, life.as_ref()));
        }
    }

    /// What a chip came to, of a mission that is driven again and again: it begins once more where it ended.
    #[must_use]
    pub fn of(&self, chip: usize) -> Counted {
        let Counter { flow, life, counted } = &self.chips[chip];
        let mut counted = counted.clone();
        flow.clone().repeat(&mut |cycle| counted.add(cycle, life.as_ref()));
        counted
    }
}
