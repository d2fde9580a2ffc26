//! All checks, in one list sorted by name.

use loadworthy_unit::PolicyItem;

use crate::back_emf::BackEmf;
use crate::barrier_crossing::BarrierCrossing;
use crate::barrier_distance::BarrierDistance;
use crate::barrier_immunity::BarrierImmunity;
use crate::bootstrap_refresh::BootstrapRefresh;
use crate::bus_stability::BusStability;
use crate::carrier_ratio::CarrierRatio;
use crate::check::Check;
use crate::conductor_loading::ConductorLoading;
use crate::control_cover::ControlCover;
use crate::coolant_order::CoolantOrder;
use crate::coolant_purging::CoolantPurging;
use crate::coolant_state::CoolantState;
use crate::coolant_supply::CoolantSupply;
use crate::core_saturation::CoreSaturation;
use crate::current_headroom::CurrentHeadroom;
use crate::dead_time::DeadTime;
use crate::false_turn_on::FalseTurnOn;
use crate::floating_supplies::FloatingSupplies;
use crate::fuse_coordination::FuseCoordination;
use crate::gate_drive_power::GateDrivePower;
use crate::junction_temperature::JunctionTemperature;
use crate::leakage_paths::LeakagePaths;
use crate::link_ripple::LinkRipple;
use crate::loss_of_load::LossOfLoad;
use crate::output_reach::OutputReach;
use crate::parallel_sharing::ParallelSharing;
use crate::power_balance::PowerBalance;
use crate::short_circuit_response::ShortCircuitResponse;
use crate::source_limits::SourceLimits;
use crate::stored_energy::StoredEnergy;
use crate::trip_window::TripWindow;
use crate::turn_off_overshoot::TurnOffOvershoot;
use crate::unused_parts::UnusedParts;
use crate::voltage_headroom::VoltageHeadroom;
use crate::winding_loading::WindingLoading;

/// Every check, sorted by name.
pub static CHECKS: &[&dyn Check] = &[
    &BackEmf,
    &BarrierCrossing,
    &BarrierDistance,
    &BarrierImmunity,
    &BootstrapRefresh,
    &BusStability,
    &CarrierRatio,
    &ConductorLoading,
    &ControlCover,
    &CoolantOrder,
    &CoolantPurging,
    &CoolantState,
    &CoolantSupply,
    &CoreSaturation,
    &CurrentHeadroom,
    &DeadTime,
    &FalseTurnOn,
    &FloatingSupplies,
    &FuseCoordination,
    &GateDrivePower,
    &JunctionTemperature,
    &LeakagePaths,
    &LinkRipple,
    &LossOfLoad,
    &OutputReach,
    &ParallelSharing,
    &PowerBalance,
    &ShortCircuitResponse,
    &SourceLimits,
    &StoredEnergy,
    &TripWindow,
    &TurnOffOvershoot,
    &UnusedParts,
    &VoltageHeadroom,
    &WindingLoading,
];

/// A pass of the review: it finds something, and looks at the verdicts of all checks for it.
#[derive(Clone, Copy, Debug)]
pub struct Pass {
    /// The name under which its findings are shown.
    pub name: &'static str,
    /// What it asks, in one sentence.
    pub question: &'static str,
    /// Its page. Markdown.
    pub page: &'static str,
}

/// The passes that find something.
pub static PASSES: &[Pass] = &[
    Pass {
        name: "one-cause",
        question: "Do several findings come of one word, exchanged with another or against all that is stated beside it?",
        page: include_str!("review/slips/page.md"),
    },
    Pass {
        name: "permits",
        question: "Is a permit expired, exceeded or too broad, or does it accept what no longer happens?",
        page: include_str!("review/permits/page.md"),
    },
];

/// The check of that name, or that had it before.
#[must_use]
pub fn by_name(name: &str) -> Option<&'static dyn Check> {
    CHECKS.iter().copied().find(|check| {
        let about = check.about();
        about.name == name || about.former_names.contains(&name)
    })
}

/// The policy items of all checks, in the order of the checks.
#[must_use]
pub fn policy_vocabulary() -> Vec<&'static PolicyItem> {
    CHECKS.iter().flat_map(|check| check.about().policy.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sorted_with_unique_names_and_policy_items() {
        let names: Vec<_> = CHECKS.iter().map(|check| check.about().name).collect();
        assert!(names.windows(2).all(|pair| pair[0] < pair[1]), "{names:?}");
        let items: Vec<_> = policy_vocabulary().iter().map(|item| item.name).collect();
        let mut unique = items.clone();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), items.len());
    }

    #[test]
    fn a_check_is_found_by_its_whole_name() {
        assert!(by_name("current-headroom").is_some());
        assert!(by_name("current").is_none());
    }
}
