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

/// The name nearest to one that nobody has, where one is near.
#[must_use]
pub fn nearest(name: &str) -> Option<&'static str> {
    // A name longer than this is no slip of the pen.
    if name.chars().count() > 64 {
        return None;
    }
    let distances = CHECKS.iter().map(|check| (distance(name, check.about().name), check.about().name));
    let (distance, nearest) = distances.min()?;
    (distance <= nearest.len() / 2).then_some(nearest)
}

/// The policy items of all checks, in the order of the checks.
#[must_use]
pub fn policy_vocabulary() -> Vec<&'static PolicyItem> {
    CHECKS.iter().flat_map(|check| check.about().policy.iter().copied()).collect()
}

/// Least number of letters to insert, remove or replace.
fn distance(one: &str, other: &str) -> usize {
    let other: Vec<char> = other.chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, letter) in one.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, wanted) in other.iter().enumerate() {
            let replaced = diagonal + usize::from(letter != *wanted);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[other.len()]
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
    fn a_slip_of_the_pen_finds_the_name() {
        assert_eq!(nearest("junction-temprature"), Some("junction-temperature"));
        assert_eq!(nearest("output_reach"), Some("output-reach"));
        assert_eq!(nearest("zzzz"), None);
        assert!(by_name("current-headroom").is_some());
        assert!(by_name("current").is_none());
    }
}
