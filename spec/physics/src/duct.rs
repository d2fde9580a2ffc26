//! Round passages: friction and heat transfer from laminar over transition to turbulent flow.

use crate::coolant::Coolant;
use crate::{
    Area, Density, FilmCoefficient, Law, Length, LinearFlowResistance, Power, Pressure, Temperature,
    Viscosity, VolumeFlow,
};

/// Law of [`Duct::pressure`].
pub static PRESSURE: Law = Law {
    name: "pressure drop of a round passage",
    formula: "Δp = (f·L/D + ζ)·ρ·v²/2; f = 64/Re up to 2300, (0.79·ln Re − 1.64)⁻² from 4000, straight between",
    validity: "smooth, developed flow, Re up to 5·10⁶; within 2 % turbulent; in transition an interpolation",
    source: "Hagen-Poiseuille; Petukhov, Advances in Heat Transfer 6, 1970",
};

/// Law of [`wall_over_coolant`].
pub static WALL: Law = Law {
    name: "wetted wall at its hottest place",
    formula: "T_w = T_out + s·P/(h·A), s the largest heat flux over the mean",
    validity: "no boiling; s as stated or assumed; h at the end of the passage, of a laminar flow that of one which still warms, where its length is stated",
    source: "Churchill, Ozoe, J. Heat Transfer 95, 1973; Gnielinski, Int. J. Heat Mass Transfer 63, 2013",
};

/// Nusselt number of a laminar flow in a round passage with even heat, once it is warmed through.
pub const LAMINAR_NUSSELT: f64 = 4.364;

/// Reynolds number up to which a flow is laminar.
pub const LAMINAR: f64 = 2300.0;
/// Reynolds number from which it is turbulent.
pub const TURBULENT: f64 = 4000.0;
/// Largest Reynolds number, and smallest and largest Prandtl number, for which [`nusselt`] is known.
const RANGE: (f64, f64, f64) = (5e6, 0.5, 2000.0);

/// Reynolds number of a flow in each of some alike passages.
///
/// `Re = ρ·v·D/μ`. Valid: laminar below 2300, turbulent above 4000. Source: definition.
#[inline]
pub fn reynolds(density: Density, viscosity: Viscosity, flow: VolumeFlow, bore: Length) -> f64 {
    4.0 * density.si() * flow.si().abs() / (core::f64::consts::PI * bore.si() * viscosity.si())
}

/// Petukhov's friction of a smooth pipe, after Darcy.
#[inline]
fn turbulent_friction(reynolds: f64) -> f64 {
    let root = 0.79 * libm::log(reynolds) - 1.64;
    1.0 / (root * root)
}

/// Straight between the value at the end of laminar flow and that at the start of turbulence.
#[inline]
fn in_transition(reynolds: f64, laminar: f64, turbulent: f64) -> f64 {
    laminar + (turbulent - laminar) * (reynolds - LAMINAR) / (TURBULENT - LAMINAR)
}

/// Friction factor after Darcy; infinite without flow. See [`PRESSURE`].
#[inline]
pub fn friction(reynolds: f64) -> f64 {
    if reynolds <= LAMINAR {
        64.0 / reynolds
    } else if reynolds < TURBULENT {
        in_transition(reynolds, 64.0 / LAMINAR, turbulent_friction(TURBULENT))
    } else {
        turbulent_friction(reynolds)
    }
}

/// Nusselt number; `laminar` is that of the passage in laminar flow. Not a number outside the range of the law.
///
/// `h = Nu·k/D; Nu at its end up to Re 2300, where heat still spreads into a laminar flow, (f/8)·(Re − 1000)·Pr/(1 +
/// 12.7·√(f/8)·(Pr^⅔ − 1)) from 4000, straight between`. Valid: smooth, even heat; 0.5 ≤ Pr ≤ 2000, Re up to 5·10⁶;
/// within 10 % turbulent, low where the velocity still develops. Source: Churchill, Ozoe, J. Heat Transfer 95, 1973;
/// Gnielinski, Int. J. Heat Mass Transfer 63, 2013.
#[inline]
pub fn nusselt(reynolds: f64, prandtl: f64, laminar: f64) -> f64 {
    let (fastest, least, most) = RANGE;
    if !(reynolds <= fastest && prandtl >= least && prandtl <= most) {
        return f64::NAN;
    }
    let gnielinski = |reynolds: f64| {
        let eighth = turbulent_friction(reynolds) / 8.0;
        let cube = libm::cbrt(prandtl);
        eighth * (reynolds - 1000.0) * prandtl / (1.0 + 12.7 * eighth.sqrt() * (cube * cube - 1.0))
    };
    if reynolds <= LAMINAR {
        laminar
    } else if reynolds < TURBULENT {
        in_transition(reynolds, laminar, gnielinski(TURBULENT))
    } else {
        gnielinski(reynolds)
    }
}

