//! Figures of the coolant that contradict one another: a plate that would take up more heat than its flow can carry, and a
//! pressure drop that its passage cannot have.

use loadworthy_physics::coolant::{Coolant, Place, heat_capacity_rate};
use loadworthy_physics::duct::Duct;
use loadworthy_physics::{Temperature, VolumeFlow, plate};
use loadworthy_source::Problem;

use super::{Scope, self_text};
use crate::defaults;
use crate::sections::cooling::{CoolantElement, CoolantKind, CoolantReference, Passage, PressureDrop};

/// Where no temperature is stated: of density and heat capacity it moves a few percent.
const USUAL: Temperature = Temperature::celsius(20.0);
/// Without a temperature a drop is taken to be measured hot, where it is least.
const HOT: Temperature = Temperature::celsius(90.0);
/// Least resistance of a plate times the heat capacity rate of its flow: coolant that leaves a plate is then within 2 % as warm
/// as the plate, which no plate of its size comes to.
const LEAST_PLATE: f64 = 0.02;
/// Factor that properties of coolant may be out by.
const ROOM: f64 = 1.1;
/// A passage has more than a fifth of the drop that smooth walls alone make, and less than so many times that.
const DROP: (f64, f64) = (0.2, 1000.0);

fn coolant(kind: Option<&CoolantKind>) -> Option<Coolant> {
    Some(match kind? {
        CoolantKind::Water(_) => Coolant::Water,
        CoolantKind::WaterGlycol(mixture) => {
            let glycol = mixture.glycol.map_or(defaults::GLYCOL.value, |glycol| glycol.value.value());
            Coolant::WaterGlycol { glycol }
        }
    })
}

/// A pressure in the unit that it is some of.
fn pressure(pascal: f64) -> String {
    let (number, unit) = match pascal {
        1e6.. => (1e-6 * pascal, "MPa"),
        1e3.. => (1e-3 * pascal, "kPa"),
        _ => (pascal, "Pa"),
    };
    if number < 10.0 { format!("{number:.2} {unit}") } else { format!("{number:.0} {unit}") }
}

impl Scope<'_> {
    pub(super) fn credible_flow(&mut self, kind: Option<&CoolantKind>, element: &CoolantElement) {
        let Some(coolant) = coolant(kind) else { return };
        self.credible_plate(coolant, element);
        if let (Some(drop), Some(passage)) = (&element.pressure_drop, &element.passage) {
            self.credible_drop(coolant, drop, passage);
        }
    }

    /// A plate is not colder than the mean of its coolant.
    fn credible_plate(&mut self, coolant: Coolant, element: &CoolantElement) {
        let Some(resistance) = &element.resistance else { return };
        let Some(flow) = resistance.flow.filter(|flow| flow.value > VolumeFlow::ZERO) else { return };
        let from = match element.referred_to.as_ref().map(|place| place.value) {
            Some(CoolantReference::Inlet) => Place::Inlet,
            Some(CoolantReference::Mean) => Place::Mean,
            Some(CoolantReference::Outlet) | None => Place::Outlet,
        };
        let value = resistance.value.value;
        let rate = heat_capacity_rate(coolant, USUAL, flow.value);
        let is_possible = plate::check_plausible(value * ROOM, from, rate).is_ok();
        if value.si() <= 0.0 || (is_possible && value.si() * rate.si() >= LEAST_PLATE) {
            return;
        }
        let (tree, at) = (self.tree, self.tree.span(resistance.value.at));
        self.ledger.note("conflict", at, "flow", || {
            let [value, flow_text] = [resistance.value.at, flow.at].map(|node| self_text(tree, node));
            let warms = 1e3 / rate.si();
            let why = if is_possible {
                "coolant would leave the plate as warm as the plate is"
            } else {
                "counted from the inlet a plate has at least half of that"
            };
            let message = format!(
                "a plate of `{value}` at `{flow_text}`, which warms by {warms:.2} mK for each watt: {why}"
            );
            Problem::new("conflict", at, message, "no plate takes up so much")
                .with_also(tree.span(flow.at), "at this flow")
                .with_way_out("look at both, and at the prefixes of their units")
        });
    }

    /// The drop that is stated at a flow against what a smooth passage takes there.
    fn credible_drop(&mut self, coolant: Coolant, drop: &PressureDrop, passage: &Passage) {
        let (Some(bore), Some(length)) = (passage.bore, passage.length) else { return };
        let at = drop.at.map_or(HOT, |at| at.value);
        if coolant.check(at).is_err() {
            return;
        }
        let duct = Duct {
            bore: bore.value,
            length: length.value,
            passages: passage.count.as_ref().map_or(1.0, |count| f64::from(count.value)),
            losses: passage.losses.as_ref().map_or(0.0, |losses| losses.value),
            density: coolant.density(at),
            viscosity: coolant.viscosity(at),
        };
        let (Some(flow), Some(stated)) = (drop.flow.last(), drop.pressure.last()) else { return };
        let taken = duct.pressure(flow.value);
        let share = stated.value / taken;
        if !duct.is_known() || share.is_nan() || share <= 0.0 || (DROP.0..=DROP.1).contains(&share) {
            return;
        }
        let (tree, at, bore_at) = (self.tree, self.tree.span(stated.at), bore.at);
        let count = passage.count.as_ref().map_or(1, |count| count.value);
        self.ledger.note("conflict", at, "bore", || {
            let [bore, length, stated, flow] =
                [bore.at, length.at, stated.at, flow.at].map(|node| self_text(tree, node));
            let taken = pressure(taken.si());
            let many = if count > 1 { format!("{count} smooth passages") } else { "a smooth passage".to_owned() };
            let message = format!(
                "{many} of `{bore}` bore and `{length}` length would take {taken} at `{flow}`, and `{stated}` is stated"
            );
            let label = if share < 1.0 { "less than a fifth of that" } else { "more than a thousand times that" };
            Problem::new("conflict", at, message, label)
                .with_also(tree.span(bore_at), "`bore`")
                .with_way_out("correct the one that is wrong, or leave out `length` where the passage is not a round one of this bore all along")
        });
    }
}
