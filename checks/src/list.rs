//! All checks, in one list sorted by name.

use loadworthy_unit::PolicyItem;

use crate::check::Check;
use crate::current_headroom::CurrentHeadroom;
use crate::junction_temperature::JunctionTemperature;
use crate::output_reach::OutputReach;

/// Every check, sorted by name.
pub static CHECKS: &[&dyn Check] = &[&CurrentHeadroom, &JunctionTemperature, &OutputReach];

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
