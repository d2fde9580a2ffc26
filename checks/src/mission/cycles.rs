//! How junctions came and went over a mission: of each kind of position the chip whose life that uses most.

use loadworthy_unit::mission::{Counted, Cycles};
use loadworthy_unit::{PartId, Variant};

/// Cycles of the chip of a kind of position that fares worst.
#[derive(Clone, Debug)]
pub struct Swings {
    /// The chip.
    pub part: PartId,
    /// What its cycles came to, of a mission that is driven again and again.
    pub counted: Counted,
    /// Whether its package says how many it stands.
    pub is_stated: bool,
}

impl Swings {
    /// Share of the life that it uses; none where no curve says so, or not of all cycles.
    #[must_use]
    pub fn used(&self) -> Option<f64> {
        (self.is_stated && self.counted.beyond == 0).then_some(self.counted.used)
    }

    /// How many times the mission may be driven until that life is used up; none where it is not known, or nothing is used.
    #[must_use]
    pub fn runs(&self) -> Option<f64> {
        self.used().filter(|&used| used > 0.0).map(|used| 1.0 / used)
    }
}

/// Of each kind of position, transistor and diode apart, the chip that fares worst: of equals the first.
pub(super) fn worst(variant: &Variant, cycles: &Cycles) -> Vec<Swings> {
    let plan = &variant.plan;
    let mut all: Vec<(usize, usize, bool, Swings)> = Vec::new();
    for (stage, of) in plan.stages.iter().enumerate() {
        for position in &of.positions {
            let is_stated = of.seats[position.seat].power_cycling.is_some();
            for chip in position.chips.clone() {
                let is_diode = plan.chips[chip].kind == loadworthy_unit::plan::ChipKind::Diode;
                let own = Swings { part: plan.chips[chip].part, counted: cycles.of(chip), is_stated };
                let same = |known: &&mut (usize, usize, bool, Swings)| {
                    (known.0, known.1, known.2) == (stage, position.seat, is_diode)
                };
                match all.iter_mut().find(same) {
                    None => all.push((stage, position.seat, is_diode, own)),
                    Some(known) if is_worse(&own.counted, &known.3.counted) => known.3 = own,
                    Some(_) => {}
                }
            }
        }
    }
    all.into_iter().map(|(.., swings)| swings).collect()
}

fn is_worse(one: &Counted, other: &Counted) -> bool {
    let order = |counted: &Counted| (counted.beyond, counted.used, counted.largest);
    order(one) > order(other)
}
