//! One device at the low limit of its on-state voltage among devices at the high limit, each as warm as its
//! own losses make it.
//!
//! What a device carries decides how warm it gets, and how warm it is decides what it carries. Where the
//! on-state voltage rises with temperature that evens out; where it falls, the warmest device draws more
//! and may draw everything. That there is no stable sharing is a result of its own here.

use crate::{
    Current, Law, LossSlope, Power, Resistance, Temperature, TemperatureDifference, ThermalResistance,
    Voltage,
};

const OWN: &str = "own derivation, compared with a solution of all 2·n + 1 unknowns at once";

/// Law of [`corner`].
pub static CORNER: Law = Law {
    name: "current of the lowest of parallel devices, temperatures included",
    formula: "(1 − s)·(V_0(T_1) + r(T_1)·k_1·Î) = (1 + s)·(V_0(T_2) + r(T_2)·k_2·Î), k_1 + (n − 1)·k_2 = n, T = T_ref + R_ca·(P + P_other) + R_jc·P",
    validity: "on-state line and switching loss straight in temperature; sharing decided at the crest; P of each (1 ∓ s)·(V_0·k·I_avg + r·k²·I_rms²) the switching loss at its own share and k of what a body diode loses, all at its own T; the rest nearest to equal shares; where the low device alone stays below the knee of the others it carries all; a corner that is rarely met",
    source: OWN,
};

/// Law of [`hogging_gain`].
pub static HOGGING_GAIN: Law = Law {
    name: "loop gain of a difference between parallel devices",
    formula: "g_h = −(R_self − R_mutual)·V·(dV/dT)/r",
    validity: "a small difference between equal devices with constant current; it grows for g_h ≥ 1",
    source: "own derivation, compared with a simulation of two devices' temperatures",
};

/// On-state line whose knee and slope are straight in temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnStateLine {
    /// Knee voltage at 0 °C.
    pub knee: Voltage,
    /// Growth of the knee voltage for each kelvin.
    pub knee_per_kelvin: Voltage,
    /// Slope resistance at 0 °C.
    pub slope: Resistance,
    /// Growth of the slope resistance for each kelvin.
    pub slope_per_kelvin: Resistance,
}

impl OnStateLine {
    /// Line through two temperatures, each with its knee and slope.
    #[inline]
    pub fn through(
        cold: (Temperature, Voltage, Resistance),
        hot: (Temperature, Voltage, Resistance),
    ) -> Self {
        let span = (hot.0 - cold.0).si();
        let knee_per_kelvin = (hot.1 - cold.1) / span;
        let slope_per_kelvin = (hot.2 - cold.2) / span;
        let celsius = cold.0.in_celsius();
        Self {
            knee: cold.1 - knee_per_kelvin * celsius,
            knee_per_kelvin,
            slope: cold.2 - slope_per_kelvin * celsius,
            slope_per_kelvin,
        }
    }

    /// Knee voltage at a temperature.
    #[inline]
    pub fn knee_at(self, temperature: Temperature) -> Voltage {
        self.knee + self.knee_per_kelvin * temperature.in_celsius()
    }

    /// Slope resistance at a temperature.
    #[inline]
    pub fn slope_at(self, temperature: Temperature) -> Resistance {
        self.slope + self.slope_per_kelvin * temperature.in_celsius()
    }

    /// Voltage at a current and a temperature.
    #[inline]
    pub fn voltage(self, current: Current, temperature: Temperature) -> Voltage {
        self.knee_at(temperature) + self.slope_at(temperature) * current
    }
}

/// What is stated of a group of parallel devices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Number of devices.
    pub devices: u32,
    /// Limit s of the on-state voltage: the low device has 1 − s of it, the others 1 + s. A single device
    /// has nobody to differ from and is taken in the middle.
    pub spread: f64,
    /// Switching loss of the low device over that of one that switches with the others: it may be the one that turns on
    /// first and off last as well. 1 where thresholds are alike.
    pub low_edges: f64,
    /// On-state line of the middle device.
    pub line: OnStateLine,
    /// Mean current of one device when all are equal.
    pub mean: Current,
    /// RMS current of one device when all are equal.
    pub rms: Current,
    /// Crest current of one device when all are equal; sharing is decided there.
    pub crest: Current,
    /// Loss beside line and edges in one device when all are equal, such as that of a body diode in dead times and as it
    /// recovers: what it is at 0 °C, and its growth for each kelvin. It goes with the current of the device.
    pub beside: (Power, LossSlope),
    /// From each junction to its own case, R_jc.
    pub to_case: ThermalResistance,
    /// From the case to the reference temperature, R_ca.
    pub case_to_reference: ThermalResistance,
    /// Other heat that passes the same case, for instance of a diode in the package.
    pub other_heat: Power,
    /// Reference temperature of the low device.
    pub low_reference: Temperature,
    /// Reference temperature of the others.
    pub others_reference: Temperature,
}

