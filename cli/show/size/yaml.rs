//! The sizes as a merge patch alone, with the permits that it rests on in comments.

use crate::described::Described;
use crate::show::layout::free_text;
use crate::show::words::permit::{held_against, terms};
use crate::size::Sizes;

/// The merge patch.
pub(crate) fn patch(described: &Described, sizes: &Sizes) -> String {
    let mut text = String::new();
    if let Some(day) = sizes.day {
        let mut used: Vec<usize> = sizes.accepted.iter().copied().flatten().collect();
        used.sort_unstable();
        used.dedup();
        text.push_str(&comment(&format!("permits {}", held_against(day))));
        for permit in used.into_iter().filter_map(|place| described.unit.permits.get(place)) {
            let what = format!("{} {}", permit.check.value, permit.part.value);
            text.push_str(&comment(&format!(
                "no size mends {what}, accepted {}",
                terms(permit, None, sizes.day)
            )));
            text.push_str(&comment(&format!("because {}", permit.reason)));
        }
    }
    text.push_str(&sizes.patch().unwrap_or_else(|| "{}\n".to_owned()));
    text
}

/// A line that no reader of YAML takes for more.
fn comment(said: &str) -> String {
    format!("# {}\n", free_text(said))
}
