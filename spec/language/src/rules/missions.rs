//! Missions.

use loadworthy_physics::Time;
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::quantity::shown;
use crate::sections::missions::Mission;

impl Rules for Mission {
    fn check(&self, scope: &mut Scope<'_>) {
        match (&self.steps, &self.file) {
            (Some(steps), Some(file)) => {
                scope.only_one(("steps", steps.at), ("file", file.at), "a mission has one sequence");
            }
            (None, None) => {
                let at = scope.tree.span(scope.entry);
                let name = shown(scope.tree.key_text(scope.entry));
                scope.ledger.note("incomplete", at, "steps", || {
                    Problem::new(
                        "incomplete",
                        at,
                        format!("{name} lacks `steps` or a `file`"),
                        "what comes after what?",
                    )
                    .with_way_out("add `steps`, or a `file` of rows")
                });
            }
            _ => {}
        }
        for step in self.steps.iter().flat_map(|steps| &steps.value) {
            scope.above_zero("lasts", Some(step.lasts), Time::si);
        }
    }
}
