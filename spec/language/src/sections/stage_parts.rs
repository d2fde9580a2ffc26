//! What every topology has, under one name: buses, positions, places, magnetics.

use loadworthy_physics::Time;
use loadworthy_source::Located;

use super::stages::{Carrier, LegSwitches, Stage, SwitchPosition};
use crate::quantity::Given;

impl Stage {
    /// The buses that it stands between, each under its key; a bridge has one.
    #[must_use]
    pub fn buses(&self) -> Vec<(&'static str, Option<&Located<String>>)> {
        match self {
            Self::ThreePhaseBridge(bridge) => vec![("dc_bus", bridge.dc_bus.as_ref())],
            Self::Boost(boost) => {
                vec![("low_bus", boost.low_bus.as_ref()), ("high_bus", boost.high_bus.as_ref())]
            }
            Self::Buck(buck) => vec![("from", buck.from.as_ref()), ("to", buck.to.as_ref())],
            Self::PhaseShiftedFullBridge(bridge) => {
                vec![("from", bridge.from.as_ref()), ("to", bridge.to.as_ref())]
            }
            Self::ActiveClampForward(forward) => {
                vec![("from", forward.from.as_ref()), ("to", forward.to.as_ref())]
            }
        }
    }

    /// Its switch positions, each under its key.
    #[must_use]
    pub fn positions(&self) -> Vec<(&'static str, Option<&SwitchPosition>)> {
        fn of_legs(switches: Option<&LegSwitches>) -> Vec<(&'static str, Option<&SwitchPosition>)> {
            let of = |side: fn(&LegSwitches) -> Option<&SwitchPosition>| switches.and_then(side);
            vec![
                ("high_side", of(|switches| switches.high_side.as_ref())),
                ("low_side", of(|switches| switches.low_side.as_ref())),
            ]
        }
        match self {
            Self::ThreePhaseBridge(bridge) => of_legs(bridge.switches.as_ref()),
            Self::Boost(boost) => of_legs(boost.switches.as_ref()),
            Self::Buck(buck) => of_legs(buck.switches.as_ref()),
            Self::PhaseShiftedFullBridge(bridge) => {
                let switches = bridge.switches.as_ref();
                vec![
                    ("bridge_high", switches.and_then(|switches| switches.bridge_high.as_ref())),
                    ("bridge_low", switches.and_then(|switches| switches.bridge_low.as_ref())),
                    ("rectifier", switches.and_then(|switches| switches.rectifier.as_ref())),
                ]
            }
            Self::ActiveClampForward(forward) => {
                let switches = forward.switches.as_ref();
                vec![
                    ("main", switches.and_then(|switches| switches.main.as_ref())),
                    ("clamp", switches.and_then(|switches| switches.clamp.as_ref())),
                    ("forward", switches.and_then(|switches| switches.forward.as_ref())),
                    ("freewheel", switches.and_then(|switches| switches.freewheel.as_ref())),
                ]
            }
        }
    }

    /// Whether its first two positions are the high and the low side of one leg.
    #[must_use]
    pub const fn has_legs(&self) -> bool {
        match self {
            Self::ThreePhaseBridge(_) | Self::Boost(_) | Self::Buck(_) | Self::PhaseShiftedFullBridge(_) => {
                true
            }
            Self::ActiveClampForward(_) => false,
        }
    }

    /// Whether the device at one of its positions must be one that can be switched. At the others a diode alone may stand.
    #[must_use]
    pub fn must_switch(&self, position: &str) -> bool {
        match self {
            Self::ThreePhaseBridge(_) => true,
            Self::Boost(_) => position == "low_side",
            Self::Buck(_) => position == "high_side",
            Self::PhaseShiftedFullBridge(_) => matches!(position, "bridge_high" | "bridge_low"),
            Self::ActiveClampForward(_) => matches!(position, "main" | "clamp"),
        }
    }

