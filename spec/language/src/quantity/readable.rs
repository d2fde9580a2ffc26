//! Quantities as the sections hold them.

use loadworthy_physics as physics;

use super::dimension::Dimension;
use super::kind::{Amount, QuantityKind};

/// A type that is written as one quantity.
pub trait Readable: Sized {
    /// How its text is read.
    const KIND: QuantityKind;

    /// Takes what was read; `None` where the amount is of another dimension.
    fn from_amount(amount: Amount) -> Option<Self>;
}

macro_rules! plain {
    ($($type:ident)*) => {$(
        impl Readable for physics::$type {
            const KIND: QuantityKind = QuantityKind::Plain(Dimension::$type);

            fn from_amount(amount: Amount) -> Option<Self> {
                match amount {
                    Amount::Of(Dimension::$type, si) => Some(Self::new(si)),
                    _ => None,
                }
            }
        }
    )*};
}

plain! {
    Voltage Current Power Energy Resistance Inductance Capacitance Frequency Time TemperatureDifference
    ThermalResistance HeatCapacity VolumeFlow Length Area Pressure Volume LossDensity SlewRate
    CurrentSlope
}

impl Readable for physics::Temperature {
    const KIND: QuantityKind = QuantityKind::Plain(Dimension::Temperature);

    fn from_amount(amount: Amount) -> Option<Self> {
        match amount {
            Amount::Of(Dimension::Temperature, celsius) => Some(Self::celsius(celsius)),
            _ => None,
        }
    }
}

/// A sinusoidal current, written as `260 A rms` or `368 A peak` and held as its RMS value.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct RmsCurrent(physics::Current);

impl RmsCurrent {
    /// Its RMS value.
    pub const fn rms(self) -> physics::Current {
        self.0
    }
}

/// A sinusoidal voltage, written as `330 V rms` or `467 V peak` and held as its RMS value.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct RmsVoltage(physics::Voltage);

impl RmsVoltage {
    /// Its RMS value.
    pub const fn rms(self) -> physics::Voltage {
        self.0
    }
}

/// The crest of a voltage of any shape, written as `1000 V peak` or `1000 V`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct PeakVoltage(physics::Voltage);

impl PeakVoltage {
    /// The crest.
    pub const fn peak(self) -> physics::Voltage {
        self.0
    }
}

/// A share that is not negative, written as `80 %` or `0.8`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Ratio(f64);

impl Ratio {
    /// The share, 1 for the whole.
    pub const fn value(self) -> f64 {
        self.0
    }
}

/// A number from -1 to 1, such as a power factor.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SignedRatio(f64);

impl SignedRatio {
    /// The number.
    pub const fn value(self) -> f64 {
        self.0
    }
}

/// The relative change of a figure with one kelvin, written as `0.003 1/K` or `0.3 %/K`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct PerKelvin(f64);

impl PerKelvin {
    /// The change by one kelvin, as a share.
    pub const fn value(self) -> f64 {
        self.0
    }
}

macro_rules! plain_own {
    ($($(#[$doc:meta])* $type:ident, $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $type(f64);

        impl $type {
            #[doc = concat!("The number of ", $unit, ".")]
            pub const fn si(self) -> f64 {
                self.0
            }
        }

        impl Readable for $type {
            const KIND: QuantityKind = QuantityKind::Plain(Dimension::$type);

            fn from_amount(amount: Amount) -> Option<Self> {
                match amount {
                    Amount::Of(Dimension::$type, si) => Some(Self(si)),
                    _ => None,
                }
            }
        }
    )*};
}

plain_own! {
    /// An electric charge, written as `2.1 uC`.
    Charge, "coulombs";
    /// An electric conductance, such as the transconductance of a gate; written as `90 S`.
    Conductance, "siemens";
    /// A flux that links a winding, written as `0.11 V s` or `0.11 Wb`.
    FluxLinkage, "volt seconds";
    /// A flux density, written as `1.3 T`.
    FluxDensity, "teslas";
    /// A speed of a shaft, written as `6500 1/min`; negative where it turns backwards.
    Speed, "turns a second";
    /// The integral of a current's square over time, written as `48e3 A^2 s`.
    SquaredCurrentTime, "ampere squared seconds";
    /// A torque, written as `90 N m`; negative while a machine brakes.
    Torque, "newton metres";
    /// An angle, written as `90 deg` or `1.5 rad` and held in turns.
    Angle, "turns, each of 360 degrees";
}

/// A distance to be kept from a limit, in the unit of that limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    dimension: Dimension,
    si: f64,
}

impl Margin {
    /// What it is a distance of.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }

    /// The distance in the unit of [`Dimension::unit`].
    pub const fn si(self) -> f64 {
        self.si
    }

    /// The distance, where it is one between temperatures.
    pub fn temperature_difference(self) -> Option<physics::TemperatureDifference> {
        (self.dimension == Dimension::TemperatureDifference)
            .then(|| physics::TemperatureDifference::new(self.si))
    }
}

/// How long something lasts: for good, or a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeOr {
    /// Until everything has settled.
    Continuous,
    /// This long.
    Time(physics::Time),
}

macro_rules! own {
    ($($type:ident $kind:expr, $pattern:pat => $value:expr;)*) => {$(
        impl Readable for $type {
            const KIND: QuantityKind = $kind;

            fn from_amount(amount: Amount) -> Option<Self> {
                match amount {
                    $pattern => Some($value),
                    _ => None,
                }
            }
        }
    )*};
}

own! {
    RmsCurrent QuantityKind::RmsCurrent, Amount::Of(Dimension::Current, si) => Self(physics::Current::new(si));
    RmsVoltage QuantityKind::RmsVoltage, Amount::Of(Dimension::Voltage, si) => Self(physics::Voltage::new(si));
    PeakVoltage QuantityKind::PeakVoltage, Amount::Of(Dimension::Voltage, si) => Self(physics::Voltage::new(si));
    Ratio QuantityKind::Ratio, Amount::Of(Dimension::Ratio, value) => Self(value);
    SignedRatio QuantityKind::SignedRatio, Amount::Of(Dimension::Ratio, value) => Self(value);
    PerKelvin QuantityKind::Plain(Dimension::PerKelvin), Amount::Of(Dimension::PerKelvin, value) => Self(value);
    Margin QuantityKind::Margin, Amount::Of(dimension, si) => Self { dimension, si };
}

impl Readable for TimeOr {
    const KIND: QuantityKind = QuantityKind::TimeOrContinuous;

    fn from_amount(amount: Amount) -> Option<Self> {
        match amount {
            Amount::Of(Dimension::Time, si) => Some(Self::Time(physics::Time::new(si))),
            Amount::Continuous => Some(Self::Continuous),
            Amount::Of(..) => None,
        }
    }
}
