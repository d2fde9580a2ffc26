//! Bars in still air: what leaves them by convection and radiation, and where that settles.

use crate::{Law, Length, Power, Temperature};

/// Law of [`leaving`] and of the temperature at which a bar settles.
pub static BAR_TEMPERATURE: Law = Law {
    name: "temperature of a bar in still air",
    formula: "I²·R(T) = A·(h·(T − T_a) + ε·σ·(T⁴ − T_a⁴)), h = c·√(p/p_0)·((T − T_a)/H)^¼; on edge c 1.362 with H the width on all faces; flat c 1.32 above, 0.59 below with H the width, 1.362 with H the thickness at the edges",
    validity: "width of 10 to 150 mm, long bar by itself, ends neither cool nor heat it; rise of 10 to 100 K within 3 % of published tables, which are ±10 % of reality; below it reads high, above it is an estimate",
    source: "Chapman, Norris, Copper for Busbars, 2014; Holman, Heat Transfer",
};

/// Law of the temperature of what stands on a pad or has a stated thermal resistance.
pub static OVER_RESISTANCE: Law = Law {
    name: "temperature over a thermal resistance",
    formula: "T = T_ref + R_th·I²·R(T), copper at its own temperature",
    validity: "steady; all heat passes the resistance, none the air; of a pad its heat is not counted into the coolant; of contacts R as stated at 20 °C",
    source: "series of thermal resistances; IEC 60028",
};

/// Stefan-Boltzmann constant in W/(m²·K⁴).
const SIGMA: f64 = 5.670_374e-8;
/// A temperature is found when it is known within this many kelvin.
const WITHIN: f64 = 1e-9;
/// Melting point of copper, where the search ends.
const MELTING: f64 = 1084.0;
/// Widths that the law knows, in m.
const WIDTHS: (f64, f64) = (0.01, 0.15);
/// Coefficients of convection of an upright face, one that looks up and one that looks down.
const UPRIGHT: f64 = 1.362;
const UPWARD: f64 = 1.32;
const DOWNWARD: f64 = 0.59;

/// Still air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Its temperature, inside the housing.
    pub temperature: Temperature,
    /// Its pressure over that at sea level.
    pub pressure_share: f64,
}

/// Share of the pressure at sea level at an altitude.
///
/// `p/p_0 = (1 − 22.558e-6/m·z)^5.2559`. Valid: standard atmosphere, up to 11 km. Source: ISO 2533.
#[inline]
pub fn pressure_share(altitude: Length) -> f64 {
    libm::pow(1.0 - 22.558e-6 * altitude.si(), 5.255_9)
}

/// Which way a bar lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// Its width upright.
    OnEdge,
    /// Its width level.
    Flat,
}

/// A bar with a rectangular section, bare or as a stack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Width of its broad faces.
    pub width: Length,
    /// Thickness, of a stack over all.
    pub thickness: Length,
    /// Length that is reckoned.
    pub length: Length,
    /// Which way it lies.
    pub position: Position,
    /// Share of the heat of a black body that it radiates.
    pub emissivity: f64,
}

/// Heat radiated from a unit of area in W/m².
#[inline]
pub(crate) fn radiated(emissivity: f64, surface: Temperature, air: Temperature) -> f64 {
    let square = |t: f64| t * t;
    let (hot, cold) = (square(square(surface.in_kelvin())), square(square(air.in_kelvin())));
    emissivity * SIGMA * (hot - cold)
}