    /// The magnetic components that it names, each under its key.
    #[must_use]
    pub fn magnetics(&self) -> Vec<(&'static str, Option<&Located<String>>)> {
        match self {
            Self::ThreePhaseBridge(_) => Vec::new(),
            Self::Boost(boost) => vec![("inductor", boost.inductor.as_ref())],
            Self::Buck(buck) => vec![("inductor", buck.inductor.as_ref())],
            Self::PhaseShiftedFullBridge(bridge) => vec![
                ("transformer", bridge.transformer.as_ref()),
                ("output_inductor", bridge.output_inductor.as_ref()),
            ],
            Self::ActiveClampForward(forward) => vec![
                ("transformer", forward.transformer.as_ref()),
                ("output_inductor", forward.output_inductor.as_ref()),
            ],
        }
    }

    /// Its carrier.
    #[must_use]
    pub const fn carrier(&self) -> Option<&Carrier> {
        match self {
            Self::ThreePhaseBridge(bridge) => bridge.carrier.as_ref(),
            Self::Boost(boost) => boost.carrier.as_ref(),
            Self::Buck(buck) => buck.carrier.as_ref(),
            Self::PhaseShiftedFullBridge(bridge) => bridge.carrier.as_ref(),
            Self::ActiveClampForward(forward) => forward.carrier.as_ref(),
        }
    }

    /// The dead time of its legs.
    #[must_use]
    pub const fn dead_time(&self) -> Option<&Given<Time>> {
        match self {
            Self::ThreePhaseBridge(bridge) => bridge.dead_time.as_ref(),
            Self::Boost(boost) => boost.dead_time.as_ref(),
            Self::Buck(buck) => buck.dead_time.as_ref(),
            Self::PhaseShiftedFullBridge(bridge) => bridge.dead_time.as_ref(),
            Self::ActiveClampForward(forward) => forward.dead_time.as_ref(),
        }
    }

    /// What commands its gates.
    #[must_use]
    pub const fn controller(&self) -> Option<&Located<String>> {
        match self {
            Self::ThreePhaseBridge(bridge) => bridge.controller.as_ref(),
            Self::Boost(boost) => boost.controller.as_ref(),
            Self::Buck(buck) => buck.controller.as_ref(),
            Self::PhaseShiftedFullBridge(bridge) => bridge.controller.as_ref(),
            Self::ActiveClampForward(forward) => forward.controller.as_ref(),
        }
    }

    /// The stages that must not fail together with it.
    #[must_use]
    pub const fn independent_of(&self) -> Option<&Located<Vec<Located<String>>>> {
        match self {
            Self::ThreePhaseBridge(bridge) => bridge.independent_of.as_ref(),
            Self::Boost(boost) => boost.independent_of.as_ref(),
            Self::Buck(buck) => buck.independent_of.as_ref(),
            Self::PhaseShiftedFullBridge(bridge) => bridge.independent_of.as_ref(),
            Self::ActiveClampForward(forward) => forward.independent_of.as_ref(),
        }
    }

    /// The places of one of its positions, as figures and gate supplies name them: the phases of a bridge, the legs of a
    /// boost. Empty where the position is a single place, and where it has no such position.
    #[must_use]
    pub fn places(&self, position: &str) -> Vec<String> {
        let named = |places: &[&str]| places.iter().map(|&place| place.to_owned()).collect();
        let legs = |legs: Option<Located<u32>>| {
            let most = legs.map_or(1, |legs| legs.value);
            (1..=most).map(|leg| leg.to_string()).collect()
        };
        match (self, position) {
            (Self::ThreePhaseBridge(_), "high_side" | "low_side") => named(&["u", "v", "w"]),
            (Self::Boost(boost), "high_side" | "low_side") => legs(boost.legs),
            (Self::Buck(buck), "high_side" | "low_side") => legs(buck.legs),
            (Self::PhaseShiftedFullBridge(_), "bridge_high" | "bridge_low") => named(&["a", "b"]),
            (Self::PhaseShiftedFullBridge(_), "rectifier") => named(&["1", "2"]),
            _ => Vec::new(),
        }
    }
}
