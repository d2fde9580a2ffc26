//! Entries that lead, by way of others, back to themselves.

use loadworthy_source::{Located, NodeId, Problem};

use super::Look;
use crate::document::Section;
use crate::quantity::shown;
use crate::sections::stages::Stage;

fn followed_carrier(stage: &Stage) -> Option<&Located<String>> {
    stage.carrier()?.synchronised_with.as_ref()
}

impl Look<'_, '_> {
    /// Duty points that start from themselves.
    pub(super) fn duty_circles(&mut self) -> Vec<usize> {
        let all = self.description;
        self.circles(
            &all.duty,
            |point| point.starts_from.as_ref(),
            "starts-from-itself",
            |name| {
                let message = format!("duty point {name} starts from itself");
                (message, "let one duty point of the chain start from none")
            },
        )
    }

    /// Carriers that follow themselves.
    pub(super) fn carrier_circles(&mut self) -> Vec<usize> {
        let all = self.description;
        self.circles(&all.stages, followed_carrier, "follows-itself", |name| {
            let message = format!("the carrier of {name} follows itself");
            (message, "let one carrier of the chain follow none")
        })
    }

    /// Bootstraps that charge themselves.
    pub(super) fn bootstrap_circles(&mut self) -> Vec<usize> {
        let all = self.description;
        self.circles(
            &all.gate_supplies,
            |supply| supply.bootstrap_from.as_ref(),
            "follows-itself",
            |name| {
                (
                    format!("the bootstrap {name} is charged from itself"),
                    "let one output be fed by a transformer or a rail",
                )
            },
        )
    }

    /// The places of entries of which each names a next one, and that come back to themselves.
    fn circles<T>(
        &mut self,
        section: &Section<T>,
        next: impl Fn(&T) -> Option<&Located<String>>,
        kind: &'static str,
        told: impl Fn(&str) -> (String, &'static str),
    ) -> Vec<usize> {
        let next_of = |place: usize| {
            let (_, entry) = section.get_index(place)?;
            let named = next(entry.read()?)?;
            Some((section.get_index_of(&named.value)?, named.at))
        };
        // Each entry is followed once: 0 is not seen yet, other numbers are those of the walk that saw it.
        let mut walked = vec![0_usize; section.len()];
        let mut found = Vec::new();
        for start in 0..section.len() {
            let mut place = start;
            while walked.get(place) == Some(&0) {
                walked[place] = start + 1;
                match next_of(place) {
                    Some((further, _)) => place = further,
                    None => break,
                }
            }
            // The walk met itself: everything from here round to here is the circle.
            let closed = walked.get(place) == Some(&(start + 1)) && next_of(place).is_some();
            let mut turn = place;
            while closed && let Some((further, at)) = next_of(turn) {
                found.push(turn);
                let own = section.get_index(turn).map_or("", |(name, _)| name.as_str());
                self.circle(at, kind, || told(&shown(own)));
                turn = further;
                if turn == place {
                    break;
                }
            }
        }
        found
    }

    fn circle(&mut self, at: NodeId, kind: &'static str, told: impl FnOnce() -> (String, &'static str)) {
        let at = self.tree.span(at);
        self.ledger.note(kind, at, "", || {
            let (message, way_out) = told();
            Problem::new(kind, at, message, "leads back to it").with_way_out(way_out)
        });
    }
}
