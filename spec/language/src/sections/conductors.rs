//! Fuses, contactors, connectors, bars, cables and whatever else the current passes.

use loadworthy_physics::{
    Area, Current, Energy, HeatCapacity, Inductance, Length, Power, Resistance, Temperature,
    ThermalResistance, Time, Voltage,
};
use loadworthy_source::Located;
use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Given, Points, Ratio, SquaredCurrentTime};

/// A conductor, by its kind.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename = "$tag=kind", rename_all = "snake_case")]
#[schemars(rename = "Conductor", tag = "kind")]
pub enum Conductor {
    /// A fuse.
    Fuse(Fuse),
    /// A contactor.
    Contactor(Contactor),
    /// A plug or a terminal.
    Connector(Connector),
    /// A current sensor; a shunt states its resistance.
    Sensor(Sensor),
    /// A copper bar.
    Busbar(Busbar),
    /// Two bars with insulation between them, one for each direction.
    LaminatedBusbar(LaminatedBusbar),
    /// An insulated cable.
    Cable(Cable),
    /// Copper of a printed board.
    Foil(Foil),
    /// A resistor, such as that of pre-charge.
    Resistor(Resistor),
    /// A choke in a line.
    LineChoke(LineChoke),
}

/// A current that a conductor stands for good at a temperature of its surroundings.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConductorCurrent {
    /// Current it stands for good.
    pub continuous: Option<Given<Current>>,
    /// Temperature of the surroundings that it is stated for.
    pub at: Option<Given<Temperature>>,
}

/// A fuse.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fuse {
    /// Rated voltage, e.g. `500 V DC`.
    pub voltage: Option<Given<Voltage>>,
    /// Rated current, in air of 25 degC.
    pub current: Option<Given<Current>>,
    /// I²t at which it melts, e.g. `48e3 A^2 s`: whether a bank that discharges through it melts it.
    pub melting: Option<Given<SquaredCurrentTime>>,
    /// I²t until it has cleared, e.g. `160e3 A^2 s`.
    pub clearing: Option<Given<SquaredCurrentTime>>,
    /// Highest current that it breaks.
    pub breaking: Option<Given<Current>>,
    /// Time constant L/R of the circuit that it breaks that current in, e.g. `10 ms`: of a slower one it breaks less.
    pub time_constant: Option<Given<Time>>,
    /// Lowest current that it breaks.
    pub least_breaking: Option<Given<Current>>,
    /// How soon overloads melt it.
    pub time_current: Option<TimeCurrent>,
    /// Temperature of its element when it is fully loaded.
    pub element: Option<Given<Temperature>>,
    /// Share of its current that it stands where the load comes and goes.
    pub cyclic_load: Option<Given<Ratio>>,
    /// Current over the rated one that certainly melts it within its conventional time of an hour or more; 160 % unless
    /// said otherwise.
    pub conventional_fusing: Option<Given<Ratio>>,
    /// Resistance, warm.
    pub resistance: Option<Given<Resistance>>,
    /// Altitude up to which its ratings hold; 2000 m, as standards have it, unless stated.
    pub altitude: Option<Given<Length>>,
}

/// Times after which rising currents melt a fuse, from cold: points of its data sheet. Currents are stated over the rated
/// one, so that a fuse of the same family has the same curve.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TimeCurrent {
    /// Currents over the rated current, rising, e.g. `[200 %, 350 %, 600 %]`; two or more.
    pub load: Points<Ratio>,
    /// The time after which each of them melts it, falling.
    pub time: Points<Time>,
}

