//! Stages with a transformer whose output choke would rest in each period, and what their laws say then.

use loadworthy_physics::Law;
use loadworthy_physics::converters::{forward, full_bridge};

use crate::plan::{Role, Stage};
use crate::solver::carried::Point;
use crate::solver::laws;

/// Where figures of continuous current stand, once the current of the choke would rest.
const BEYOND: &str = "beyond its range here: behind diodes the current of the output choke would rest in each period, and with it as continuous this reads high";

macro_rules! beyond {
    ($($name:ident = $law:expr;)*) => {
        $(static $name: Law = Law {
            name: $law.name,
            formula: $law.formula,
            validity: BEYOND,
            source: $law.source,
        };)*

        /// The same law, where it stands beyond its range.
        pub(super) fn beyond(law: &'static Law) -> &'static Law {
            let all: [(&'static Law, &'static Law); _] = [$((&$law, &$name)),*];
            all.into_iter().find(|(own, _)| core::ptr::eq(*own, law)).map_or(law, |(_, beyond)| beyond)
        }
    };
}

beyond! {
    BRIDGE_DUTY = full_bridge::DUTY;
    BRIDGE_PRIMARY = full_bridge::PRIMARY;
    BRIDGE_CHOKE = full_bridge::INDUCTOR;
    BRIDGE_MAGNETISING = full_bridge::MAGNETISING;
    BRIDGE_INPUT = full_bridge::INPUT_CAPACITOR;
    BRIDGE_OUTPUT = full_bridge::OUTPUT_CAPACITOR;
    FORWARD_DUTY = forward::DUTY;
    FORWARD_PRIMARY = forward::PRIMARY;
    FORWARD_CHOKE = forward::RECTIFIER;
    FORWARD_MAGNETISING = forward::MAGNETISING;
    FORWARD_CAPACITORS = forward::CAPACITORS;
    SECONDARY = laws::SECONDARY;
}

/// Whether the current of an output choke would rest in each period: rectifiers that are switched let it reverse.
pub(super) fn would_rest(stage: &Stage, point: &Point) -> bool {
    let valley = match point {
        Point::Bridge(point) => point.inductor_valley,
        Point::Forward(point) => point.inductor_valley,
    };
    let mut rectifiers = stage
        .positions
        .iter()
        .filter(|position| matches!(position.role, Role::Rectifier | Role::Forward | Role::Freewheel));
    valley.si() < 0.0 && rectifiers.any(|position| position.gate.is_none())
}
