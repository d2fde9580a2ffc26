//! Switch positions by name: what a gate supply feeds, and what a coolant element cools; and what coils live on.

use loadworthy_source::{NodeId, Problem, clearly_meant, nearest};

use super::{Look, MOST_COMPARED};
use crate::ledger::Key;
use crate::quantity::shown;
use crate::sections::conductors::Coil;
use crate::sections::gate_supplies::GateSupply;
use crate::sections::stages::Stage;

impl Look<'_, '_> {
    pub(super) fn gate_supply(&mut self, supply: &GateSupply) -> bool {
        let all = self.description;
        let mut good = true;
        for fed in supply.feeds.iter().flat_map(|feeds| &feeds.value) {
            good &= self.switch_position(fed.at, &fed.value);
        }
        good &= self.barrier(supply.crosses.as_ref());
        good &= self.leads_if(supply.rail.as_ref(), "negative rail", &[self.rails]);
        good &= self.leads_if(supply.bootstrap_from.as_ref(), "gate supply", &[&all.gate_supplies]);
        good &= self.bus(supply.also_from.as_ref());
        self.bus(supply.from.as_ref()) && good
    }

    pub(super) fn coil(&mut self, coil: &Coil) -> bool {
        let led = self.leads_if(coil.controller.as_ref(), "controller", &[&self.description.controllers]);
        let also = self.bus(coil.also_from.as_ref());
        self.bus(coil.from.as_ref()) && also && led
    }

    /// `STAGE.POSITION` or `STAGE.POSITION.PLACE`.
    pub(super) fn switch_position(&mut self, at: NodeId, text: &str) -> bool {
        let mut steps = text.splitn(3, '.');
        let (stage, position, place) = (steps.next().unwrap_or(""), steps.next(), steps.next());
        let stages = &self.description.stages;
        if !stages.contains_key(stage) {
            if stages.void {
                return true;
            }
            return self.no_entry(at, text, "stage", "a switch position");
        }
        // What positions a broken stage has is not known.
        let Some(known) = stages.entry(stage) else { return true };
        let Some(position) = position else {
            return self.no_place(at, None, || {
                let first = known.positions().first().map(|(first, _)| *first);
                let way_out = first.map(|first| format!("say which of its positions: `{stage}.{first}`"));
                let message = format!("{} names a stage, and not a switch position of it", shown(text));
                (message, "expected a switch position", way_out)
            });
        };
        self.position(at, stage, known, (position, place.is_none()))
            && place.is_none_or(|place| self.place(at, stage, known, position, place))
    }

    /// Whether a stage has that position.
    fn position(
        &mut self,
        at: NodeId,
        stage: &str,
        known: &Stage,
        (position, is_last): (&str, bool),
    ) -> bool {
        let positions = known.positions().into_iter().map(|(name, _)| name).collect::<Vec<_>>();
        if positions.contains(&position) {
            return true;
        }
        let clear = clearly_meant(position, positions.iter().copied()).filter(|_| is_last);
        self.no_place(at, clear.map(|clear| format!("{stage}.{clear}")), || {
            let way_out = match nearest(position, positions.iter().copied()) {
                Some(near) => format!("write `{stage}.{near}`"),
                None => format!("positions: `{}`", positions.join("`, `")),
            };
            let message = format!("`{stage}` has no switch position {}", shown(position));
            (message, "not a position of this stage", Some(way_out))
        })
    }

    fn place(&mut self, at: NodeId, stage: &str, known: &Stage, position: &str, place: &str) -> bool {
        let places = known.places(position);
        if places.iter().any(|one| one == place) {
            return true;
        }
        self.no_place(at, None, || {
            let way_out = if places.is_empty() {
                format!("write `{stage}.{position}`")
            } else {
                format!("places: `{}`", places.join("`, `"))
            };
            let message = format!("`{stage}.{position}` has no place {}", shown(place));
            (message, "not a place of this position", Some(way_out))
        })
    }

    /// A place whose first step, a stage or a bus, leads nowhere.
    pub(super) fn no_entry(&mut self, at: NodeId, text: &str, what: &'static str, wanted: &str) -> bool {
        let all = self.description;
        let (name, rest) = text.find('.').map_or((text, ""), |dot| text.split_at(dot));
        let known: Vec<&str> = match what {
            "bus" => all.buses.keys().map(String::as_str).take(MOST_COMPARED).collect(),
            _ => all.stages.keys().map(String::as_str).take(MOST_COMPARED).collect(),
        };
        // What was clearly meant is there; nothing lacks beside it.
        let clear = clearly_meant(name, known.iter().copied());
        if clear.is_none() {
            self.note_unfound(what, name, at);
        }
        let is_doubled = |one: &&str| match what {
            "bus" => all.buses.contains_key(*one),
            _ => all.stages.contains_key(*one),
        };
        if self.doubled.iter().any(is_doubled) {
            return false;
        }
        let at = self.tree.span(at);
        self.ledger.note_name(Key::Name(name), 1, at, || {
            let message = format!("no {what} is named {}", shown(name));
            let problem = Problem::new("unknown-name", at, message, format!("expected {wanted}"));
            match nearest(name, known.iter().copied()) {
                Some(near) => {
                    problem.with_way_out(format!("write `{near}{rest}`")).with_first_step_meant(clear)
                }
                None => problem,
            }
        });
        false
    }

    pub(super) fn no_place(
        &mut self,
        at: NodeId,
        clear: Option<String>,
        told: impl FnOnce() -> (String, &'static str, Option<String>),
    ) -> bool {
        let at = self.tree.span(at);
        self.ledger.note("unknown-name", at, "", || {
            let (message, label, way_out) = told();
            let problem = Problem::new("unknown-name", at, message, label).with_meant(clear);
            match way_out {
                Some(way_out) => problem.with_way_out(way_out),
                None => problem,
            }
        });
        false
    }
}
