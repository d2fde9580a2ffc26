//! Electric machines.

use loadworthy_physics::Inductance;

use super::{Rules, Scope};
use crate::quantity::{FluxLinkage, Speed, Torque};
use crate::sections::machines::Machine;

impl Rules for Machine {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("recurring_peak", self.winding_insulation().0.copied(), |volts| volts.peak().si());
        match self {
            Self::PermanentMagnet(machine) => {
                scope.above_zero("flux_linkage", machine.flux_linkage, FluxLinkage::si);
                scope.above_zero("highest_speed", machine.highest_speed, Speed::si);
                scope.above_zero("demagnetising_current", machine.demagnetising_current, |amps| {
                    amps.rms().si()
                });
                scope.above_zero("highest_torque", machine.highest_torque, Torque::si);
                if let Some(inductance) = &machine.inductance {
                    scope.above_zero("d", inductance.d, Inductance::si);
                    scope.above_zero("q", inductance.q, Inductance::si);
                    scope.credible_time_constant(("`d`", inductance.d), machine.phase_resistance);
                    scope.credible_time_constant(("`q`", inductance.q), machine.phase_resistance);
                }
            }
            Self::Induction(machine) => {
                let leakage = machine.leakage_inductance;
                scope.above_zero("leakage_inductance", leakage, Inductance::si);
                scope.credible_time_constant(("`leakage_inductance`", leakage), machine.phase_resistance);
            }
        }
    }
}
