//! A device's curves in the form that the solver reads, with the range that each may be used in.

use loadworthy_physics::{
    Current, Energy, Law, Resistance, Temperature, Voltage, energy_curve, on_state, switching,
};

use crate::ids::{CurveId, InputId};

/// A curve is used up to this share of the highest current it states.
pub const CURRENT_REACH: f64 = 1.25;
/// Below this share of the lowest current it states the energy of a single edge goes straight down to nothing.
pub const SOFT_BELOW: f64 = 0.05;
/// Switching energies are scaled within these shares of the voltage they are stated at. Below the first they are held at
/// what they are there, since less voltage never makes them larger; above the second they are not known.
pub const VOLTAGE_REACH: (f64, f64) = (0.5, 1.5);

/// Law of the straight line through an on-state curve.
pub static ON_STATE_LINE: Law = Law {
    name: "on-state line at the junction temperature",
    formula: "v = V_0 + r·i through the curve at Î/2 and Î, then linear in T_j between the curves",
    validity: "up to 1.25 times the curve's highest current; beyond its temperatures the line is continued, and one curve alone holds for all",
    source: on_state::CHORD.source,
};

/// Law of the switching energy of a bridge that turns.
pub static TURNING_ENERGY: Law = Law {
    name: "switching energy for each carrier period, mean of a turn",
    formula: "E = 1/(2·π)·∫₀^π E(Î·sin θ) dθ · (V/V_ref)^k",
    validity: "up to 1.5 times the stated voltage, below half of it held at what it is there, which reads high; up to 1.25 times the highest stated current; phase ripple left out: where it is 3 to 7 % of the crest, turn-on meets less and turn-off more, which leaves a transistor 2 to 4 % low, and recovery reads 5 to 11 % high where its curve does not end at the origin",
    source: "curve of the data sheet, averaged over the half wave",
};

/// Law of the switching energy of a bridge at standstill.
pub static STANDING_ENERGY: Law = Law {
    name: "switching energy for each carrier period, at standstill",
    formula: "E = E(i) · (V/V_ref)^k in the chips that switch hard",
    validity: "up to 1.5 times the stated voltage, below half of it held at what it is there, which reads high; up to 1.25 times the highest stated current",
    source: "curve of the data sheet at the standing current",
};

/// Law of the switching energy of a stage whose edges repeat with the carrier.
pub static EDGE_ENERGY: Law = Law {
    name: "switching energy for each carrier period",
    formula: "E = Σ E(i) · (V/V_ref)^k over the edges that switch hard, i the current of one device at the edge, and what a turn-on burns of its node behind a transformer",
    validity: "up to 1.5 times the stated voltage, below half of it held at what it is there, which reads high; up to 1.25 times the highest stated current; below a twentieth of the lowest straight down to nothing",
    source: "curve of the data sheet at the current of each edge",
};

/// Straight lines through on-state curves, one for each junction temperature.
#[derive(Clone, Debug)]
pub struct ConductionCurves {
    /// For whoever wants to point at them.
    pub(crate) id: CurveId,
    /// Curves with rising junction temperature; none where the description states none.
    pub(crate) curves: Vec<ConductionCurve>,
    /// The line at the junction limit around the rated current, for the rating at another case temperature.
    pub(crate) at_limit: (Voltage, Resistance),
}

/// An on-state curve at one junction temperature.
#[derive(Clone, Debug)]
pub struct ConductionCurve {
    /// Junction temperature in °C.
    pub(crate) junction: f64,
    /// Voltage against rising current; for a resistance one point.
    pub(crate) form: ConductionForm,
}

/// The form of an on-state curve.
#[derive(Clone, Debug)]
pub enum ConductionForm {
    /// Points of current and voltage with rising current.
    Points(Vec<(f64, f64)>),
    /// A resistance.
    Resistance(f64),
}

impl ConductionCurve {
    /// Knee and slope of the straight line around a crest current.
    #[inline]
    pub(crate) fn line(&self, peak: f64) -> (f64, f64) {
        match &self.form {
            ConductionForm::Resistance(resistance) => (0.0 * peak, *resistance + 0.0 * peak),
            ConductionForm::Points(points) => {
                let Some(&(highest, _)) = points.last() else { return (f64::NAN, f64::NAN) };
                if points.len() < 2 || peak.is_nan() || peak > CURRENT_REACH * highest {
                    return (f64::NAN, f64::NAN);
                }
                // A resting chip has no chord; its line is that of the smallest currents.
                let (half, peak) =
                    if peak > 0.0 { (0.5 * peak, peak) } else { (0.5 * points[0].0, points[0].0) };
                let (knee, slope) = on_state::chord(
                    Voltage::new(voltage_at(points, half)),
                    Voltage::new(voltage_at(points, peak)),
                    Current::new(half),
                    Current::new(peak),
                );
                (knee.si(), slope.si())
            }
        }
    }
}

/// Voltage of a curve at a current; its first and last line are continued.
#[inline]
fn voltage_at(points: &[(f64, f64)], current: f64) -> f64 {
    let mut k = 1;
    while k + 1 < points.len() && points[k].0 < current {
        k += 1;
    }
    let ((i0, v0), (i1, v1)) = (points[k - 1], points[k]);
    v0 + (v1 - v0) * (current - i0) / (i1 - i0)
}

