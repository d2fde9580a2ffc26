//! One lane with a machine that turns held still, at a crest of its current.

use super::{Edit, Glance, Solved};
use crate::ids::LaneId;
use crate::plan::Bridge;
use crate::solver::{Scratch, solve};
use crate::trace::Silent;

impl Solved<'_> {
    /// Solves one lane with the rotor that a bridge turns held where the current of a phase has its crest (see
    /// [`Lane::crest`](crate::Lane)), with the current and the power that the machine takes as it turns. What the lane starts
    /// from stays as it is. Nothing where the lane has no solution, or its current is not known.
    #[must_use]
    pub fn held(&self, lane: LaneId, bridge: &Bridge, crest: i8, scratch: &mut Scratch<1>) -> Option<Glance> {
        self.note_rest();
        let figure = |id| self.figure(id, lane);
        let (inputs, figures) = (&bridge.inputs, &bridge.figures);
        let (amps, volts) = (figure(figures.phase_current)?, figure(figures.line_voltage)?);
        // A machine that stands has a power factor of one.
        let volts = volts * figure(figures.power_factor)?.abs();
        let mut edits = vec![
            Edit { input: inputs.frequency, value: 0.0 },
            Edit { input: inputs.phase_current, value: amps },
            Edit { input: inputs.line_voltage, value: volts },
        ];
        if let Some(constants) = &inputs.constants {
            edits.push(Edit { input: constants.speed, value: 0.0 });
            edits.extend(
                [constants.torque, constants.shaft_power].map(|input| Edit { input, value: f64::NAN }),
            );
        }
        let mut block = self.alone(lane);
        for edit in edits {
            block.inputs[edit.input.index()][0] = edit.value;
        }
        block.crest = [crest];
        solve(&self.variant.plan, &mut block, scratch, &mut Silent);
        self.follow_alone(lane, &mut block, |from| self.edited(from, &[], scratch));
        Some(Glance { block })
    }
}