/// A contactor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contactor {
    /// Current that its closed contacts stand.
    pub current: Option<ConductorCurrent>,
    /// What it breaks in service; a fault is broken by the fuse of its branch. What it breaks it makes as well.
    pub breaks: Option<Breaking>,
    /// The overload at which its control opens it, which so bounds what the branch carries for good.
    pub opens: Option<Opening>,
    /// When its control lets it close, where that joins two sources.
    pub closes: Option<Closing>,
    /// Highest current that its contacts close on; of a pre-charge, what its resistor lets into the empty bank; of a battery beside
    /// another, what equalises them.
    pub makes: Option<Given<Current>>,
    /// Resistance of its closed contacts, as measured at some 20 degC; warm they have more.
    pub resistance: Option<Given<Resistance>>,
    /// Contacts to the air inside the housing; with `hottest`, where no current is stated.
    pub thermal_resistance: Option<Given<ThermalResistance>>,
    /// Heat that contacts and what clamps them hold for each kelvin: how a short duty point warms them follows from it.
    pub heat_capacity: Option<Given<HeatCapacity>>,
    /// Highest temperature of its contacts.
    pub hottest: Option<Given<Temperature>>,
    /// I²t that its closed contacts stand, neither welding nor lifting.
    pub withstands: Option<Given<SquaredCurrentTime>>,
    /// Altitude up to which its ratings hold; 2000 m, as standards have it, unless stated.
    pub altitude: Option<Given<Length>>,
    /// What holds it closed; once that is lost it opens, and what stands behind it loses its feed.
    pub coil: Option<Coil>,
}

/// What the coil of a contactor lives on.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coil {
    /// The bus that it takes its power from.
    pub from: Option<Located<String>>,
    /// A second bus that holds it by itself once the first is lost.
    pub also_from: Option<Located<String>>,
    /// The controller that holds it closed, an entry of `controllers`; it opens once that stops.
    pub controller: Option<Located<String>>,
}

/// What a contactor breaks.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Breaking {
    /// At this voltage.
    pub voltage: Option<Given<Voltage>>,
    /// This current.
    pub current: Option<Given<Current>>,
}

/// When the control of a contactor opens it in an overload.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Above this current, tolerance included.
    pub above: Option<Given<Current>>,
    /// Once that has flowed for so long; at once unless said otherwise.
    pub after: Option<Given<Time>>,
}

/// When the control of a contactor closes it on something that has a voltage of its own.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Closing {
    /// At no more than this voltage across its open contacts, tolerance included.
    pub below: Option<Given<Voltage>>,
}

/// A plug or a terminal.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Connector {
    /// Current that it stands.
    pub current: Option<ConductorCurrent>,
    /// Resistance of its contacts, as measured at some 20 degC; warm they have more.
    pub resistance: Option<Given<Resistance>>,
    /// Contacts to the air inside the housing; with `hottest`, where no current is stated.
    pub thermal_resistance: Option<Given<ThermalResistance>>,
    /// Heat that contacts and what clamps them hold for each kelvin: how a short duty point warms them follows from it.
    pub heat_capacity: Option<Given<HeatCapacity>>,
    /// Highest temperature of its contacts.
    pub hottest: Option<Given<Temperature>>,
}

/// A current sensor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sensor {
    /// Current that it stands.
    pub current: Option<ConductorCurrent>,
    /// Highest current that it measures; more than that must not pass it in service.
    pub range: Option<Given<Current>>,
    /// Resistance in the line; a shunt states it.
    pub resistance: Option<Given<Resistance>>,
    /// Power that a shunt stands for good.
    pub power: Option<Given<Power>>,
}

/// A copper bar.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Busbar {
    /// Width.
    pub width: Option<Given<Length>>,
    /// Thickness.
    pub thickness: Option<Given<Length>>,
    /// Length along the current.
    pub length: Option<Given<Length>>,
    /// Current that it stands, where that is known without a calculation.
    pub current: Option<ConductorCurrent>,
    /// Resistance, where it is known better than from the section.
    pub resistance: Option<Given<Resistance>>,
    /// Which way it lies in still air; flat unless said otherwise, which cools least.
    pub position: Option<Located<BarPosition>>,
    /// Share of the heat of a black body that its surface radiates: bright copper 0.1, oxidised 0.4, painted 0.9.
    pub emissivity: Option<Given<Ratio>>,
    /// Highest temperature that what touches it stands: insulation, joints, supports.
    pub hottest: Option<Given<Temperature>>,
    /// Highest temperature that what touches it stands for some seconds, e.g. `160 degC` PVC, `250 degC` cross-linked.
    pub hottest_briefly: Option<Given<Temperature>>,
    /// A pad that leads its heat to the coolant; air then counts for nothing.
    pub pad: Option<Pad>,
}

