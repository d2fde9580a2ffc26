//! Resistance of a copper winding: warmed, and raised by the fields of the layers around each conductor.

use crate::{Frequency, Law, Length, Resistance, Temperature};

/// Resistivity of copper at 20 °C in Ω·m, and its growth for each kelvin (IEC 60028).
const COPPER: (f64, f64) = (1.724_1e-8, 0.003_93);
/// Permeability of free space in H/m.
const MU_0: f64 = 1.256_637_062_12e-6;
/// Layers thinner than this share of a skin depth follow the first term of their series.
const THIN: f64 = 0.05;
/// Layers thicker than this many skin depths carry their current in their skins alone.
const THICK: f64 = 20.0;

/// Temperatures in °C at which an excess is reckoned that is wanted at any, evenly apart; see [`Excess`].
pub const KNOWN_AT: [f64; 3] = [40.0, 100.0, 160.0];

/// Share of the window's breadth that the conductors of a layer fill, within which layers act like sheets.
pub const FILLING: (f64, f64) = (0.6, 1.0);

/// Law of [`warmed`].
pub static WARMED: Law = Law {
    name: "resistance of a warm winding",
    formula: "R = R_0·(1 + a·(T − 20 °C))/(1 + a·(T_0 − 20 °C)), a = 0.00393/K",
    validity: "copper",
    source: "IEC 60028",
};

/// Law of [`Sheets::ratio`].
pub static LAYERS: Law = Law {
    name: "alternating over direct resistance of a winding in layers",
    formula: "F = X·[(sinh 2X + sin 2X)/(cosh 2X − cos 2X) + 2·(p² − 1)/3·(sinh X − sin X)/(cosh X + cos X)], X = h/δ·√η",
    validity: "field along the layers, η from 0.6 to 1; exact in one dimension; edges, and the field that leaves an air gap, come on top",
    source: "Dowell, Proc. IEE 113(8), 1966",
};

/// Resistance at a temperature, from that at another. See [`WARMED`].
#[inline]
pub fn warmed(stated: Resistance, at: Temperature, now: Temperature) -> Resistance {
    stated * (resistivity(now) / resistivity(at))
}

/// Resistivity of copper in Ω·m.
#[inline]
fn resistivity(at: Temperature) -> f64 {
    COPPER.0 * (1.0 + COPPER.1 * (at.in_celsius() - 20.0))
}

/// Growth of a resistance for each kelvin as a share of what it is at a temperature.
#[inline]
pub fn growth_at(at: Temperature) -> f64 {
    COPPER.0 * COPPER.1 / resistivity(at)
}

/// Depth at which a field in copper has fallen to 1/e.
///
/// `δ = √(ρ/(π·f·μ_0)), ρ = 1.7241e-8·(1 + 0.00393·(T − 20 °C))`. Valid: copper, sinusoidal current. Source: IEC 60028;
/// diffusion of a plane wave.
#[inline]
pub fn skin_depth(frequency: Frequency, at: Temperature) -> Length {
    Length::new((resistivity(at) / (core::f64::consts::PI * frequency.si() * MU_0)).sqrt())
}

/// A winding as sheets: what its conductors act like in the field that runs along its layers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheets {
    /// Thickness of a sheet, h.
    pub thickness: Length,
    /// Sheets from the place without field to the place of the whole field, p.
    pub count: f64,
    /// Share of the window's breadth that a layer fills, η.
    pub filling: f64,
}

impl Sheets {
    /// Foils that fill the window, one a layer.
    #[inline]
    pub fn of_foil(thickness: Length, layers: f64, filling: f64) -> Self {
        Self { thickness, count: layers, filling }
    }

    /// Round wires, by squares of the same section.
    #[inline]
    pub fn of_wire(diameter: Length, layers: f64, filling: f64) -> Self {
        Self { thickness: diameter * (0.5 * core::f64::consts::PI.sqrt()), count: layers, filling }
    }

    /// Bundles of stranded and twisted wires: √n of the n strands stand above one another in each layer.
    #[inline]
    pub fn of_strands(diameter: Length, strands: f64, layers: f64, filling: f64) -> Self {
        Self::of_wire(diameter, layers * strands.sqrt(), filling)
    }

    /// Alternating over direct resistance at a frequency. Not a number where the filling leaves [`FILLING`]. See
    /// [`LAYERS`].
    pub fn ratio(self, frequency: Frequency, at: Temperature) -> f64 {
        let Self { thickness, count, filling } = self;
        if !(FILLING.0 <= filling && filling <= FILLING.1) {
            return f64::NAN;
        }
        let x = thickness / skin_depth(frequency, at) * filling.sqrt();
        let more = count * count - 1.0;
        if x < THIN {
            let square = x * x;
            return 1.0 + square * square * (5.0 * more + 4.0) / 45.0;
        }
        if x > THICK {
            return x * (1.0 + 2.0 / 3.0 * more);
        }
        let skin = (libm::sinh(2.0 * x) + libm::sin(2.0 * x)) / (libm::cosh(2.0 * x) - libm::cos(2.0 * x));
        let near = (libm::sinh(x) - libm::sin(x)) / (libm::cosh(x) + libm::cos(x));
        x * (skin + 2.0 / 3.0 * more * near)
    }
}

/// What the fields of its layers add to a loss, at the temperatures of [`KNOWN_AT`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Excess {
    /// That excess.
    pub known: [f64; 3],
}

