//! Conductors that are judged by their temperature: what heats them, and how the heat leaves.

use loadworthy_physics::conductors::copper::{section_resistance, skin_depth};
use loadworthy_physics::conductors::{cable, foil, free_air, skin};
use loadworthy_physics::{Area, Frequency, Law, Length, Temperature};

use crate::ids::{FigureId, InputId};
use crate::plan::Conductor;
use crate::trace::Operand;

/// What heats a conductor, and how the heat leaves.
#[derive(Clone, Debug)]
pub struct ConductorHeat {
    /// What it is.
    pub body: Body,
    /// The section that its resistance follows from, where none is stated.
    pub section: Option<Section>,
    /// Highest temperature of what touches it.
    pub hottest: InputId,
    /// Height of the place above the sea.
    pub altitude: InputId,
    /// What is solved for it.
    pub figures: ConductorHeatFigures,
}

/// Figures of a conductor that is judged by its temperature.
#[derive(Clone, Copy, Debug)]
pub struct ConductorHeatFigures {
    /// Alternating current, RMS.
    pub ripple: FigureId,
    /// Direct current that would heat it as much.
    pub heating_current: FigureId,
    /// Temperature at which it settles.
    pub temperature: FigureId,
    /// Highest temperature while a duty point lasts, where one is followed over time.
    pub hottest: Option<FigureId>,
}

impl ConductorHeatFigures {
    /// The temperature that it is judged by.
    #[must_use]
    pub fn highest(&self) -> FigureId {
        self.hottest.unwrap_or(self.temperature)
    }
}

/// What a conductor is.
#[derive(Clone, Debug)]
pub enum Body {
    /// A bar, or two with insulation between them where a gap is given.
    Bar {
        /// Width.
        width: InputId,
        /// Thickness of one bar.
        thickness: InputId,
        /// Length along the current.
        length: InputId,
        /// Insulation between two bars; none of a single one.
        gap: Option<InputId>,
        /// 1 on edge, 0 flat.
        position: InputId,
        /// Share of the heat of a black body that its surface radiates.
        emissivity: InputId,
        /// A pad in place of air.
        pad: Option<Pad>,
    },
    /// An insulated cable.
    Cable {
        /// Nominal section.
        section: InputId,
        /// Length along the current.
        length: InputId,
        /// Diameter over its insulation.
        outer_diameter: InputId,
    },
    /// Copper of a printed board.
    Foil {
        /// Width.
        width: InputId,
        /// Thickness.
        thickness: InputId,
        /// 1 on a face of the board, 0 inside.
        layer: InputId,
    },
    /// Contacts.
    Contact {
        /// To the air around them.
        thermal_resistance: InputId,
        /// Heat that they hold for each kelvin, where that is stated.
        heat_capacity: Option<InputId>,
    },
}

/// A pad between a bar and the coolant.
#[derive(Clone, Copy, Debug)]
pub struct Pad {
    /// Its thermal resistance.
    pub resistance: InputId,
    /// What it leads to.
    pub reference: Operand,
    /// The place that this is in, where one is.
    pub place: Option<usize>,
}

/// Where an alternating current crowds in a conductor.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Crowds {
    /// In one of two bars with insulation between them.
    Pair {
        /// Thickness of one bar.
        thickness: InputId,
    },
    /// In a bar, or in foil.
    Bar {
        /// Width.
        width: InputId,
        /// Thickness.
        thickness: InputId,
    },
    /// In a cable.
    Round {
        /// Nominal section.
        section: InputId,
    },
}

impl Crowds {
    /// The sides that it crowds in.
    pub(crate) fn from(self, from: &mut Vec<Operand>) {
        match self {
            Self::Pair { thickness: one } | Self::Round { section: one } => from.push(one.into()),
            Self::Bar { width, thickness } => from.extend([width, thickness].map(Operand::from)),
        }
    }

    /// Width and thickness that it crowds in; of a cable its diameter, of a pair the thickness alone.
    pub(crate) fn sides(self, input: impl Fn(InputId) -> f64) -> [f64; 2] {
        match self {
            Self::Pair { thickness } => [0.0, input(thickness)],
            Self::Bar { width, thickness } => [input(width), input(thickness)],
            Self::Round { section } => [(4.0 * input(section) / core::f64::consts::PI).sqrt(), 0.0],
        }
    }

    /// How many times more it heats than a direct one, at the temperature of the air; copper that is hotter crowds less.
    pub(crate) fn factor(self, frequency: Frequency, air: f64, [width, thickness]: [f64; 2]) -> f64 {
        let depth = skin_depth(frequency, Temperature::celsius(air));
        let (width, thickness) = (Length::new(width), Length::new(thickness));
        match self {
            Self::Pair { .. } => skin::pair(thickness, depth),
            Self::Bar { .. } => skin::bar(width, thickness, depth),
            Self::Round { .. } => skin::round(width, depth),
        }
    }
}

/// A section that a resistance follows from.
#[derive(Clone, Copy, Debug)]
pub enum Section {
    /// Width by thickness, so many times there and back.
    Rectangle {
        /// Width.
        width: InputId,
        /// Thickness.
        thickness: InputId,
        /// Length.
        length: InputId,
        /// Temperature that the resistance is stated at.
        copper: f64,
        /// Bars one after another along the current.
        ways: f64,
    },
    /// Nominal section of a cable.
    Cable {
        /// Nominal section.
        section: InputId,
        /// Length.
        length: InputId,
        /// Temperature that the resistance is stated at.
        copper: f64,
    },
}

