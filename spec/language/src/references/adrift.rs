//! Duty points that start from one that could not be read: how warm they begin is not known.

use std::collections::HashMap;

use crate::document::Section;
use crate::sections::duty::DutyPoint;

/// Their places, those that start from them in turn among them.
pub(super) fn adrift(duty: &Section<DutyPoint>) -> Vec<usize> {
    let mut after: HashMap<&str, Vec<usize>> = HashMap::new();
    for (place, entry) in duty.values().enumerate() {
        if let Some(from) = entry.read().and_then(|point| point.starts_from.as_ref()) {
            after.entry(&from.value).or_default().push(place);
        }
    }
    let mut left: Vec<&str> = duty.unread().map(|(name, _)| name).collect();
    let mut found = Vec::new();
    while let Some(lost) = left.pop() {
        for place in after.remove(lost).unwrap_or_default() {
            found.push(place);
            left.extend(duty.get_index(place).map(|(name, _)| name.as_str()));
        }
    }
    found
}
