//! Properties of coolants, and how a stream warms along its path.
//!
//! Fits of published tables. What is uncertain is not the fit but the tables: two published sources of the
//! glycol mixture differ by 0.9 % in density, 3.2 % in specific heat, 4.1 % in conductivity and 11 % in
//! viscosity.

mod limits;
mod mixtures;

pub use limits::{AIR_PRESSURE, BOILING, FREEZING, air_pressure, boiling, freezing, water_share};
pub use mixtures::{HIGHEST_GLYCOL, LOWEST_GLYCOL};

use mixtures::Mixture;

use crate::{
    Conductivity, Density, Law, OutOfRange, Power, SpecificHeat, Temperature, TemperatureDifference,
    ThermalCapacityRate, Viscosity, VolumeFlow,
};

/// A liquid that carries heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Coolant {
    /// Ethylene glycol and water.
    WaterGlycol {
        /// Share of the volume that is glycol, 0.3 to 0.6. Half of the volume is 52.4 % of the mass.
        glycol: f64,
    },
    /// Water at about atmospheric pressure.
    Water,
}

/// Law of [`heat_capacity_rate`].
pub static HEAT_CAPACITY_RATE: Law = Law {
    name: "heat capacity rate of the stream",
    formula: "C = ρ·Q·c_p",
    validity: "density and flow at the same place",
    source: "conservation of mass",
};

/// Law of [`warming`].
pub static WARMING: Law = Law {
    name: "warming of the stream",
    formula: "ΔT = P/C",
    validity: "exact for constant c_p; c_p taken at the inlet costs up to 3 % of a rise of 50 K, at the mean temperature 0.1 %",
    source: "conservation of energy",
};

/// Σ c_k·x^k by Horner's scheme.
#[inline]
fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

impl Coolant {
    /// Half glycol, half water by volume.
    pub const WATER_GLYCOL_50: Self = Self::WaterGlycol { glycol: 0.5 };

    /// Highest temperature for which the properties are known.
    #[inline]
    pub const fn highest(self) -> Temperature {
        HIGHEST
    }

    /// Lowest and highest temperature for which the properties are known; not a number for a mixture of which
    /// none are.
    #[inline]
    pub fn range(self) -> (Temperature, Temperature) {
        let highest = self.highest();
        match self {
            Self::WaterGlycol { glycol } => {
                let freezing = Mixture::of(glycol).freezing;
                // A missing share stays missing.
                let lowest = if freezing < COLDEST { COLDEST } else { freezing };
                (Temperature::celsius(lowest), highest)
            }
            Self::Water => (Temperature::celsius(0.0), highest),
        }
    }

    /// Whether the properties are known at a temperature. The property functions themselves continue their
    /// curves so that a search may pass outside; what it ends with has to be checked here.
    ///
    /// # Errors
    /// Names the share of glycol or the temperature, and the range.
    #[inline]
    pub fn check(self, temperature: Temperature) -> Result<(), OutOfRange> {
        if let Self::WaterGlycol { glycol } = self {
            OutOfRange::check("share of glycol", glycol, LOWEST_GLYCOL, HIGHEST_GLYCOL, "")?;
        }
        let (low, high) = self.range();
        let value = temperature.in_celsius();
        OutOfRange::check("coolant temperature", value, low.in_celsius(), high.in_celsius(), "°C")
    }

    /// Density.
    ///
    /// `ρ = Σ c_k·T^k, T in °C`. Valid: 30 to 60 % glycol by volume from freezing, at the lowest −35 °C, to 100 °C;
    /// water 0 to 100 °C; fit within 0.02 %. Source: fit to ASHRAE Handbook Fundamentals 2009, ch. 31 (glycol) and
    /// IAPWS SR6-08(2011) (water).
    #[inline]
    pub fn density(self, temperature: Temperature) -> Density {
        let t = temperature.in_celsius();
        Density::new(match self {
            Self::WaterGlycol { glycol } => polynomial(t, &Mixture::of(glycol).density),
            Self::Water => polynomial(t, &[1000.063, 0.013_433_8, -5.814_47e-3, 1.522_69e-5]),
        })
    }