impl Section {
    /// Whether the resistance follows from any input of which `is_set` holds.
    #[must_use]
    pub fn is_set_by(&self, is_set: impl Fn(InputId) -> bool) -> bool {
        match *self {
            Self::Rectangle { width, thickness, length, .. } => {
                [width, thickness, length].into_iter().any(is_set)
            }
            Self::Cable { section, length, .. } => [section, length].into_iter().any(is_set),
        }
    }

    /// The resistance in Ω that follows from what `input` gives.
    pub fn resistance(&self, input: impl Fn(InputId) -> f64) -> f64 {
        match *self {
            Self::Rectangle { width, thickness, length, copper, ways } => {
                let section = Area::new(input(width) * input(thickness));
                let copper = Temperature::celsius(copper);
                (section_resistance(section, Length::new(input(length)), copper) * ways).si()
            }
            Self::Cable { section, length, copper } => {
                let (section, length) = (Area::new(input(section)), Length::new(input(length)));
                cable::resistance(section, length, Temperature::celsius(copper)).si()
            }
        }
    }
}

impl ConductorHeat {
    /// The law that its temperature follows.
    #[must_use]
    pub fn law(&self) -> &'static Law {
        match self.body {
            Body::Bar { pad: Some(_), .. } | Body::Contact { .. } => &free_air::OVER_RESISTANCE,
            Body::Bar { pad: None, .. } => &free_air::BAR_TEMPERATURE,
            Body::Cable { .. } => &cable::CABLE_TEMPERATURE,
            Body::Foil { .. } => &foil::FOIL,
        }
    }

    /// What its temperature follows from, beside the current.
    pub(crate) fn from(&self, conductor: &Conductor, from: &mut Vec<Operand>) {
        let air: [Operand; 3] =
            [conductor.resistance.into(), conductor.surroundings.into(), self.altitude.into()];
        match self.body {
            Body::Bar { pad: Some(pad), .. } => {
                // Its resistance is one at the temperature of the air.
                from.extend([air[0], air[1], pad.resistance.into(), pad.reference]);
            }
            Body::Bar { width, thickness, length, gap, position, emissivity, pad: None } => {
                from.extend(air);
                let body = [width, thickness, length, position, emissivity];
                from.extend(body.into_iter().chain(gap).map(Operand::from));
            }
            Body::Cable { section, length, outer_diameter } => {
                from.extend(air);
                from.extend([section, length, outer_diameter].map(Operand::from));
            }
            Body::Foil { width, thickness, layer } => {
                from.push(conductor.surroundings.into());
                from.extend([width, thickness, layer].map(Operand::from));
            }
            Body::Contact { thermal_resistance, .. } => {
                from.extend([air[0], air[1], thermal_resistance.into()]);
            }
        }
    }

    /// The place of the coolant path that its pad leads to.
    #[must_use]
    pub const fn pad_place(&self) -> Option<usize> {
        match self.body {
            Body::Bar { pad: Some(pad), .. } => pad.place,
            _ => None,
        }
    }

    /// Whether it is known how much heat it holds.
    #[must_use]
    pub fn holds_heat(&self) -> bool {
        !matches!(self.body, Body::Contact { heat_capacity: None, .. })
    }

    /// What its heat capacity follows from.
    pub(crate) fn holds(&self, from: &mut Vec<Operand>) {
        let sides: [Option<InputId>; 3] = match self.body {
            Body::Bar { width, thickness, length, .. } => [Some(width), Some(thickness), Some(length)],
            Body::Cable { section, length, .. } => [Some(section), Some(length), None],
            Body::Foil { width, thickness, .. } => [Some(width), Some(thickness), None],
            Body::Contact { heat_capacity, .. } => [heat_capacity, None, None],
        };
        from.extend(sides.into_iter().flatten().map(Operand::from));
    }

    /// Where an alternating current crowds in it; nowhere in contacts.
    pub(crate) const fn crowds(&self) -> Option<Crowds> {
        match self.body {
            Body::Bar { thickness, gap: Some(_), .. } => Some(Crowds::Pair { thickness }),
            Body::Bar { width, thickness, gap: None, .. } | Body::Foil { width, thickness, .. } => {
                Some(Crowds::Bar { width, thickness })
            }
            Body::Cable { section, .. } => Some(Crowds::Round { section }),
            Body::Contact { .. } => None,
        }
    }

    /// Direct current in A that settles it at the highest temperature of what touches it, from what `value` gives for each
    /// operand.
    pub fn carries(&self, conductor: &Conductor, value: impl Fn(Operand) -> f64) -> f64 {
        let hottest = value(Operand::Input(self.hottest));
        self.balance(conductor, 0.0, value).carries(hottest)
    }

    /// Temperature in °C at which it settles with a heating current in A, from what `value` gives for each operand.
    pub fn temperature(
        &self,
        conductor: &Conductor,
        heating_current: f64,
        value: impl Fn(Operand) -> f64,
    ) -> f64 {
        self.balance(conductor, heating_current, value).settled()
    }
}
