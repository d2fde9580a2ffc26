//! A variant in which duty points ask for something else, as they would once a part has failed.

use crate::ids::DutyId;
use crate::solved::Edit;
use crate::variant::Variant;

impl Variant {
    /// The same with values of its own in some duty points; parts, inputs and figures keep their ids.
    #[must_use]
    pub fn changed(&self, changes: &[(DutyId, Vec<Edit>)]) -> Self {
        let mut variant = self.clone();
        let duties = variant.duties.len();
        for (duty, edits) in changes {
            variant.edit(*duty, duties, edits);
        }
        variant
    }
}