/// Whether the devices share at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stability {
    /// They come to rest and a small difference dies out.
    Stable,
    /// There is no stable sharing: a difference grows, or a junction runs away before the voltages are
    /// equal.
    NoStableSharing,
    /// An input is missing.
    NotJudged,
}

/// Where the devices come to rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerPoint {
    /// Whether they share at all; without stable sharing factors and temperatures are not a number.
    pub stability: Stability,
    /// Current of the low device over the mean.
    pub factor: f64,
    /// Current of each other device over the mean; 1 without others.
    pub others_factor: f64,
    /// Junction of the low device.
    pub low_junction: Temperature,
    /// Junction of each other device.
    pub others_junction: Temperature,
    /// Loss of the low device.
    pub low_loss: Power,
    /// Loss of each other device.
    pub others_loss: Power,
    /// Common voltage at the crest.
    pub voltage: Voltage,
    /// Loop gain of a difference between the devices, g_h; stable below 1.
    pub hogging_gain: f64,
    /// Loop gain of the low device's own temperature at its current, g_c; it runs away at 1.
    pub thermal_gain: f64,
}

/// Loop gain g_h of a difference between parallel devices at a constant current (plain number).
///
/// `own` and `mutual` are the resistances by which a junction warms itself and its neighbour, `voltage` the
/// on-state voltage, `per_kelvin` its growth for each kelvin, `slope` the slope resistance. See
/// [`HOGGING_GAIN`].
#[inline]
pub fn hogging_gain(
    own: ThermalResistance,
    mutual: ThermalResistance,
    voltage: Voltage,
    per_kelvin: Voltage,
    slope: Resistance,
) -> f64 {
    // Watts that a kelvin more moves from the others to one device.
    let moved = LossSlope::new(-(voltage * (per_kelvin / slope)).si());
    moved * (own - mutual)
}

/// One device at a current factor.
#[derive(Clone, Copy)]
struct Device {
    factor: f64,
    junction: Temperature,
    loss: Power,
    voltage: Voltage,
    /// Growth of the crest voltage with the factor, the temperature held and set free.
    held: f64,
    free: f64,
    thermal_gain: f64,
}

impl Device {
    /// A device that carries `factor` times the mean, at `side` times the middle voltage.
    fn at(
        inputs: &Corner,
        (side, edges): (f64, f64),
        factor: f64,
        reference: Temperature,
        switching: &mut impl FnMut(f64) -> (Power, LossSlope),
    ) -> Self {
        let &Corner { line, mean, rms, crest, .. } = inputs;
        let path = inputs.to_case + inputs.case_to_reference;
        let (mean, square) = (mean * (side * factor), rms * rms * (side * factor * factor));
        let (switched, switched_growth) = switching(factor);
        let (switched, switched_growth) = (switched * edges, switched_growth * edges);
        let (beside, beside_growth) = (inputs.beside.0 * factor, inputs.beside.1 * factor);
        // P = constant + growth·T with T counted from 0 °C.
        let constant = line.knee * mean + line.slope * square + switched + beside;
        let growth = LossSlope::new(
            (line.knee_per_kelvin * mean + line.slope_per_kelvin * square).si()
                + switched_growth.si()
                + beside_growth.si(),
        );
        let gain = growth * path;
        let base = reference + inputs.case_to_reference * inputs.other_heat;
        let at_base = constant + growth * TemperatureDifference::new(base.in_celsius());
        let junction = base + at_base * path / (1.0 - gain);
        let loss = constant + growth * TemperatureDifference::new(junction.in_celsius());

        // Growth of the switching loss with the current, by a small step to either side.
        let step = 1e-5 * if factor > 0.1 { factor } else { 0.1 };
        let (less, more) = (switching(factor - step), switching(factor + step));
        let celsius = TemperatureDifference::new(junction.in_celsius());
        let switched_with_factor =
            edges * ((more.0 - less.0) + (more.1 * celsius - less.1 * celsius)).si() / (2.0 * step);
        let with_factor = (line.knee_at(junction) * inputs.mean * side
            + line.slope_at(junction) * (rms * rms * (2.0 * side * factor)))
            .si()
            + switched_with_factor
            + (inputs.beside.0 + inputs.beside.1 * celsius).si();

        let voltage = line.voltage(crest * factor, junction) * side;
        let held = (line.slope_at(junction) * crest * side).si();
        let per_kelvin = (line.knee_per_kelvin + line.slope_per_kelvin * (crest * factor)).si() * side;
        let warming = path.si() * with_factor / (1.0 - gain);
        Self { factor, junction, loss, voltage, held, free: held + per_kelvin * warming, thermal_gain: gain }
    }
}