impl Excess {
    /// Value at a temperature, and its growth for each kelvin there.
    ///
    /// `E(T) = q(ρ)/ρ, q the parabola through ρ·E at 40, 100 and 160 °C`. Valid: of the loss within 0.1 % between 40
    /// and 160 °C, within 1 % from 0 to 200 °C. Source: interpolation; thin layers add what falls with the resistivity
    /// of their copper.
    #[inline]
    pub fn at(self, now: Temperature) -> (f64, f64) {
        let over_warm =
            |celsius: f64| (1.0 + COPPER.1 * (celsius - 20.0)) / (1.0 + COPPER.1 * (KNOWN_AT[1] - 20.0));
        let (low, high) = (over_warm(KNOWN_AT[0]), over_warm(KNOWN_AT[2]));
        let [cold, warm, hot] = self.known;
        let below = (warm - low * cold) / (1.0 - low);
        let above = (high * hot - warm) / (high - 1.0);
        let bend = (above - below) / (high - low);
        let (ratio, per_kelvin) = (over_warm(now.in_celsius()), over_warm(21.0) - over_warm(20.0));
        let product = warm + (ratio - 1.0) * (below + bend * (ratio - low));
        let rises = below + bend * (2.0 * ratio - 1.0 - low);
        let excess = product / ratio;
        (excess, per_kelvin * (rises - excess) / ratio)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_excess_is_known_between_three_temperatures() {
        let hertz = Frequency::new(60e3);
        let loss = |sheets: Sheets, celsius: f64| {
            let now = Temperature::celsius(celsius);
            let warmed = warmed(Resistance::new(1.0), Temperature::celsius(20.0), now).si();
            (warmed * (sheets.ratio(hertz, now) - 1.0), warmed)
        };
        let mut furthest: (f64, f64) = (0.0, 0.0);
        for thickness in [0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 5.0] {
            for layers in [1.0, 2.0, 4.0, 8.0, 20.0] {
                let sheets = Sheets::of_foil(Length::new(thickness * 1e-3), layers, 0.9);
                let excess = Excess { known: KNOWN_AT.map(|celsius| loss(sheets, celsius).0) };
                for celsius in [0.0, 25.0, 40.0, 55.0, 70.0, 85.0, 115.0, 130.0, 145.0, 160.0, 180.0, 200.0] {
                    let ((exact, direct), (found, slope)) =
                        (loss(sheets, celsius), excess.at(Temperature::celsius(celsius)));
                    let off = ((found - exact) / (direct + exact)).abs();
                    if (40.0..=160.0).contains(&celsius) {
                        furthest.0 = furthest.0.max(off);
                    }
                    furthest.1 = furthest.1.max(off);
                    let near = |by: f64| excess.at(Temperature::celsius(celsius + by)).0;
                    let by_hand = (near(1e-3) - near(-1e-3)) / 2e-3;
                    assert!((slope - by_hand).abs() < 1e-6 * (1.0 + slope.abs()), "{slope} {by_hand}");
                }
            }
        }
        assert!(furthest.0 < 1e-3 && furthest.1 < 1e-2, "{furthest:?}");
    }

    #[test]
    fn skin_depths_of_textbooks() {
        // 8.5 mm at the mains' 60 Hz, 66 mm/√f at 20 °C.
        let depth = |hertz: f64| skin_depth(Frequency::new(hertz), Temperature::celsius(20.0)).si();
        assert!((depth(60.0) / 8.5e-3 - 1.0).abs() < 0.01);
        assert!((depth(1e4) / 66e-5 - 1.0).abs() < 0.01);
    }

    #[test]
    fn series_closed_form_and_skins_meet() {
        let at = |x: f64, count: f64| {
            let warm = Temperature::celsius(100.0);
            let depth = skin_depth(Frequency::new(1e5), warm);
            Sheets::of_foil(depth * x, count, 1.0).ratio(Frequency::new(1e5), warm)
        };
        for count in [1.0, 4.0, 12.0] {
            for border in [THIN, THICK] {
                let (below, above) = (at(border * (1.0 - 1e-9), count), at(border * (1.0 + 1e-9), count));
                assert!((below / above - 1.0).abs() < 1e-6, "{border}, {count}: {below} {above}");
            }
        }
        assert!((at(1e-6, 3.0) - 1.0).abs() < 1e-12);
        assert!(at(5.0, f64::NAN).is_nan() && at(f64::NAN, 2.0).is_nan());
    }

    #[test]
    fn warm_copper_resists_more() {
        let cold = Resistance::new(10e-3);
        let warm = warmed(cold, Temperature::celsius(20.0), Temperature::celsius(120.0));
        assert!((warm.si() / 13.93e-3 - 1.0).abs() < 1e-12);
        let slope = growth_at(Temperature::celsius(20.0)) * cold.si();
        assert!((cold.si() + 100.0 * slope - warm.si()).abs() < 1e-15);
    }

    #[test]
    fn loose_wires_are_no_sheets() {
        let warm = Temperature::celsius(100.0);
        let loose = Sheets::of_wire(Length::new(1e-3), 2.0, 0.5);
        assert!(loose.ratio(Frequency::new(1e5), warm).is_nan());
        // Twice as fine strands of the same copper lose a quarter of the excess, as long as they are thin.
        let excess = |diameter: f64, strands: f64| {
            let bundle = Sheets::of_strands(Length::new(diameter), strands, 4.0, 0.8);
            bundle.ratio(Frequency::new(1e5), warm) - 1.0
        };
        assert!((excess(0.1e-3, 100.0) / excess(0.05e-3, 400.0) / 4.0 - 1.0).abs() < 0.02);
    }
}
