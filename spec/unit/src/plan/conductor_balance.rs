//! What warms a conductor and what leaves it, in one lane.

use loadworthy_physics::conductors::cable::{self, Cable};
use loadworthy_physics::conductors::copper::{growth, section_resistance};
use loadworthy_physics::conductors::free_air::{self, Air, Bar, Position};
use loadworthy_physics::conductors::{foil, warming};
use loadworthy_physics::{
    Area, Current, HeatCapacity, Length, Power, Resistance, SquaredCurrent, Temperature,
    TemperatureDifference, Time,
};

use crate::ids::InputId;
use crate::plan::{Body, Conductor, ConductorHeat};
use crate::trace::Operand;

/// Where the resistance of contacts is taken to be stated.
const COOL: Temperature = Temperature::celsius(20.0);

/// What flows into a conductor and out of it.
pub(crate) struct Balance {
    amps: Current,
    /// Resistance at the temperature of the air.
    ohms: f64,
    air: Temperature,
    way: Way,
    capacity: HeatCapacity,
}

/// How its heat leaves.
enum Way {
    /// Over a resistance to what stands before it.
    Over { reference: Temperature, path: f64 },
    /// A bar in still air.
    Bar(Bar, Air),
    /// A cable in still air.
    Cable(Cable, Air),
    /// A foil; a metre of it.
    Foil { width: Length, thickness: Length, is_outer: bool },
}

impl ConductorHeat {
    /// The temperature that the resistance of a conductor holds at in such air: data sheets measure contacts in a cool room.
    pub(crate) fn stated_at(&self, air: Temperature) -> Temperature {
        if matches!(self.body, Body::Contact { .. }) { COOL } else { air }
    }

    /// What flows in and out with a heating current in A, from what `value` gives for each operand.
    pub(crate) fn balance(
        &self,
        conductor: &Conductor,
        heating_current: f64,
        value: impl Fn(Operand) -> f64,
    ) -> Balance {
        let input = |id: InputId| value(Operand::Input(id));
        let length = |id: InputId| Length::new(input(id));
        let air = Temperature::celsius(input(conductor.surroundings));
        let still =
            || Air { temperature: air, pressure_share: free_air::pressure_share(length(self.altitude)) };
        let ohms = match self.body {
            Body::Foil { .. } => f64::NAN,
            _ => input(conductor.resistance) * (growth(air) / growth(self.stated_at(air))),
        };
        let solid = |width, thickness, along: Length, ways: f64| {
            warming::heat_capacity(Area::new(input(width) * input(thickness)), along * ways)
        };
        let (way, capacity) = match self.body {
            Body::Bar { width, thickness, length: along, gap, position, emissivity, pad } => {
                let ways = if gap.is_some() { 2.0 } else { 1.0 };
                let capacity = solid(width, thickness, length(along), ways);
                let over_all = match gap {
                    Some(gap) => 2.0 * input(thickness) + input(gap),
                    None => input(thickness),
                };
                let way = match pad {
                    Some(pad) => Way::Over {
                        reference: Temperature::celsius(value(pad.reference)),
                        path: input(pad.resistance),
                    },
                    None => Way::Bar(
                        Bar {
                            width: length(width),
                            thickness: Length::new(over_all),
                            length: length(along),
                            position: if input(position) > 0.5 { Position::OnEdge } else { Position::Flat },
                            emissivity: input(emissivity),
                        },
                        still(),
                    ),
                };
                (way, capacity)
            }
            Body::Cable { section, length: along, outer_diameter } => {
                let cable = Cable {
                    section: Area::new(input(section)),
                    length: length(along),
                    outer_diameter: length(outer_diameter),
                };
                let at_20 = cable::resistance(cable.section, cable.length, Temperature::celsius(20.0));
                // Of a section that the table does not know, the copper that its stated resistance leaves.
                let at_20 = if at_20.si().is_nan() { Resistance::new(ohms / growth(air)) } else { at_20 };
                (Way::Cable(cable, still()), warming::of_resistance(cable.length, at_20))
            }
            Body::Foil { width, thickness, layer } => {
                let is_outer = input(layer) > 0.5;
                let capacity = solid(width, thickness, Length::new(1.0), 1.0);
                (Way::Foil { width: length(width), thickness: length(thickness), is_outer }, capacity)
            }
            Body::Contact { thermal_resistance, heat_capacity } => {
                let way = Way::Over { reference: air, path: input(thermal_resistance) };
                (way, HeatCapacity::new(heat_capacity.map_or(0.0, input)))
            }
        };
        Balance { amps: Current::new(heating_current), ohms, air, way, capacity }
    }
}