/// Heat that leaves a bar at a temperature; missing where the law does not know its width. See [`BAR_TEMPERATURE`].
pub fn leaving(bar: &Bar, air: &Air, surface: Temperature) -> Power {
    let (width, thickness) = (bar.width.si(), bar.thickness.si());
    let is_known = WIDTHS.0 <= width && width <= WIDTHS.1;
    if !is_known {
        return Power::new(f64::NAN);
    }
    let rise = surface.in_celsius() - air.temperature.in_celsius();
    let rise = if rise < 0.0 { 0.0 } else { rise };
    let thin = air.pressure_share.sqrt();
    let film = |coefficient: f64, height: f64| coefficient * thin * (rise / height).sqrt().sqrt();
    let convected = match bar.position {
        Position::OnEdge => 2.0 * (width + thickness) * film(UPRIGHT, width),
        Position::Flat => {
            width * (film(UPWARD, width) + film(DOWNWARD, width)) + 2.0 * thickness * film(UPRIGHT, thickness)
        }
    };
    let radiated = 2.0 * (width + thickness) * radiated(bar.emissivity, surface, air.temperature);
    Power::new(bar.length.si() * (convected * rise + radiated))
}

/// The temperature at which what goes in equals what leaves: at the melting point of copper where more goes in up to
/// there, missing where something is not known.
///
/// `into` and `out` are what goes in and what leaves at a temperature of the surface; nothing leaves at that of the
/// surroundings.
pub fn settled(
    surroundings: Temperature,
    into: impl Fn(Temperature) -> Power,
    out: impl Fn(Temperature) -> Power,
) -> Temperature {
    balanced(surroundings, |surface| into(surface).si() - out(surface).si())
}

/// The same, of what goes in less what leaves, in W.
pub(crate) fn balanced(surroundings: Temperature, balance: impl Fn(Temperature) -> f64) -> Temperature {
    let balance = |celsius: f64| balance(Temperature::celsius(celsius));
    let (mut low, mut high) = (surroundings.in_celsius(), MELTING);
    let (mut cold, mut hot) = (balance(low), balance(high));
    if cold.is_nan() || hot.is_nan() {
        return Temperature::celsius(f64::NAN);
    }
    if hot > 0.0 || low >= high {
        return Temperature::celsius(high);
    }
    if cold <= 0.0 {
        return surroundings;
    }
    let (mut step, mut was_low) = (0, None);
    while high - low > WITHIN {
        // Where the line between both ends is zero; every fourth time the middle, should one end hardly move.
        let share = if step % 4 == 3 { 0.5 } else { cold / (cold - hot) };
        let between = (low + share * (high - low)).clamp(low + 0.4 * WITHIN, high - 0.4 * WITHIN);
        let left = balance(between);
        let is_low = left > 0.0;
        // An end that stays twice counts half, so that the next line falls beyond the zero.
        let stays = if was_low == Some(is_low) { 0.5 } else { 1.0 };
        if is_low {
            (low, cold, hot) = (between, left, stays * hot);
        } else {
            (high, hot, cold) = (between, left, stays * cold);
        }
        (was_low, step) = (Some(is_low), step + 1);
    }
    Temperature::celsius(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thin_air_cools_less() {
        assert!((pressure_share(Length::new(0.0)) - 1.0).abs() < 1e-12);
        // ISO 2533: 70.1 kPa at 3000 m.
        assert!((pressure_share(Length::new(3000.0)) * 101.325 - 70.1).abs() < 0.1);
    }

    #[test]
    fn on_edge_cools_better_than_flat() {
        let bar = |position| Bar {
            width: Length::new(0.03),
            thickness: Length::new(0.003),
            length: Length::new(1.0),
            position,
            emissivity: 0.1,
        };
        let air = Air { temperature: Temperature::celsius(60.0), pressure_share: 1.0 };
        let heat = |position| leaving(&bar(position), &air, Temperature::celsius(100.0)).si();
        assert!(heat(Position::Flat) < heat(Position::OnEdge));
        assert!(leaving(&bar(Position::Flat), &air, air.temperature).si().abs() < 1e-12);
    }

    #[test]
    fn what_never_settles_melts() {
        let (cold, watts) = (Temperature::celsius(20.0), |_| Power::new(1e6));
        assert!((settled(cold, watts, |_| Power::new(1.0)).in_celsius() - MELTING).abs() < 1e-9);
        assert!(settled(cold, watts, |_| Power::new(f64::NAN)).in_celsius().is_nan());
    }
}
