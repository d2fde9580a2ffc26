//! What could not be read, section by section.

use crate::ids::InputId;

/// An entry that could not be read, or a section: what adds up over the section is not known.
#[derive(Clone, Copy, Debug)]
pub struct Lost {
    /// The section.
    pub section: &'static str,
    /// The entry, or the section itself.
    pub input: InputId,
    /// Whether it is the section itself: nothing is known of what stands in it.
    pub is_whole: bool,
}
