//! All checks, in one list sorted by name.

use loadworthy_unit::PolicyItem;

use crate::check::Check;

/// Every check, sorted by name.
pub static CHECKS: &[&dyn Check] = &[
    &crate::back_emf::BackEmf,
    &crate::barrier_crossing::BarrierCrossing,
    &crate::barrier_distance::BarrierDistance,
    &crate::barrier_immunity::BarrierImmunity,
    &crate::bootstrap_refresh::BootstrapRefresh,
    &crate::bus_stability::BusStability,
    &crate::carrier_ratio::CarrierRatio,
    &crate::conductor_loading::ConductorLoading,
    &crate::control_cover::ControlCover,
    &crate::coolant_order::CoolantOrder,
    &crate::coolant_purging::CoolantPurging,
    &crate::coolant_state::CoolantState,
    &crate::coolant_supply::CoolantSupply,
    &crate::core_saturation::CoreSaturation,
    &crate::current_headroom::CurrentHeadroom,
    &crate::dead_time::DeadTime,
    &crate::false_turn_on::FalseTurnOn,
    &crate::floating_supplies::FloatingSupplies,
    &crate::fuse_coordination::FuseCoordination,
    &crate::gate_drive_power::GateDrivePower,
    &crate::junction_temperature::JunctionTemperature,
    &crate::leakage_paths::LeakagePaths,
    &crate::link_ripple::LinkRipple,
    &crate::loss_of_load::LossOfLoad,
    &crate::output_reach::OutputReach,
    &crate::parallel_sharing::ParallelSharing,
    &crate::power_balance::PowerBalance,
    &crate::short_circuit_response::ShortCircuitResponse,
    &crate::source_limits::SourceLimits,
    &crate::stored_energy::StoredEnergy,
    &crate::supply_voltage::SupplyVoltage,
    &crate::trip_window::TripWindow,
    &crate::turn_off_overshoot::TurnOffOvershoot,
    &crate::unused_parts::UnusedParts,
    &crate::voltage_headroom::VoltageHeadroom,
    &crate::winding_loading::WindingLoading,
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

/// The names that a permit may call each check by, former ones last, with what it asks.
#[must_use]
pub fn names_and_questions() -> Vec<(&'static str, &'static str)> {
    let now = CHECKS.iter().map(|check| (check.about().name, check.about().question));
    let former = CHECKS.iter().flat_map(|check| {
        let about = check.about();
        about.former_names.iter().map(|name| (*name, about.question))
    });
    now.chain(former).collect()
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
