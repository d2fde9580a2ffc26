//! The coolant loop and the surroundings.

use std::collections::HashMap;

use loadworthy_source::{NodeId, Problem};

use super::{Rules, Scope};
use crate::quantity::Given;
use crate::sections::cooling::{CoolantKind, Cooling};
use crate::sections::header::{Header, Surroundings};

/// The share of glycol whose properties are known.
const KNOWN_GLYCOL: f64 = 0.5;
/// Text such as `50.0 %` may miss the share by rounding alone.
const ROUNDING: f64 = 1e-9;

impl Rules for Cooling {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(CoolantKind::WaterGlycol(mixture)) = &self.coolant
            && let Some(glycol) = mixture.glycol
            && (glycol.value.value() - KNOWN_GLYCOL).abs() > ROUNDING
        {
            let message =
                || "properties of the coolant are known for a share of 50 % glycol alone".to_owned();
            scope.refuse(glycol.at, message, "another share", Some("write `50 %`"));
        }
        let elements = self.elements.iter().flatten();
        for (_, element) in elements.clone() {
            if let Some(resistance) = &element.resistance {
                scope.above_zero("flow", resistance.flow, loadworthy_physics::VolumeFlow::si);
            }
        }
        // Two elements may cool the two faces of a stage, but not one face twice.
        let mut cooled: HashMap<(&str, &str), NodeId> = HashMap::new();
        let faces = elements.flat_map(|(_, element)| element.cools.iter().flatten());
        for (stage, faces) in faces {
            for (face, given) in [("face_a", faces.face_a), ("face_b", faces.face_b)] {
                let Some(Given { at, .. }) = given else { continue };
                if let Some(first) = cooled.insert((stage, face), at) {
                    scope.cooled_twice(stage, face, first, at);
                }
            }
        }
    }
}

impl Scope<'_> {
    fn cooled_twice(&mut self, stage: &str, face: &str, first: NodeId, second: NodeId) {
        let (at, also) = (self.tree.span(second), self.tree.span(first));
        self.ledger.note("conflict", at, face, || {
            Problem::new(
                "conflict",
                at,
                format!("`{face}` of `{stage}` is cooled by two elements"),
                "and here",
            )
            .with_also(also, "cooled here")
            .with_way_out("state the other face, or leave one of them out")
        });
    }
}

impl Rules for Surroundings {
    fn check(&self, _: &mut Scope<'_>) {}
}

impl Rules for Header {
    fn check(&self, _: &mut Scope<'_>) {}
}
