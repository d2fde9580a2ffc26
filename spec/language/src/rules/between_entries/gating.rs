//! Drivers and the carriers of the stages that they drive.

use loadworthy_source::Problem;

use super::super::Scope;
use super::super::credible_ratings::SLOWEST_DRIVER;
use crate::document::Description;
use crate::quantity::shown;
use crate::sections::drivers::Driver;

/// Share of a carrier period that no command takes to its gate: its edges would come after the next ones were due.
const MOST_OF_PERIOD: f64 = 0.5;

impl Scope<'_> {
    /// A command comes to its gate well within the carrier period.
    pub(super) fn late_commands(&mut self, driver: &Driver, description: &Description) {
        let Some(delay) = driver.delay else { return };
        let driven = driver.drives.iter().flat_map(|drives| &drives.value);
        let carriers = driven.filter_map(|drive| {
            let stage = drive.value.split('.').next()?;
            Some((stage, description.stages.entry(stage)?.carrier()?.frequency?))
        });
        let fastest = carriers.max_by(|(_, one), (_, other)| one.value.si().total_cmp(&other.value.si()));
        let Some((stage, frequency)) = fastest else { return };
        // What no driver takes is told of itself, and counts as no number then.
        let share = delay.value.si() * frequency.value.si();
        if share.is_nan() || SLOWEST_DRIVER < delay.value.si() || share < MOST_OF_PERIOD {
            return;
        }
        let (at, also) = (self.tree.span(delay.at), self.tree.span(frequency.at));
        self.ledger.note("conflict", at, "delay", || {
            let message =
                format!("its commands come half a carrier period of {} late, or more", shown(stage));
            Problem::new("conflict", at, message, "from command to gate")
                .with_also(also, "carrier frequency")
                .with_way_out("look at both, and at the prefixes of their units")
        });
    }
}
