//! Quantities that cannot be mixed up.
//!
//! Every quantity is one `f64` in its SI unit behind a type of its own, so that a sum of volts and amperes
//! does not compile while volts times amperes is watts. A quantity that is not known is carried as "not a
//! number" and stays that through every sum and product; whoever reads a result has to ask for it, nothing
//! is filled in.
//!
//! ```compile_fail
//! use loadworthy_physics::{Current, Voltage};
//! let nonsense = Voltage::new(620.0) + Current::new(310.0);
//! ```

use core::fmt;
use core::iter::Sum;
use core::ops::{Add, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        #[repr(transparent)]
        pub struct $name(f64);

        impl $name {
            /// The SI unit in which the value is held.
            pub const UNIT: &'static str = $unit;
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            /// From a value in the SI unit.
            #[inline]
            pub const fn new(si: f64) -> Self {
                Self(si)
            }

            /// The value in the SI unit.
            #[inline]
            pub const fn si(self) -> f64 {
                self.0
            }

            /// The same without its sign.
            #[inline]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl Add for $name {
            type Output = Self;
            #[inline]
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            #[inline]
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $name {
            type Output = Self;
            #[inline]
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            #[inline]
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Mul<$name> for f64 {
            type Output = $name;
            #[inline]
            fn mul(self, quantity: $name) -> $name {
                $name(self * quantity.0)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            #[inline]
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl Div for $name {
            type Output = f64;
            #[inline]
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl Sum for $name {
            #[inline]
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::ZERO, |whole, part| whole + part)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.0, out)?;
                out.write_str(concat!(" ", $unit))
            }
        }
    )*};
}

quantity! {
    /// Electric potential difference.
    Voltage "V";
    /// Electric current.
    Current "A";
    /// The mean of a current's square over a period; its root is the RMS value.
    SquaredCurrent "A²";
    /// Energy a second: electrical power, loss, heat flow.
    Power "W";
    /// Energy, for instance of one switching event.
    Energy "J";
    /// Electric resistance.
    Resistance "Ω";
    /// Inductance.
    Inductance "H";
    /// Capacitance.
    Capacitance "F";
    /// Events or periods a second.
    Frequency "Hz";
    /// Duration.
    Time "s";
    /// Distance between two temperatures.
    TemperatureDifference "K";
    /// Temperature difference for each watt that flows.
    ThermalResistance "K/W";
    /// Heat that a coolant stream takes up for each kelvin that it warms, C = ρ·Q·c_p; also a plain heat
    /// conductance.
    ThermalCapacityRate "W/K";
    /// Heat that warms a body by one kelvin.
    HeatCapacity "J/K";
    /// Growth of a loss for each kelvin of its own temperature.
    LossSlope "W/K";
    /// Volume that passes in a second.
    VolumeFlow "m³/s";
    /// Mass that passes in a second; unlike volume it is the same all along a coolant path.
    MassFlow "kg/s";
    /// Mass of a unit of volume.
    Density "kg/m³";
    /// Heat that warms a unit of mass by one kelvin.
    SpecificHeat "J/(kg·K)";
    /// Heat conductivity of a material.
    Conductivity "W/(m·K)";
    /// Dynamic viscosity.
    Viscosity "Pa·s";
    /// Area.
    Area "m²";
    /// Length or thickness.
    Length "m";
    /// Heat that passes a unit of wetted area for each kelvin between wall and coolant.
    FilmCoefficient "W/(m²·K)";
    /// Thermal resistance of a unit of contact area, both faces together.
    SpecificContactResistance "m²·K/W";
    /// Pressure or pressure drop.
    Pressure "Pa";
    /// Pressure drop for each unit of flow, k1 of a drop k1·Q + k2·Q·|Q|.
    LinearFlowResistance "Pa·s/m³";
    /// Pressure drop for each unit of squared flow, k2 of a drop k1·Q + k2·Q·|Q|.
    SquareFlowResistance "Pa·s²/m⁶";
    /// Electric charge.
    Charge "C";
    /// Flux times turns: volt-seconds of a winding, or what a magnet links with a phase.
    FluxLinkage "Wb";
    /// Magnetic flux density.
    FluxDensity "T";
    /// Volume.
    Volume "m³";
    /// Loss in a unit of volume.
    LossDensity "W/m³";
    /// Torque at a shaft.
    Torque "N·m";
    /// Angle that a shaft or a phasor turns in a second.
    AngularSpeed "rad/s";
    /// Way in a unit of time; not that of a shaft, which turns.
    Velocity "m/s";
    /// Growth of a device's current for each volt at its gate.
    Transconductance "A/V";
    /// Growth of a voltage in a unit of time, such as that of a switching edge.
    SlewRate "V/s";
    /// Growth of a current in a unit of time.
    CurrentSlope "A/s";
    /// Current that passes a unit of section.
    CurrentDensity "A/m²";
}

/// `product!(A * B = C)`: both orders of the product and both quotients.
macro_rules! product {
    ($($left:ident * $right:ident = $whole:ident;)*) => {$(
        impl Mul<$right> for $left {
            type Output = $whole;
            #[inline]
            fn mul(self, other: $right) -> $whole {
                $whole(self.0 * other.0)
            }
        }

        impl Mul<$left> for $right {
            type Output = $whole;
            #[inline]
            fn mul(self, other: $left) -> $whole {
                $whole(self.0 * other.0)
            }
        }

        impl Div<$left> for $whole {
            type Output = $right;
            #[inline]
            fn div(self, other: $left) -> $right {
                $right(self.0 / other.0)
            }
        }

        impl Div<$right> for $whole {
            type Output = $left;
            #[inline]
            fn div(self, other: $right) -> $left {
                $left(self.0 / other.0)
            }
        }
    )*};
}

