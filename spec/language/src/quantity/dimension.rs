//! What a quantity is of: its name, its SI unit, and the exponents of the base units behind it.

use std::fmt;

/// Exponents of metre, kilogram, second, ampere, kelvin and cycle.
///
/// The cycle keeps `8 kHz` apart from `8000 1/s` and from a speed in `1/min`.
pub(super) type Exponents = [i8; 6];

macro_rules! dimensions {
    ($($(#[$doc:meta])* $variant:ident $name:literal $article:literal $unit:literal $example:literal $exponents:expr;)*) => {
        /// A kind of physical quantity.
        ///
        /// A place on the temperature scale and a difference on it are two kinds: the first is written in
        /// `degC`, the second in `K`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Dimension {
            $($(#[$doc])* $variant,)*
        }

        impl Dimension {
            /// Every kind, in the order in which a bare unit is looked up.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// Its name in plain words, e.g. `thermal resistance`.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// Its name with the article, as a sentence needs it, e.g. `an inductance`.
            pub const fn with_article(self) -> &'static str {
                match self { $(Self::$variant => concat!($article, " ", $name),)* }
            }

            /// The unit that a bare number in memory is of; `degC` for a temperature, empty for a ratio.
            pub const fn unit(self) -> &'static str {
                match self { $(Self::$variant => $unit,)* }
            }

            /// A value as a person would write it.
            pub const fn example(self) -> &'static str {
                match self { $(Self::$variant => $example,)* }
            }

            pub(super) const fn exponents(self) -> Exponents {
                match self { $(Self::$variant => $exponents,)* }
            }
        }
    };
}

dimensions! {
    /// A plain number or a share.
    Ratio "ratio" "a" "" "80 %" [0, 0, 0, 0, 0, 0];
    /// Electric potential difference.
    Voltage "voltage" "a" "V" "650 V" [2, 1, -3, -1, 0, 0];
    /// Electric current.
    Current "current" "a" "A" "450 A" [0, 0, 0, 1, 0, 0];
    /// Energy a second.
    Power "power" "a" "W" "70 kW" [2, 1, -3, 0, 0, 0];
    /// Energy, in J or Wh; what is written in `N m` is a torque.
    Energy "energy" "an" "J" "36 mJ" [2, 1, -2, 0, 0, 0];
    /// Force by lever arm, in `N m`. Its exponents are those of energy; the reader keeps the two apart.
    Torque "torque" "a" "N m" "90 N m" [2, 1, -2, 0, 0, 0];
    /// Electric resistance.
    Resistance "resistance" "a" "Ω" "14 mohm" [2, 1, -3, -2, 0, 0];
    /// Inductance.
    Inductance "inductance" "an" "H" "220 uH" [2, 1, -2, -2, 0, 0];
    /// Capacitance.
    Capacitance "capacitance" "a" "F" "500 uF" [-2, -1, 4, 2, 0, 0];
    /// Electric conductance.
    Conductance "conductance" "a" "S" "5 mS" [-2, -1, 3, 2, 0, 0];
    /// Electric charge.
    Charge "charge" "a" "C" "2.1 uC" [0, 0, 1, 1, 0, 0];
    /// Cycles a second.
    Frequency "frequency" "a" "Hz" "8 kHz" [0, 0, -1, 0, 0, 1];
    /// Part of a turn; the unit is the whole turn, which nobody writes: `deg` and `rad` are read.
    Angle "angle" "an" "turn" "90 deg" [0, 0, 0, 0, 0, 1];
    /// Turns a second of a shaft.
    Speed "speed" "a" "1/s" "6500 1/min" [0, 0, -1, 0, 0, 0];
    /// Time.
    Time "time" "a" "s" "2 us" [0, 0, 1, 0, 0, 0];
    /// A place on the Celsius scale. Its exponents are those of the kelvin; the reader keeps the two apart.
    Temperature "temperature" "a" "degC" "65 degC" [0, 0, 0, 0, 1, 0];
    /// A distance on the temperature scale.
    TemperatureDifference "temperature difference" "a" "K" "20 K" [0, 0, 0, 0, 1, 0];
    /// Change by one kelvin, as a share.
    PerKelvin "temperature coefficient" "a" "1/K" "0.003 1/K" [0, 0, 0, 0, -1, 0];
    /// Temperature difference by heat flow.
    ThermalResistance "thermal resistance" "a" "K/W" "0.09 K/W" [-2, -1, 3, 0, 1, 0];
    /// Heat that a flow takes up for each kelvin.
    HeatCapacityRate "heat capacity rate" "a" "W/K" "480 W/K" [2, 1, -3, 0, -1, 0];
    /// Heat that warms a body by one kelvin.
    HeatCapacity "heat capacity" "a" "J/K" "1.8 kJ/K" [2, 1, -2, 0, -1, 0];
    /// Thermal resistance of an interface, times its area.
    ContactResistance "thermal contact resistance" "a" "K m^2/W" "0.4 K cm^2/W" [0, -1, 3, 0, 1, 0];
    /// Volume a second.
    VolumeFlow "volume flow" "a" "m^3/s" "8 L/min" [3, 0, -1, 0, 0, 0];
    /// Volume.
    Volume "volume" "a" "m^3" "2 L" [3, 0, 0, 0, 0, 0];
    /// Way in a unit of time, of what flows.
    Velocity "velocity" "a" "m/s" "0.6 m/s" [1, 0, -1, 0, 0, 0];
    /// Length.
    Length "length" "a" "m" "25 mm" [1, 0, 0, 0, 0, 0];
    /// Area.
    Area "area" "an" "m^2" "30 mm^2" [2, 0, 0, 0, 0, 0];
    /// Mass.
    Mass "mass" "a" "kg" "2 kg" [0, 1, 0, 0, 0, 0];
    /// Force by area.
    Pressure "pressure" "a" "Pa" "4 kPa" [-1, 1, -2, 0, 0, 0];
    /// Voltage by speed of the flux.
    FluxLinkage "flux linkage" "a" "V s" "0.11 V s" [2, 1, -2, -1, 0, 0];
    /// Flux by area.
    FluxDensity "flux density" "a" "T" "1.3 T" [0, 1, -2, -1, 0, 0];
    /// Voltage by time, of a switching edge.
    SlewRate "slew rate" "a" "V/s" "50 kV/us" [2, 1, -4, -1, 0, 0];
    /// Current by time, of a switching edge.
    CurrentSlope "current slope" "a" "A/s" "2 A/ns" [0, 0, -1, 1, 0, 0];
    /// Current by section of copper.
    CurrentDensity "current density" "a" "A/m^2" "4 A/mm^2" [-2, 0, 0, 1, 0, 0];
    /// Loss by volume, of a core's material.
    LossDensity "loss density" "a" "W/m^3" "300 kW/m^3" [-1, 1, -3, 0, 0, 0];
    /// The integral of a current's square, which melts a fuse.
    SquaredCurrentTime "I²t value" "an" "A^2 s" "48e3 A^2 s" [0, 0, 1, 2, 0, 0];
}

impl Dimension {
    /// The kind that units with these exponents state; `K` states a difference, and `J` an energy.
    pub(super) fn of(exponents: Exponents) -> Option<Self> {
        let apart = |dimension| matches!(dimension, Self::Temperature | Self::Torque);
        Self::ALL.iter().copied().find(|d| !apart(*d) && d.exponents() == exponents)
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}