    /// Specific heat at constant pressure.
    ///
    /// `c_p = Σ c_k·T^k, T in °C`. Valid: 30 to 60 % glycol by volume from freezing, at the lowest −35 °C, to 100 °C;
    /// water 0 to 100 °C; fit within 0.04 %. Source: fit to ASHRAE Handbook Fundamentals 2009, ch. 31 (glycol) and
    /// IAPWS SR6-08(2011) (water).
    #[inline]
    pub fn specific_heat(self, temperature: Temperature) -> SpecificHeat {
        let t = temperature.in_celsius();
        SpecificHeat::new(match self {
            Self::WaterGlycol { glycol } => polynomial(t, &Mixture::of(glycol).specific_heat),
            Self::Water => polynomial(t, &[4217.537, -2.770_813, 6.742_387e-2, -6.605_55e-4, 2.622_784e-6]),
        })
    }

    /// Conductivity.
    ///
    /// `k = Σ c_k·T^k, T in °C`. Valid: 30 to 60 % glycol by volume from freezing, at the lowest −35 °C, to 100 °C;
    /// water 0 to 100 °C; fit within 0.16 %. Source: fit to ASHRAE Handbook Fundamentals 2009, ch. 31 (glycol) and
    /// IAPWS SR6-08(2011) (water).
    #[inline]
    pub fn conductivity(self, temperature: Temperature) -> Conductivity {
        let t = temperature.in_celsius();
        Conductivity::new(match self {
            Self::WaterGlycol { glycol } => polynomial(t, &Mixture::of(glycol).conductivity),
            Self::Water => polynomial(t, &[0.556_457, 2.354e-3, -1.523_408e-5, 3.810_12e-8]),
        })
    }

    /// Dynamic viscosity.
    ///
    /// `ln μ = Σ c_k·x^k, x = 1000/(T + 273.15)`. Valid: 30 to 60 % glycol by volume from freezing, at the lowest −35
    /// °C, to 100 °C within 1.8 %; water 0 to 100 °C within 0.35 %. Source: fit to ASHRAE Handbook Fundamentals 2009,
    /// ch. 31 (glycol) and IAPWS SR6-08(2011) (water).
    #[inline]
    pub fn viscosity(self, temperature: Temperature) -> Viscosity {
        let x = 1000.0 / temperature.in_kelvin();
        Viscosity::new(libm::exp(match self {
            Self::WaterGlycol { glycol } => polynomial(x, &Mixture::of(glycol).viscosity),
            Self::Water => polynomial(x, &[-16.429_843, 6.569_807_3, -2.016_906_3, 0.266_613_9]),
        }))
    }

    /// Prandtl number, μ·c_p/k.
    #[inline]
    pub fn prandtl(self, temperature: Temperature) -> f64 {
        self.viscosity(temperature).si() * self.specific_heat(temperature).si()
            / self.conductivity(temperature).si()
    }
}

/// Temperature above which no property is known.
const HIGHEST: Temperature = Temperature::celsius(100.0);
/// Temperature in °C below which no property of a mixture is known.
const COLDEST: f64 = -35.0;

/// Heat that a stream takes up for each kelvin.
///
/// `flow` is the volume flow where the coolant has `temperature`: volume grows along a warming path, mass
/// does not. See [`HEAT_CAPACITY_RATE`].
#[inline]
pub fn heat_capacity_rate(
    coolant: Coolant,
    temperature: Temperature,
    flow: VolumeFlow,
) -> ThermalCapacityRate {
    coolant.density(temperature) * flow * coolant.specific_heat(temperature)
}

/// Kelvins by which a stream warms when it takes up heat.
///
/// Without flow heat warms without end: infinite, and nothing for no heat. [`check_flow`] says it in words.
/// See [`WARMING`].
#[inline]
pub fn warming(heat: Power, rate: ThermalCapacityRate) -> TemperatureDifference {
    // Zero over zero would read as a missing input.
    if heat == Power::ZERO && rate == ThermalCapacityRate::ZERO {
        return TemperatureDifference::ZERO;
    }
    heat / rate
}

/// Whether there is a flow that can carry heat away.
///
/// # Errors
/// Names a flow that is zero, reversed or missing.
#[inline]
pub fn check_flow(flow: VolumeFlow) -> Result<(), OutOfRange> {
    if flow > VolumeFlow::ZERO {
        return Ok(());
    }
    // The lowest flow that is one: the smallest number above zero.
    let low = f64::MIN_POSITIVE;
    Err(OutOfRange { quantity: "coolant flow", value: flow.si(), low, high: f64::INFINITY, unit: "m³/s" })
}