/// Two bars with insulation between them.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LaminatedBusbar {
    /// Width.
    pub width: Option<Given<Length>>,
    /// Thickness of one bar.
    pub thickness: Option<Given<Length>>,
    /// Length along the current, one way.
    pub length: Option<Given<Length>>,
    /// Insulation between the two bars.
    pub gap: Option<Given<Length>>,
    /// Current that it stands, where that is known without a calculation.
    pub current: Option<ConductorCurrent>,
    /// Resistance of both bars, where it is known better than from the section.
    pub resistance: Option<Given<Resistance>>,
    /// Which way it lies in still air; flat unless said otherwise, which cools least.
    pub position: Option<Located<BarPosition>>,
    /// Share of the heat of a black body that its surface radiates: bright copper 0.1, oxidised 0.4, painted 0.9.
    pub emissivity: Option<Given<Ratio>>,
    /// Highest temperature that what touches it stands: insulation, joints, supports.
    pub hottest: Option<Given<Temperature>>,
    /// Highest temperature that what touches it stands for some seconds, e.g. `160 degC` PVC, `250 degC` cross-linked.
    pub hottest_briefly: Option<Given<Temperature>>,
    /// A pad that leads its heat to the coolant; air then counts for nothing.
    pub pad: Option<Pad>,
}

/// An insulated cable.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cable {
    /// Nominal section of its copper; its resistance is that of class 5 of IEC 60228.
    pub section: Option<Given<Area>>,
    /// Length along the current.
    pub length: Option<Given<Length>>,
    /// Current that it stands, where that is known without a calculation.
    pub current: Option<ConductorCurrent>,
    /// Resistance, where it is known better than from the section.
    pub resistance: Option<Given<Resistance>>,
    /// Diameter over its insulation.
    pub outer_diameter: Option<Given<Length>>,
    /// Highest temperature that its insulation stands for good, e.g. `70 degC` PVC, `90 degC` cross-linked.
    pub hottest: Option<Given<Temperature>>,
    /// Highest temperature that what touches it stands for some seconds, e.g. `160 degC` PVC, `250 degC` cross-linked.
    pub hottest_briefly: Option<Given<Temperature>>,
}

/// Copper of a printed board.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Foil {
    /// Width.
    pub width: Option<Given<Length>>,
    /// Thickness of the copper.
    pub thickness: Option<Given<Length>>,
    /// Length along the current.
    pub length: Option<Given<Length>>,
    /// Where in the board it lies; inner unless said otherwise, which cools least.
    pub layer: Option<Located<Layer>>,
    /// Resistance, where it is known better than from the section.
    pub resistance: Option<Given<Resistance>>,
    /// Highest temperature that the laminate stands.
    pub hottest: Option<Given<Temperature>>,
    /// Highest temperature that what touches it stands for some seconds, e.g. `160 degC` PVC, `250 degC` cross-linked.
    pub hottest_briefly: Option<Given<Temperature>>,
}

/// Which way a bar lies in still air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum BarPosition {
    /// Its width upright: air rises along both broad faces.
    OnEdge,
    /// Its width level: the lower broad face hardly cools.
    Flat,
}

/// A pad between a bar and an element of the coolant path.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pad {
    /// The element of `cooling.elements` that it lies on.
    pub on: Option<Located<String>>,
    /// From the bar to the coolant there, or to the plate where the element states a resistance of its own.
    pub resistance: Option<Given<ThermalResistance>>,
}

/// Where in a board copper lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(inline)]
pub enum Layer {
    /// On a face, where air takes its heat.
    Outer,
    /// Between layers of laminate.
    Inner,
}

/// A resistor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Resistor {
    /// Resistance.
    pub resistance: Option<Given<Resistance>>,
    /// Energy that it stands in one pulse, such as that of a pre-charge.
    pub energy: Option<Given<Energy>>,
}

/// A choke in a line.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineChoke {
    /// Inductance. Read now; no check judges it yet.
    pub inductance: Option<Given<Inductance>>,
    /// Current that it stands.
    pub current: Option<ConductorCurrent>,
    /// Resistance of its winding.
    pub resistance: Option<Given<Resistance>>,
}

