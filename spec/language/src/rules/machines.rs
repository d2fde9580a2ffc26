//! Electric machines.

use loadworthy_physics::Inductance;

use super::{Rules, Scope};
use crate::quantity::{FluxLinkage, Speed};
use crate::sections::machines::Machine;

impl Rules for Machine {
    fn check(&self, scope: &mut Scope<'_>) {
        match self {
            Self::PermanentMagnet(machine) => {
                scope.above_zero("flux_linkage", machine.flux_linkage, FluxLinkage::si);
                scope.above_zero("highest_speed", machine.highest_speed, Speed::si);
                if let Some(inductance) = &machine.inductance {
                    scope.above_zero("d", inductance.d, Inductance::si);
                    scope.above_zero("q", inductance.q, Inductance::si);
                }
            }
            Self::Induction(machine) => {
                scope.above_zero("leakage_inductance", machine.leakage_inductance, Inductance::si);
            }
        }
    }
}