/// Where along a heat source the coolant's temperature is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// Where the stream enters.
    Inlet,
    /// Mean of inlet and outlet.
    Mean,
    /// Where the stream leaves; the hottest chip of a plate sits there.
    Outlet,
}

/// The stream's temperatures along one heat source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    /// Where the stream enters.
    pub inlet: Temperature,
    /// Where it leaves; the inlet of the next source.
    pub outlet: Temperature,
}

impl Passage {
    /// Temperatures along a source that gives `heat` to a stream of capacity `rate` entering at `inlet`.
    /// See [`WARMING`].
    #[inline]
    pub fn new(inlet: Temperature, heat: Power, rate: ThermalCapacityRate) -> Self {
        Self { inlet, outlet: inlet + warming(heat, rate) }
    }

    /// Mean of inlet and outlet, the bulk temperature for evenly spread heat.
    #[inline]
    pub fn mean(self) -> Temperature {
        self.inlet + (self.outlet - self.inlet) * 0.5
    }

    /// Temperature at a place.
    #[inline]
    pub fn at(self, place: Place) -> Temperature {
        match place {
            Place::Inlet => self.inlet,
            Place::Mean => self.mean(),
            Place::Outlet => self.outlet,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn glycol_follows_the_published_table() {
        // ASHRAE, 50 % by volume: °C, kg/m³, J/(kg·K), W/(m·K), mPa·s.
        let table = [
            (-30.0, 1089.04, 3088.0, 0.333, 43.98),
            (0.0, 1081.08, 3203.0, 0.364, 8.09),
            (40.0, 1063.66, 3358.0, 0.394, 2.26),
            (65.0, 1048.83, 3454.0, 0.406, 1.29),
            (100.0, 1022.95, 3590.0, 0.416, 0.70),
        ];
        for (celsius, density, heat, conductivity, viscosity) in table {
            let (fluid, t) = (Coolant::WATER_GLYCOL_50, Temperature::celsius(celsius));
            assert!((fluid.density(t).si() / density - 1.0).abs() < 2e-5);
            assert!((fluid.specific_heat(t).si() / heat - 1.0).abs() < 4e-4);
            assert!((fluid.conductivity(t).si() / conductivity - 1.0).abs() < 3e-3);
            assert!((fluid.viscosity(t).si() * 1e3 / viscosity - 1.0).abs() < 2e-2);
        }
    }

    #[test]
    fn a_litre_a_minute_of_glycol_carries_60_watts_a_kelvin() {
        let flow = VolumeFlow::new(1e-3 / 60.0);
        let rate = heat_capacity_rate(Coolant::WATER_GLYCOL_50, Temperature::celsius(65.0), flow);
        assert!((rate.si() - 60.4).abs() < 0.05);
    }

    #[test]
    fn range_ends_belong_to_the_range() {
        for fluid in [Coolant::WATER_GLYCOL_50, Coolant::Water] {
            let (low, high) = fluid.range();
            assert!(fluid.check(low).is_ok() && fluid.check(high).is_ok());
            assert!(fluid.check(low - TemperatureDifference::new(0.1)).is_err());
            assert!(fluid.check(high + TemperatureDifference::new(0.1)).is_err());
            assert!(fluid.check(Temperature::celsius(f64::NAN)).is_err());
        }
    }

    #[test]
    fn standing_coolant_warms_without_end_or_not_at_all() {
        let endless = TemperatureDifference::new(f64::INFINITY);
        assert_eq!(warming(Power::new(100.0), ThermalCapacityRate::ZERO), endless);
        assert_eq!(warming(Power::ZERO, ThermalCapacityRate::ZERO), TemperatureDifference::ZERO);
        assert!(warming(Power::ZERO, ThermalCapacityRate::new(f64::NAN)).si().is_nan());
        assert!(check_flow(VolumeFlow::ZERO).is_err() && check_flow(VolumeFlow::new(f64::NAN)).is_err());
        assert!(check_flow(VolumeFlow::new(1e-5)).is_ok());
    }
}
