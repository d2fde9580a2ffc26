//! Conductors that are judged by their temperature: what heats them, and how the heat leaves.

use loadworthy_physics::conductors::cable::{self, Cable};
use loadworthy_physics::conductors::copper::{growth, section_resistance, skin_depth};
use loadworthy_physics::conductors::free_air::{self, Air, Bar, Position};
use loadworthy_physics::conductors::{foil, skin};
use loadworthy_physics::{
    Area, Current, Frequency, Law, Length, Power, Resistance, SquaredCurrent, Temperature,
};

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
    /// Alternating currents that it carries beside the direct one.
    pub ripples: Vec<ConductorRipple>,
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
    },
}

/// A pad between a bar and the coolant.
#[derive(Clone, Copy, Debug)]
pub struct Pad {
    /// Its thermal resistance.
    pub resistance: InputId,
    /// What it leads to.
    pub reference: Operand,
}

/// An alternating current and its frequency.
#[derive(Clone, Copy, Debug)]
pub struct ConductorRipple {
    /// Its RMS value.
    pub current: FigureId,
    /// The carrier that it comes from.
    pub carrier: InputId,
    /// Its frequency over that of the carrier, for each of the legs where they are interleaved.
    pub times: f64,
    /// Interleaved legs.
    pub legs: Option<InputId>,
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
    /// Whether an input is one that the resistance follows from.
    #[must_use]
    pub fn is_set_by(&self, input: InputId) -> bool {
        match *self {
            Self::Rectangle { width, thickness, length, .. } => [width, thickness, length].contains(&input),
            Self::Cable { section, length, .. } => [section, length].contains(&input),
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
            Body::Contact { thermal_resistance } => {
                from.extend([air[0], air[1], thermal_resistance.into()]);
            }
        }
    }

    /// The sides that an alternating current crowds in.
    pub(crate) fn crowds_in(&self, from: &mut Vec<Operand>) {
        match self.body {
            Body::Bar { thickness, gap: Some(_), .. } => from.push(thickness.into()),
            Body::Bar { width, thickness, gap: None, .. } | Body::Foil { width, thickness, .. } => {
                from.extend([width, thickness].map(Operand::from));
            }
            Body::Cable { section, .. } => from.push(section.into()),
            Body::Contact { .. } => {}
        }
    }

    /// How many times more an alternating current heats it than a direct one, at the temperature of the air; copper that
    /// is hotter crowds less.
    pub(crate) fn crowding(&self, frequency: f64, air: f64, input: impl Fn(InputId) -> f64) -> f64 {
        let depth = skin_depth(Frequency::new(frequency), Temperature::celsius(air));
        match self.body {
            Body::Bar { thickness, gap: Some(_), .. } => skin::pair(Length::new(input(thickness)), depth),
            Body::Bar { width, thickness, gap: None, .. } | Body::Foil { width, thickness, .. } => {
                skin::bar(Length::new(input(width)), Length::new(input(thickness)), depth)
            }
            Body::Cable { section, .. } => {
                let diameter = (4.0 * input(section) / core::f64::consts::PI).sqrt();
                skin::round(Length::new(diameter), depth)
            }
            Body::Contact { .. } => 1.0,
        }
    }

    /// Temperature in °C at which it settles with a heating current in A, from what `value` gives for each operand.
    pub fn temperature(
        &self,
        conductor: &Conductor,
        heating_current: f64,
        value: impl Fn(Operand) -> f64,
    ) -> f64 {
        let input = |id: InputId| value(Operand::Input(id));
        let air = Temperature::celsius(input(conductor.surroundings));
        let amps = Current::new(heating_current);
        let heating: SquaredCurrent = amps * amps;
        let stated = input(conductor.resistance);
        let ohms = |copper: Temperature| stated * (growth(copper) / growth(air));
        let into = |copper: Temperature| Power::new(heating.si() * ohms(copper));
        let over = |reference: Temperature, path: f64| {
            free_air::settled(reference, into, |copper| {
                Power::new((copper.in_celsius() - reference.in_celsius()) / path)
            })
        };
        let still = || Air {
            temperature: air,
            pressure_share: free_air::pressure_share(Length::new(input(self.altitude))),
        };
        match self.body {
            Body::Bar { pad: Some(pad), .. } => {
                over(Temperature::celsius(value(pad.reference)), input(pad.resistance)).in_celsius()
            }
            Body::Bar { width, thickness, length, gap, position, emissivity, pad: None } => {
                let over_all = match gap {
                    Some(gap) => 2.0 * input(thickness) + input(gap),
                    None => input(thickness),
                };
                let bar = Bar {
                    width: Length::new(input(width)),
                    thickness: Length::new(over_all),
                    length: Length::new(input(length)),
                    position: if input(position) > 0.5 { Position::OnEdge } else { Position::Flat },
                    emissivity: input(emissivity),
                };
                let still = still();
                free_air::settled(air, into, |copper| free_air::leaving(&bar, &still, copper)).in_celsius()
            }
            Body::Cable { section, length, outer_diameter } => {
                let cable = Cable {
                    section: Area::new(input(section)),
                    length: Length::new(input(length)),
                    outer_diameter: Length::new(input(outer_diameter)),
                };
                let at_20 = Resistance::new(stated / growth(air));
                cable::temperature(&cable, &still(), heating, at_20).in_celsius()
            }
            Body::Foil { width, thickness, layer } => {
                let (width, thickness) = (Length::new(input(width)), Length::new(input(thickness)));
                (air + foil::rise(amps, width, thickness, input(layer) > 0.5)).in_celsius()
            }
            Body::Contact { thermal_resistance } => over(air, input(thermal_resistance)).in_celsius(),
        }
    }
}