impl ConductionCurves {
    /// The two curves that a junction temperature lies between, or the outer two beyond them.
    #[inline]
    pub(crate) fn around(&self, junction: f64) -> Option<(&ConductionCurve, &ConductionCurve)> {
        let curves = self.curves.as_slice();
        match curves {
            [] => None,
            [only] => Some((only, only)),
            _ => {
                let mut k = 1;
                while k + 1 < curves.len() && curves[k].junction < junction {
                    k += 1;
                }
                Some((&curves[k - 1], &curves[k]))
            }
        }
    }

    /// Whether the choice of curves depends on the temperature that is sought.
    pub(crate) fn bends(&self) -> bool {
        self.curves.len() > 2
    }

    /// The curve of the highest junction temperature.
    #[inline]
    pub(crate) fn hottest(&self) -> Option<&ConductionCurve> {
        self.curves.last()
    }

    /// Highest current that every curve states; none for resistances.
    #[must_use]
    pub fn highest_current(&self) -> Option<f64> {
        let highest = self.curves.iter().filter_map(|curve| match &curve.form {
            ConductionForm::Points(points) => points.last().map(|&(current, _)| current),
            ConductionForm::Resistance(_) => None,
        });
        highest.reduce(f64::min)
    }

    /// The junction temperatures that the curves span, in °C.
    #[must_use]
    pub fn span(&self) -> Option<(f64, f64)> {
        Some((self.curves.first()?.junction, self.curves.last()?.junction))
    }
}

/// Energies of a switching event.
#[derive(Clone, Debug)]
pub struct EnergyCurve {
    /// For whoever wants to point at it.
    pub(crate) id: CurveId,
    /// Voltage it was measured at, in V.
    pub(crate) voltage: f64,
    /// Junction temperature it was measured at, in °C.
    pub(crate) junction: f64,
    /// Energy of one event against rising current; none where the description states none.
    pub(crate) points: Vec<(Current, Energy)>,
    /// How it scales; none where the description states no energies.
    pub(crate) scale: Option<EnergyScale>,
}

/// Inputs that say how a switching energy scales from where it was measured.
#[derive(Clone, Copy, Debug)]
pub struct EnergyScale {
    /// Exponent of the voltage.
    pub voltage_exponent: InputId,
    /// Exponent of the current, where only one current is stated.
    pub current_exponent: Option<InputId>,
    /// Relative growth for each kelvin.
    pub per_kelvin: InputId,
}

impl EnergyCurve {
    /// Factor of the voltage: below its reach that of the end, above it not a number.
    #[inline]
    pub(crate) fn voltage_factor(&self, voltage: f64, exponent: f64) -> f64 {
        let (least, most) = (VOLTAGE_REACH.0 * self.voltage, VOLTAGE_REACH.1 * self.voltage);
        if voltage > most || voltage < 0.0 {
            return f64::NAN;
        }
        let voltage = if voltage < least && exponent > 0.0 { least } else { voltage };
        switching::scale_voltage(Voltage::new(voltage), Voltage::new(self.voltage), exponent)
    }

    /// Mean over the half wave for each carrier period, at the stated voltage and temperature. `exponent` is that of
    /// the current where one current is stated.
    #[inline]
    pub(crate) fn average(&self, peak: f64, exponent: f64) -> f64 {
        match self.points.as_slice() {
            _ if self.is_beyond(peak) => f64::NAN,
            &[(at, energy)] => switching::power_law_average(energy, at, Current::new(peak), exponent).si(),
            points => energy_curve::polyline_average(points, Current::new(peak)).si(),
        }
    }

    /// Energy of one event at a current, at the stated voltage and temperature.
    #[inline]
    pub(crate) fn at(&self, current: f64, exponent: f64) -> f64 {
        match self.points.as_slice() {
            _ if self.is_beyond(current) => f64::NAN,
            &[(at, energy)] => switching::power_law_at(energy, at, Current::new(current), exponent).si(),
            points => energy_curve::polyline_at(points, Current::new(current)).si(),
        }
    }

    /// Factor of the junction temperature as the straight line that holds about one in °C: at 0 °C, and its growth for each
    /// kelvin. `per_kelvin` is the growth that is stated.
    #[inline]
    pub(crate) fn around(&self, junction: f64, per_kelvin: f64) -> (f64, f64) {
        let (at, stated) = (Temperature::celsius(junction), Temperature::celsius(self.junction));
        switching::around_temperature(at, stated, per_kelvin)
    }

    /// Whether which line holds hangs on the junction, which is nowhere colder than the coolant that enters, in °C.
    #[inline]
    pub(crate) fn bends(&self, coldest: f64, per_kelvin: f64) -> bool {
        let (at, stated) = (Temperature::celsius(coldest), Temperature::celsius(self.junction));
        switching::scale_temperature(at, stated, per_kelvin) < switching::LEAST_LEFT
    }

    #[inline]
    fn is_beyond(&self, current: f64) -> bool {
        self.points.last().is_none_or(|(highest, _)| current > CURRENT_REACH * highest.si())
    }
}