impl Balance {
    /// The same with its pad before something of another temperature, in °C.
    pub(crate) fn before(mut self, celsius: f64) -> Self {
        if let Way::Over { reference, .. } = &mut self.way {
            *reference = Temperature::celsius(celsius);
        }
        self
    }

    fn heating(&self) -> SquaredCurrent {
        self.amps * self.amps
    }

    fn into(&self, copper: Temperature) -> Power {
        Power::new(self.heating().si() * (self.ohms * (growth(copper) / growth(self.air))))
    }

    /// Temperature in °C at which it settles.
    pub(crate) fn settled(&self) -> f64 {
        let settles = match &self.way {
            Way::Over { reference, path } => free_air::settled(
                *reference,
                |copper| self.into(copper),
                |copper| Power::new((copper.in_celsius() - reference.in_celsius()) / path),
            ),
            Way::Bar(bar, still) => free_air::settled(
                self.air,
                |copper| self.into(copper),
                |copper| free_air::leaving(bar, still, copper),
            ),
            Way::Cable(cable, still) => {
                let at_20 = Resistance::new(self.ohms / growth(self.air));
                cable::temperature(cable, still, self.heating(), at_20)
            }
            Way::Foil { width, thickness, is_outer } => {
                self.air + foil::rise(self.amps, *width, *thickness, *is_outer)
            }
        };
        settles.in_celsius()
    }

    /// What flows in less what leaves at a temperature of its copper.
    fn net(&self, copper: Temperature) -> Power {
        match &self.way {
            Way::Over { reference, path } => {
                self.into(copper) - Power::new((copper.in_celsius() - reference.in_celsius()) / path)
            }
            Way::Bar(bar, still) => self.into(copper) - free_air::leaving(bar, still, copper),
            Way::Cable(cable, still) => self.into(copper) - cable::leaving_copper(cable, still, copper),
            Way::Foil { width, thickness, is_outer } => {
                let ohms = section_resistance(*width * *thickness, Length::new(1.0), copper);
                let rise = copper.in_celsius() - self.air.in_celsius();
                let settling = if rise > 0.0 {
                    foil::settling(TemperatureDifference::new(rise), *width, *thickness, *is_outer)
                } else {
                    Current::ZERO
                };
                Power::new((self.heating().si() - settling.si() * settling.si()) * ohms.si())
            }
        }
    }

    /// Current in A that settles it at a temperature in °C; none where what is around it brings it there already.
    pub(crate) fn carries(mut self, celsius: f64) -> f64 {
        let copper = Temperature::celsius(celsius);
        if let Way::Foil { width, thickness, is_outer } = &self.way {
            let rise = TemperatureDifference::new(celsius - self.air.in_celsius());
            return foil::carried(rise, *width, *thickness, *is_outer).si();
        }
        let mut net = |amps: f64| {
            self.amps = Current::new(amps);
            self.net(copper).si()
        };
        // What flows in rises with the square of the current, what leaves not at all.
        let (left, with_one) = (-net(0.0), net(1.0));
        let square = left / (with_one + left);
        if square < 0.0 { 0.0 } else { square.sqrt() }
    }

    /// What is colder than the air around it counts as warm as that, in °C: what warms it from outside is not in the laws.
    pub(crate) fn no_colder(&self, celsius: f64) -> f64 {
        let air = self.air.in_celsius();
        match self.way {
            Way::Over { .. } => celsius,
            _ if celsius < air => air,
            _ => celsius,
        }
    }

    /// The coldest that it can come to, in °C.
    pub(crate) fn coldest(&self) -> f64 {
        match self.way {
            Way::Over { reference, .. } => reference.in_celsius(),
            _ => self.air.in_celsius(),
        }
    }

    /// Temperature in °C after a time in s, on its way from one to where it settles.
    pub(crate) fn after(&self, begins: f64, settles: f64, lasts: f64) -> f64 {
        let (begins, settles) = (Temperature::celsius(begins), Temperature::celsius(settles));
        warming::after(begins, settles, Time::new(lasts), self.capacity, |copper| self.net(copper))
            .in_celsius()
    }
}
