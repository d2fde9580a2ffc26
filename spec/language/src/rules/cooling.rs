//! The coolant loop and the surroundings.

use indexmap::IndexMap;
use loadworthy_physics::coolant::{HIGHEST_GLYCOL, LOWEST_GLYCOL};
use loadworthy_physics::{
    Area, HeatCapacity, Length, Pressure, TemperatureDifference, ThermalResistance, VolumeFlow,
};
use loadworthy_source::{Entry, NodeId, Problem};

use super::{Rules, Scope};
use crate::quantity::Given;
use crate::references::entries;
use crate::sections::cooling::{
    CoolantElement, CoolantKind, CooledFaces, Cooling, Passage, PressureDrop, Pump,
};
use crate::sections::header::{Header, Surroundings};

/// Text such as `50.0 %` may miss the share by rounding alone.
const ROUNDING: f64 = 1e-9;
/// Share by which a resistance to the coolant may lie off at most: it is above nothing.
const MOST_OFF: f64 = 0.9;

impl Rules for Cooling {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(CoolantKind::WaterGlycol(mixture)) = &self.coolant
            && let Some(glycol) = mixture.glycol
            && !(LOWEST_GLYCOL - ROUNDING..=HIGHEST_GLYCOL + ROUNDING).contains(&glycol.value.value())
        {
            let message =
                || "properties of the coolant are known for shares of 30 to 60 % glycol by volume".to_owned();
            scope.refuse(glycol.at, message, "another share", Some("write a share in between, e.g. `50 %`"));
        }
        scope.above_zero("absolute_pressure", self.absolute_pressure, Pressure::si);
        scope.above_zero("warming", self.warming, TemperatureDifference::si);
        if let Some(pump) = &self.pump {
            scope.pump(pump);
        }
        // Both are in the order of the text.
        let written = entries(scope.tree, scope.value, "elements");
        for ((_, element), entry) in self.elements.iter().flatten().zip(written) {
            scope.element(entry.value, element);
            scope.credible_flow(self.coolant.as_ref(), element);
        }
        scope.faces(self);
    }
}