/// Nusselt number of a laminar flow at a distance from where it begins to warm, over bore, Reynolds and Prandtl number.
///
/// `(Nu + 1)/5.364 = (1 + (220/π·x*)^−10/9)^3/10, x* = L/(D·Re·Pr)`. Valid: at the distance L from where it begins to
/// warm; developed velocity, which reads low where that develops as well; even heat; one viscosity, which reads low
/// where the wall is much warmer; within 6 %. Source: Churchill, Ozoe, J. Heat Transfer 95, 1973.
#[inline]
pub fn laminar_nusselt(distance: f64) -> f64 {
    let crowding = libm::pow(220.0 / core::f64::consts::PI * distance, -10.0 / 9.0);
    (LAMINAR_NUSSELT + 1.0) * libm::pow(1.0 + crowding, 0.3) - 1.0
}

/// Heat transfer coefficient at the end of alike passages that a coolant flows through, of this length where it is
/// known.
pub fn film(
    coolant: Coolant,
    at: Temperature,
    flow: VolumeFlow,
    (bore, length): (Length, Option<Length>),
) -> FilmCoefficient {
    let reynolds = reynolds(coolant.density(at), coolant.viscosity(at), flow, bore);
    let prandtl = coolant.prandtl(at);
    let fastest = if reynolds > LAMINAR { LAMINAR } else { reynolds };
    let laminar =
        length.map_or(LAMINAR_NUSSELT, |length| laminar_nusselt(length / bore / (fastest * prandtl)));
    let number = nusselt(reynolds, prandtl, laminar);
    FilmCoefficient::new(number * coolant.conductivity(at).si() / bore.si())
}

/// Temperature of the hottest wetted wall; `concentration` is the largest heat flux over the mean. See [`WALL`].
#[inline]
pub fn wall_over_coolant(
    coolant: Temperature,
    heat: Power,
    film: FilmCoefficient,
    area: Area,
    concentration: f64,
) -> Temperature {
    coolant + heat / (film * area) * concentration
}

/// Friction factors of rectangles in laminar flow after Fanning, times the Reynolds number; `aspect` is the short side over
/// the long one. Shah and London's polynomial, within 0.1 %.
pub fn laminar_rectangle_friction(aspect: f64) -> f64 {
    let a = aspect;
    24.0 * (1.0 + a * (-1.3553 + a * (1.9467 + a * (-1.7012 + a * (0.9564 - 0.2537 * a)))))
}

/// Nusselt number of rectangles in developed laminar flow, even heat along and even temperature around. Shah and London's
/// polynomial, within 0.1 %.
pub fn laminar_rectangle_nusselt(aspect: f64) -> f64 {
    let a = aspect;
    8.235 * (1.0 + a * (-2.0421 + a * (3.0853 + a * (-2.4765 + a * (1.0578 - 0.1861 * a)))))
}

/// Alike round passages side by side, with a coolant of one temperature in them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duct {
    /// Inner diameter.
    pub bore: Length,
    /// How long each is.
    pub length: Length,
    /// How many stand side by side.
    pub passages: f64,
    /// Sum of the loss coefficients of its ends and bends.
    pub losses: f64,
    /// Density of the coolant.
    pub density: Density,
    /// Viscosity of the coolant.
    pub viscosity: Viscosity,
}

impl Duct {
    /// Whether every number is known and above nothing, so that the drop rises with the flow.
    #[inline]
    pub fn is_known(&self) -> bool {
        let above = [self.bore.si(), self.length.si(), self.passages, self.density.si(), self.viscosity.si()];
        above.iter().all(|number| *number > 0.0 && number.is_finite()) && self.losses >= 0.0
    }

    /// Pressure drop of a flow through all of them, with its sign. See [`PRESSURE`].
    #[inline]
    pub fn pressure(&self, flow: VolumeFlow) -> Pressure {
        let each = flow / self.passages;
        let velocity = each.si() / (0.25 * core::f64::consts::PI * self.bore.si() * self.bore.si());
        let dynamic = 0.5 * self.density.si() * velocity * velocity.abs();
        let reynolds = reynolds(self.density, self.viscosity, each, self.bore);
        let bends = Pressure::new(self.losses * dynamic);
        if reynolds <= LAMINAR {
            return self.laminar() * flow + bends;
        }
        Pressure::new(friction(reynolds) * (self.length / self.bore) * dynamic) + bends
    }

    /// Drop for each unit of a laminar flow.
    fn laminar(&self) -> LinearFlowResistance {
        let square = self.bore.si() * self.bore.si();
        LinearFlowResistance::new(
            128.0 * self.viscosity.si() * self.length.si()
                / (core::f64::consts::PI * square * square * self.passages),
        )
    }