impl Conductor {
    /// What it is, in plain words with the article.
    #[must_use]
    pub const fn with_article(&self) -> &'static str {
        match self {
            Self::Fuse(_) => "a fuse",
            Self::Contactor(_) => "a contactor",
            Self::Connector(_) => "a connector",
            Self::Sensor(_) => "a sensor",
            Self::Busbar(_) => "a busbar",
            Self::LaminatedBusbar(_) => "a laminated busbar",
            Self::Cable(_) => "a cable",
            Self::Foil(_) => "a foil",
            Self::Resistor(_) => "a resistor",
            Self::LineChoke(_) => "a line choke",
        }
    }

    /// The current that it stands for good, where it states one.
    #[must_use]
    pub const fn rated(&self) -> Option<&ConductorCurrent> {
        match self {
            Self::Contactor(contactor) => contactor.current.as_ref(),
            Self::Connector(connector) => connector.current.as_ref(),
            Self::Sensor(sensor) => sensor.current.as_ref(),
            Self::Busbar(bar) => bar.current.as_ref(),
            Self::LaminatedBusbar(bar) => bar.current.as_ref(),
            Self::Cable(cable) => cable.current.as_ref(),
            Self::LineChoke(choke) => choke.current.as_ref(),
            // A fuse is judged with what it protects, foil and resistors by their temperature.
            Self::Fuse(_) | Self::Foil(_) | Self::Resistor(_) => None,
        }
    }

    /// The highest temperature that it states for itself or what touches it.
    #[must_use]
    pub const fn hottest(&self) -> Option<&Given<Temperature>> {
        match self {
            Self::Contactor(contactor) => contactor.hottest.as_ref(),
            Self::Connector(connector) => connector.hottest.as_ref(),
            Self::Busbar(bar) => bar.hottest.as_ref(),
            Self::LaminatedBusbar(bar) => bar.hottest.as_ref(),
            Self::Cable(cable) => cable.hottest.as_ref(),
            Self::Foil(foil) => foil.hottest.as_ref(),
            Self::Fuse(_) | Self::Sensor(_) | Self::Resistor(_) | Self::LineChoke(_) => None,
        }
    }

    /// The pad that cools it.
    #[must_use]
    pub const fn pad(&self) -> Option<&Pad> {
        match self {
            Self::Busbar(bar) => bar.pad.as_ref(),
            Self::LaminatedBusbar(bar) => bar.pad.as_ref(),
            _ => None,
        }
    }

    /// What holds it closed, of a contactor.
    #[must_use]
    pub const fn coil(&self) -> Option<&Coil> {
        match self {
            Self::Contactor(contactor) => contactor.coil.as_ref(),
            _ => None,
        }
    }

    /// The resistance that it states.
    #[must_use]
    pub const fn resistance(&self) -> Option<&Given<Resistance>> {
        match self {
            Self::Fuse(fuse) => fuse.resistance.as_ref(),
            Self::Contactor(contactor) => contactor.resistance.as_ref(),
            Self::Connector(connector) => connector.resistance.as_ref(),
            Self::Sensor(sensor) => sensor.resistance.as_ref(),
            Self::Busbar(bar) => bar.resistance.as_ref(),
            Self::LaminatedBusbar(bar) => bar.resistance.as_ref(),
            Self::Cable(cable) => cable.resistance.as_ref(),
            Self::Foil(foil) => foil.resistance.as_ref(),
            Self::Resistor(resistor) => resistor.resistance.as_ref(),
            Self::LineChoke(choke) => choke.resistance.as_ref(),
        }
    }

    /// Whether two nodes that it joins are one potential for a gate: a bar is, and a sensor around one; whatever may open,
    /// drop a voltage or hold a change of current off is not.
    #[must_use]
    pub const fn joins_potentials(&self) -> bool {
        match self {
            Self::Busbar(_) | Self::LaminatedBusbar(_) => true,
            Self::Sensor(sensor) => sensor.resistance.is_none(),
            Self::Fuse(_)
            | Self::Contactor(_)
            | Self::Connector(_)
            | Self::Cable(_)
            | Self::Foil(_)
            | Self::Resistor(_)
            | Self::LineChoke(_) => false,
        }
    }

    /// What it is, in a word.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Fuse(_) => "fuse",
            Self::Contactor(_) => "contactor",
            Self::Connector(_) => "connector",
            Self::Sensor(sensor) if sensor.resistance.is_some() => "shunt",
            Self::Sensor(_) => "sensor",
            Self::Busbar(_) | Self::LaminatedBusbar(_) => "bar",
            Self::Cable(_) => "cable",
            Self::Foil(_) => "foil",
            Self::Resistor(_) => "resistor",
            Self::LineChoke(_) => "choke",
        }
    }
}