/// A face of a stage's packages as an element cools it; both where it names none.
type Face = (&'static str, NodeId);

impl CooledFaces {
    /// The faces that are stated.
    fn stated(&self) -> impl Iterator<Item = Face> {
        let faces = [("face_a", self.face_a), ("face_b", self.face_b)];
        faces.into_iter().filter_map(|(face, given)| given.map(|Given { at, .. }| (face, at)))
    }
}

impl Scope<'_> {
    fn pump(&mut self, pump: &Pump) {
        self.above_zero("flow", pump.flow, VolumeFlow::si);
        let Some(curve) = &pump.curve else { return };
        if let Some(flow) = pump.flow {
            let why = "the pump holds its flow, or its flow follows from its curve";
            self.only_one(("flow", flow.at), ("curve", curve.flow.at), why);
        }
        self.at_least(3, "a pump curve", &curve.flow, "too few points");
        if let Some(first) = curve.flow.first()
            && first.value.si() > 0.0
        {
            let message = || "a pump curve begins at no flow".to_owned();
            self.refuse(first.at, message, "above zero", Some("add the pressure at `0 L/min`"));
        }
        self.each_above("flow", &curve.flow, "flows of a curve rise");
        self.not_negative("pressure", &curve.pressure, Pressure::si);
        self.each_below("pressure", &curve.pressure, "the pressure of a pump falls as its flow grows");
        self.same_length("flow", &curve.flow, "pressure", &curve.pressure);
    }

    fn element(&mut self, node: NodeId, element: &CoolantElement) {
        for faces in element.cools.iter().flat_map(|cools| cools.values()) {
            self.above_zero("flow", faces.flow, VolumeFlow::si);
            self.above_zero("face_a", faces.face_a, ThermalResistance::si);
            self.above_zero("face_b", faces.face_b, ThermalResistance::si);
            self.credible_to_coolant("face_a", faces.face_a);
            self.credible_to_coolant("face_b", faces.face_b);
            self.share("tolerance", faces.tolerance, MOST_OFF);
            if let (Some(flow), Some(resistance)) = (faces.flow, &element.resistance) {
                let why = "what follows the flow is the resistance of the element, and what leads from a case to it does not";
                self.only_one(("flow", flow.at), ("resistance", resistance.value.at), why);
            }
        }
        if let Some(resistance) = &element.resistance {
            self.above_zero("value", Some(resistance.value), ThermalResistance::si);
            self.above_zero("flow", resistance.flow, VolumeFlow::si);
            self.above_zero("heat_capacity", resistance.heat_capacity, HeatCapacity::si);
            self.credible_capacity(resistance.heat_capacity);
        }
        if let Some(drop) = &element.pressure_drop {
            self.pressure_drop(drop);
        }
        self.above_zero("least_flow", element.least_flow, VolumeFlow::si);
        if let Some(elevation) = &element.elevation {
            self.credible_height("in", elevation.inlet);
            self.credible_height("out", elevation.outlet);
        }
        if let Some(passage) = &element.passage {
            self.passage(passage);
        }
        let Some(split) = &element.split else { return };
        let Some(Entry { key, .. }) = self.tree.entry(node, "split") else { return };
        if let Some(Entry { key: cools, .. }) = self.tree.entry(node, "cools") {
            let why = "the flow divides at an element, or the element cools";
            self.only_one(("cools", cools), ("split", key), why);
        }
        let count = split.len();
        if count < 2 {
            let at = self.tree.span(key);
            self.ledger.note("bad-value", at, "split", || {
                let message = format!("a flow that divides has two branches or more, found {count}");
                Problem::new("bad-value", at, message, "expected another branch")
                    .with_way_out("add a branch, or name its elements in the path itself")
            });
        }
    }

    fn passage(&mut self, passage: &Passage) {
        self.above_zero("bore", passage.bore, Length::si);
        self.above_zero("length", passage.length, Length::si);
        self.above_zero("wetted_area", passage.wetted_area, Area::si);
        let numbers =
            [("losses", &passage.losses, 0.0), ("heat_concentration", &passage.heat_concentration, 1.0)];
        for (key, number, least) in numbers {
            if let Some(number) =
                number.as_ref().filter(|number| number.value.is_nan() || number.value < least)
            {
                let message = || format!("`{key}` is {least} or more");
                self.refuse(number.at, message, "too small", None);
            }
        }
    }

    fn pressure_drop(&mut self, drop: &PressureDrop) {
        if drop.flow.len() > 2 {
            let message = || "a pressure drop is stated at one flow or two".to_owned();
            self.refuse(
                drop.flow.at,
                message,
                "too many points",
                Some("keep the lowest and the highest flow"),
            );
        }
        self.above_zero("flow", drop.flow.first().copied(), VolumeFlow::si);
        self.above_zero("pressure", drop.pressure.first().copied(), Pressure::si);
        self.each_above("flow", &drop.flow, "flows of a pressure drop rise");
        self.each_above("pressure", &drop.pressure, "the pressure drop rises with the flow");
        self.same_length("flow", &drop.flow, "pressure", &drop.pressure);
    }

    /// Two elements may cool the two faces of a stage, or some of its devices each, but not one face twice.
    fn faces(&mut self, cooling: &Cooling) {
        let mut cooled: IndexMap<(&str, &str), (&CooledFaces, NodeId)> = IndexMap::new();
        let elements = cooling.elements.iter().flatten();
        let all = elements.flat_map(|(_, element)| element.cools.iter().flatten());
        for (part, faces) in all {
            for (face, at) in faces.stated() {
                if let Some((earlier, first)) = cooled.insert((part, face), (faces, at))
                    && (earlier.devices.is_none() || faces.devices.is_none())
                {
                    self.cooled_twice(part, face, first, at);
                }
            }
        }
        // A stage as a whole, and one of its positions once more.
        let positions = cooled.iter().filter_map(|((part, face), (faces, at))| {
            let (stage, _) = part.split_once('.')?;
            let (whole, first) = cooled.get(&(stage, *face))?;
            let shared = whole.devices.is_some() && faces.devices.is_some();
            (!shared).then_some((*part, *face, *first, *at))
        });
        for (part, face, first, at) in positions.collect::<Vec<_>>() {
            self.cooled_twice(part, face, first, at);
        }
    }

    fn cooled_twice(&mut self, part: &str, face: &str, first: NodeId, second: NodeId) {
        let (at, also) = (self.tree.span(second), self.tree.span(first));
        self.ledger.note("conflict", at, face, || {
            Problem::new(
                "conflict",
                at,
                format!("`{face}` of `{part}` is cooled by two elements"),
                "and here",
            )
            .with_also(also, "cooled here")
            .with_way_out(
                "state the other face, leave one of them out, or say at both how many `devices` stand there",
            )
        });
    }
}

impl Rules for Surroundings {
    fn check(&self, _: &mut Scope<'_>) {}
}

impl Rules for Header {
    fn check(&self, _: &mut Scope<'_>) {}
}