/// The low device and one of the others.
#[derive(Clone, Copy)]
struct Pair {
    low: Device,
    other: Device,
}

impl Pair {
    fn at(inputs: &Corner, factor: f64, switching: &mut impl FnMut(f64) -> (Power, LossSlope)) -> Self {
        let others = f64::from(inputs.devices) - 1.0;
        let rest = (others + 1.0 - factor) / others;
        let (down, up) = (1.0 - inputs.spread, 1.0 + inputs.spread);
        Self {
            low: Device::at(inputs, (down, inputs.low_edges), factor, inputs.low_reference, switching),
            other: Device::at(inputs, (up, 1.0), rest, inputs.others_reference, switching),
        }
    }

    /// Volts by which the low device lies above the others; none once a junction runs away.
    fn excess(&self) -> Option<f64> {
        let runs = self.low.thermal_gain >= 1.0 || self.other.thermal_gain >= 1.0;
        if runs { None } else { Some((self.low.voltage - self.other.voltage).si()) }
    }

    /// Loop gain of a difference: what the temperatures take off the growth of the excess, as each device
    /// has it without its own thermal gain.
    fn hogging_gain(&self, others: f64) -> f64 {
        let held = self.low.held / (1.0 - self.low.thermal_gain)
            + self.other.held / (1.0 - self.other.thermal_gain) / others;
        let free = self.low.free + self.other.free / others;
        1.0 - free / held
    }

    /// Growth of the excess with the factor, everything set free.
    fn slope(&self, others: f64) -> f64 {
        self.low.free + self.other.free / others
    }

    /// The rest; figures that nobody could have stated make it one that is not judged.
    fn point(&self, others: f64) -> CornerPoint {
        let (hogging_gain, thermal_gain) = (self.hogging_gain(others), self.low.thermal_gain);
        let figures = [
            self.low.factor,
            self.other.factor,
            self.low.junction.in_celsius(),
            self.other.junction.in_celsius(),
            self.low.voltage.si(),
        ];
        if figures.iter().any(|figure| !figure.is_finite()) {
            return unsettled(Stability::NotJudged, hogging_gain, thermal_gain);
        }
        CornerPoint {
            stability: Stability::Stable,
            factor: self.low.factor,
            others_factor: self.other.factor,
            low_junction: self.low.junction,
            others_junction: self.other.junction,
            low_loss: self.low.loss,
            others_loss: self.other.loss,
            voltage: self.low.voltage,
            hogging_gain,
            thermal_gain,
        }
    }
}

/// Nothing but a verdict and the gains that it is seen from.
fn unsettled(stability: Stability, hogging_gain: f64, thermal_gain: f64) -> CornerPoint {
    let unknown = Temperature::celsius(f64::NAN);
    CornerPoint {
        stability,
        factor: f64::NAN,
        others_factor: f64::NAN,
        low_junction: unknown,
        others_junction: unknown,
        low_loss: Power::new(f64::NAN),
        others_loss: Power::new(f64::NAN),
        voltage: Voltage::new(f64::NAN),
        hogging_gain,
        thermal_gain,
    }
}

/// Places at which the way from the equal share to a whole end is looked at before the root is enclosed.
const LOOKS: u32 = 64;