product! {
    Voltage * Current = Power;
    Current * Resistance = Voltage;
    SquaredCurrent * Resistance = Power;
    Power * Time = Energy;
    Resistance * Capacitance = Time;
    Inductance * Frequency = Resistance;
    Power * ThermalResistance = TemperatureDifference;
    ThermalResistance * HeatCapacity = Time;
    ThermalCapacityRate * TemperatureDifference = Power;
    Density * VolumeFlow = MassFlow;
    MassFlow * SpecificHeat = ThermalCapacityRate;
    Conductivity * SpecificContactResistance = Length;
    ThermalResistance * Area = SpecificContactResistance;
    FilmCoefficient * Area = ThermalCapacityRate;
    Velocity * Area = VolumeFlow;
    Pressure * VolumeFlow = Power;
    LinearFlowResistance * VolumeFlow = Pressure;
    Charge * Voltage = Energy;
    Voltage * Time = FluxLinkage;
    Inductance * Current = FluxLinkage;
    FluxLinkage * AngularSpeed = Voltage;
    FluxDensity * Area = FluxLinkage;
    LossDensity * Volume = Power;
    Torque * AngularSpeed = Power;
    Transconductance * Voltage = Current;
    Capacitance * Voltage = Charge;
    Current * Time = Charge;
    SlewRate * Time = Voltage;
    Capacitance * SlewRate = Current;
    CurrentSlope * Time = Current;
    CurrentDensity * Area = Current;
    Inductance * CurrentSlope = Voltage;
}

/// `square!(A * A = B)`: the product and the one quotient that it has.
macro_rules! square {
    ($($side:ident * $again:ident = $whole:ident;)*) => {$(
        impl Mul for $side {
            type Output = $whole;
            #[inline]
            fn mul(self, other: $again) -> $whole {
                $whole(self.0 * other.0)
            }
        }

        impl Div<$side> for $whole {
            type Output = $side;
            #[inline]
            fn div(self, other: $side) -> $side {
                $side(self.0 / other.0)
            }
        }
    )*};
}

square! {
    Current * Current = SquaredCurrent;
    Length * Length = Area;
}

/// `inverse!(A, B)`: the product is a plain number, and one over the one is the other.
macro_rules! inverse {
    ($($one:ident, $other:ident;)*) => {$(
        impl Mul<$other> for $one {
            type Output = f64;
            #[inline]
            fn mul(self, other: $other) -> f64 {
                self.0 * other.0
            }
        }

        impl Mul<$one> for $other {
            type Output = f64;
            #[inline]
            fn mul(self, other: $one) -> f64 {
                self.0 * other.0
            }
        }

        impl Div<$one> for f64 {
            type Output = $other;
            #[inline]
            fn div(self, divisor: $one) -> $other {
                $other(self / divisor.0)
            }
        }

        impl Div<$other> for f64 {
            type Output = $one;
            #[inline]
            fn div(self, divisor: $other) -> $one {
                $one(self / divisor.0)
            }
        }
    )*};
}

inverse! {
    Time, Frequency;
    ThermalCapacityRate, ThermalResistance;
    FilmCoefficient, SpecificContactResistance;
}

/// Energy for each event times events a second.
impl Mul<Frequency> for Energy {
    type Output = Power;
    #[inline]
    fn mul(self, events: Frequency) -> Power {
        Power(self.0 * events.0)
    }
}

/// Energy for each event times events a second.
impl Mul<Energy> for Frequency {
    type Output = Power;
    #[inline]
    fn mul(self, each: Energy) -> Power {
        Power(self.0 * each.0)
    }
}

/// A loss grown by some kelvins. (The quotient of a power and kelvins is a heat capacity rate; a slope is
/// made by name.)
impl Mul<TemperatureDifference> for LossSlope {
    type Output = Power;
    #[inline]
    fn mul(self, rise: TemperatureDifference) -> Power {
        Power(self.0 * rise.0)
    }
}

/// Loop gain: growth of the loss for each kelvin, times the kelvins that each watt makes.
impl Mul<ThermalResistance> for LossSlope {
    type Output = f64;
    #[inline]
    fn mul(self, path: ThermalResistance) -> f64 {
        self.0 * path.0
    }
}

impl SquaredCurrent {
    /// The RMS current. A mean square that rounding has pushed below zero has the root zero.
    #[inline]
    pub fn root(self) -> Current {
        Current(crate::bounds::at_least_zero(self.0).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn watts_come_of_volts_and_amperes_in_either_order() {
        let product = Voltage::new(620.0) * Current::new(113.0);
        assert_eq!(product, Power::new(70_060.0));
        assert_eq!(Current::new(113.0) * Voltage::new(620.0), product);
        assert_eq!(product / Voltage::new(620.0), Current::new(113.0));
    }

    #[test]
    fn what_is_missing_stays_missing() {
        let unknown = Current::new(f64::NAN);
        assert!((unknown * Voltage::new(0.0)).si().is_nan());
        assert!((unknown * unknown).root().si().is_nan());
        assert!(unknown.abs().si().is_nan());
    }

    #[test]
    fn a_mean_square_below_zero_has_the_root_zero() {
        assert_eq!(SquaredCurrent::new(-1e-18).root(), Current::ZERO);
    }

    #[test]
    fn a_quantity_is_shown_with_its_unit() {
        assert_eq!(format!("{:.0}", ThermalResistance::new(2.0)), "2 K/W");
    }
}