    /// Pressure drop of a flow above nothing, and about how it grows.
    #[inline]
    pub(crate) fn pressure_and_slope(&self, flow: f64) -> (f64, f64) {
        let pressure = |flow: f64| self.pressure(VolumeFlow::new(flow)).si();
        let (here, step) = (pressure(flow), 1e-6 * flow);
        (here, (pressure(flow + step) - here) / step)
    }

    /// Flow at a pressure drop above nothing, and about how it grows.
    #[inline]
    pub(crate) fn flow_and_slope(&self, pressure: f64) -> (f64, f64) {
        // Laminar flow without bends is the most that a pressure drives.
        let most = pressure / self.laminar().si();
        let flow =
            crate::hydraulics::rising_root(0.0, most, most, pressure, |flow| self.pressure_and_slope(flow));
        (flow, 1.0 / self.pressure_and_slope(flow).1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hose(viscosity: f64) -> Duct {
        Duct {
            bore: Length::new(0.016),
            length: Length::new(2.0),
            passages: 1.0,
            losses: 1.5,
            density: Density::new(1050.0),
            viscosity: Viscosity::new(viscosity),
        }
    }

    #[test]
    fn friction_follows_the_moody_chart() {
        assert!((friction(1000.0) - 0.064).abs() < 1e-12);
        // Smooth pipe: 0.0309 at 10⁴, 0.0180 at 10⁵.
        assert!((friction(1e4) - 0.0309).abs() < 7e-4 && (friction(1e5) - 0.018).abs() < 2e-4);
    }

    #[test]
    fn the_drop_rises_through_transition_without_a_step() {
        let hose = hose(1.3e-3);
        let drops: Vec<f64> =
            (1..4000).map(|step| hose.pressure(VolumeFlow::new(f64::from(step) * 1e-7)).si()).collect();
        assert!(drops.windows(2).all(|pair| pair[0] < pair[1] && pair[1] - pair[0] < 60.0));
    }

    #[test]
    fn flow_is_the_inverse_of_pressure() {
        for viscosity in [1.3e-3, 0.04] {
            for flow in [1e-7, 3e-5, 6e-5, 1e-4, 4e-4] {
                let duct = hose(viscosity);
                let pressure = duct.pressure(VolumeFlow::new(flow)).si();
                let (again, slope) = duct.flow_and_slope(pressure);
                assert!((again / flow - 1.0).abs() < 1e-9 && slope > 0.0, "{flow} became {again}");
            }
        }
    }

    #[test]
    fn a_square_and_a_long_slot_are_those_of_the_table() {
        // Shah and London: f·Re 14.23 and Nu 3.61 of a square.
        assert!((laminar_rectangle_friction(1.0) - 14.23).abs() < 0.02);
        assert!((laminar_rectangle_nusselt(1.0) - 3.61).abs() < 0.01);
    }

    #[test]
    fn a_laminar_flow_takes_more_heat_before_it_is_warmed_through() {
        // Siegel, Sparrow, Hallman's series for even heat, with its first terms as Kays and Crawford print them, and their table.
        let terms =
            [(25.68, 7.630e-3), (83.86, 2.053e-3), (174.2, 0.903e-3), (296.5, 0.491e-3), (450.9, 0.307e-3)];
        let table = [(0.004, 9.93), (0.010, 7.49), (0.020, 6.14), (0.040, 5.19), (0.100, 4.51)];
        for (twice, printed) in table {
            let rest: f64 =
                terms.iter().map(|(square, a)| libm::exp(-square * twice) / (a * square * square)).sum();
            let series = 1.0 / (1.0 / 4.364 - 0.5 * rest);
            assert!((series / printed - 1.0).abs() < 0.05, "{series} {printed}");
            let found = laminar_nusselt(0.5 * twice);
            assert!((found / printed - 1.0).abs() < 0.06, "{found} where the table has {printed}");
        }
        assert!((laminar_nusselt(100.0) - 4.364).abs() < 1e-3 && laminar_nusselt(f64::NAN).is_nan());
        let cold = crate::coolant::Coolant::WaterGlycol { glycol: 0.5 };
        let at = |length| {
            let (flow, bore) = (VolumeFlow::new(1e-4), Length::new(0.008));
            film(cold, Temperature::celsius(-24.5), flow, (bore, length)).si()
        };
        // 600 mm at Pr of some hundreds: nearly four times what a warmed-through flow takes.
        let times = at(Some(Length::new(0.6))) / at(None);
        assert!((3.0..4.5).contains(&times), "{times}");
    }

    #[test]
    fn outside_its_range_no_heat_transfer_is_known() {
        assert!(nusselt(1e7, 10.0, 4.36).is_nan() && nusselt(1e4, 0.1, 4.36).is_nan());
        assert!(nusselt(f64::NAN, 10.0, 4.36).is_nan());
    }
}