/// Where one low and n − 1 high devices come to rest.
///
/// `switching` gives the switching loss of a device that carries so many times the mean: what it is at 0 °C,
/// and its growth for each kelvin; it may be asked slightly outside 0 … n. The rest that is found is the
/// one nearest to the equal share, which is where a group arrives that starts equal. A current so small that the low
/// device carries it below the knees of the others is all its own. See [`CORNER`].
pub fn corner(inputs: &Corner, mut switching: impl FnMut(f64) -> (Power, LossSlope)) -> CornerPoint {
    let count = f64::from(inputs.devices);
    if inputs.devices <= 1 {
        return alone(inputs, &mut switching);
    }
    let others = count - 1.0;
    let equal = Pair::at(inputs, 1.0, &mut switching);
    let gain = equal.hogging_gain(others);
    let judge = |pair: &Pair| {
        let gain = pair.hogging_gain(others);
        if gain < 1.0 {
            pair.point(others)
        } else {
            unsettled(Stability::NoStableSharing, gain, pair.low.thermal_gain)
        }
    };
    let none = unsettled(Stability::NoStableSharing, gain, equal.low.thermal_gain);
    let start = match equal.excess() {
        _ if gain.is_nan() => return unsettled(Stability::NotJudged, gain, equal.low.thermal_gain),
        None => return none,
        Some(excess) if excess.is_nan() => {
            return unsettled(Stability::NotJudged, gain, equal.low.thermal_gain);
        }
        Some(excess) => excess,
    };
    if start == 0.0 {
        return judge(&equal);
    }
    // Too low a voltage draws more current, too high a one less; on that way the first place where the sign
    // has changed encloses the rest.
    let end = if start < 0.0 { count } else { 0.0 };
    if gain < EASY {
        // The excess grows steadily: twice the straight way encloses the rest, with nothing before it.
        let far = 1.0 - 2.0 * start / equal.slope(others);
        if far > 0.0 && far < count {
            let there = Pair::at(inputs, far, &mut switching).excess();
            if let Some(excess) = there.filter(|excess| (*excess < 0.0) != (start < 0.0)) {
                return judge(&enclosed(inputs, (1.0, start), (far, excess), &mut switching));
            }
        }
    }
    let (mut before, mut excess_before) = (1.0, start);
    for look in 1..=LOOKS {
        let share = f64::from(look) / f64::from(LOOKS);
        // Finer near the equal share, where groups mostly come to rest.
        let factor = 1.0 + (end - 1.0) * share * share;
        let Some(excess) = Pair::at(inputs, factor, &mut switching).excess() else { return none };
        if excess.is_nan() {
            return unsettled(Stability::NotJudged, gain, equal.low.thermal_gain);
        }
        if (excess < 0.0) != (start < 0.0) {
            let found = enclosed(inputs, (before, excess_before), (factor, excess), &mut switching);
            return judge(&found);
        }
        (before, excess_before) = (factor, excess);
    }
    // All the way the low device lies below the others, as warm as it gets: it carries everything at a voltage below
    // their knees. What that is worth is told by its current, its loss and its junction.
    if start < 0.0 && gain < 1.0 {
        let whole = Pair::at(inputs, count, &mut switching);
        return CornerPoint { hogging_gain: gain, ..whole.point(others) };
    }
    none
}

/// Gain of a difference below which the excess grows steadily with the factor.
const EASY: f64 = 0.5;
/// Steps after which an enclosed root is known down to rounding, should every one of them only halve it.
const STEPS: u32 = 64;

/// Closes in on an enclosed root down to rounding: by the chord, of which an end that stays twice is given half its
/// weight, and by halves where the chord leads nowhere.
fn enclosed(
    inputs: &Corner,
    (mut near, mut at_near): (f64, f64),
    (mut far, mut at_far): (f64, f64),
    switching: &mut impl FnMut(f64) -> (Power, LossSlope),
) -> Pair {
    let negative_near = at_near < 0.0;
    let mut pair = Pair::at(inputs, far, switching);
    let mut moved_near = None;
    for _ in 0..STEPS {
        let chord = near - at_near * (far - near) / (at_far - at_near);
        let inside = (chord - near) * (chord - far) < 0.0;
        let next = if inside { chord } else { 0.5 * (near + far) };
        pair = Pair::at(inputs, next, switching);
        match pair.excess() {
            Some(excess) if (excess < 0.0) == negative_near => {
                (near, at_near) = (next, excess);
                if moved_near.replace(true) == Some(true) {
                    at_far *= 0.5;
                }
            }
            Some(excess) => {
                (far, at_far) = (next, excess);
                if moved_near.replace(false) == Some(false) {
                    at_near *= 0.5;
                }
            }
            None => {
                // A junction runs away there: only halves lead back from it.
                (far, at_far) = (next, -at_near);
            }
        }
        if (far - near).abs() <= 4.0 * f64::EPSILON * far.abs() || at_far == 0.0 || at_near == 0.0 {
            break;
        }
        // Both voltages are equal as far as they can be told apart.
        if inside && pair.excess().is_some_and(|excess| excess.abs() <= 1e-15 * pair.low.voltage.si().abs()) {
            break;
        }
    }
    pair
}

/// A device without others has its whole current, whatever its voltage; the spread between devices does not
/// concern it.
fn alone(inputs: &Corner, switching: &mut impl FnMut(f64) -> (Power, LossSlope)) -> CornerPoint {
    if inputs.devices == 0 {
        return unsettled(Stability::NotJudged, f64::NAN, f64::NAN);
    }
    let device = Device::at(inputs, (1.0, 1.0), 1.0, inputs.low_reference, switching);
    let gain = device.thermal_gain;
    let missing = device.junction.in_celsius().is_nan();
    if gain.is_nan() || (gain < 1.0 && missing) {
        return unsettled(Stability::NotJudged, f64::NAN, gain);
    }
    if gain >= 1.0 {
        return unsettled(Stability::NoStableSharing, f64::NAN, gain);
    }
    let pair = Pair { low: device, other: device };
    CornerPoint { hogging_gain: 0.0, ..pair.point(1.0) }
}
