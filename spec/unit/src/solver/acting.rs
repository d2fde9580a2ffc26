//! What drivers and devices alone take of the delay of a trip.

use loadworthy_physics::Law;

use crate::plan::Plan;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static NEEDED: Law = Law {
    name: "time from a command until its gates are off and the device follows",
    formula: "t = max(t_driver + t_d,off) over all gates",
    validity: "longest delay of the driver; longest turn-off delay of the device with its resistor, none where it is not known",
    source: "definition; IEC 60747-9",
};

/// Every trip whose gates say how long they take.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for acting in &plan.acting {
        let mut longest = [0.0_f64; L];
        let mut from: Vec<Operand> = Vec::new();
        for &(driver, turns_off) in &acting.ways {
            let delay = pass.input(driver);
            let off = turns_off.map_or([0.0; L], |off| pass.figure(off));
            for l in 0..L {
                let whole = delay[l] + off[l];
                // What is missing stays missing.
                if whole > longest[l] || whole.is_nan() {
                    longest[l] = whole;
                }
            }
            if T::LISTENS {
                from.push(driver.into());
                from.extend(turns_off.map(Operand::Figure));
            }
        }
        pass.put(acting.needed, &NEEDED, &from, |l| longest[l]);
    }
}
