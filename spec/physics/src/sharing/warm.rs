//! Any number of unequal devices in parallel, each as warm as its own direct current makes it.

use super::OnStateLine;
use crate::{Current, Law, Power, Temperature, ThermalResistance, Voltage};

/// Law of [`warm_split`].
pub static WARM_SPLIT: Law = Law {
    name: "currents of unequal parallel devices, temperatures included",
    formula: "V = V_0(T_i) + r(T_i)·I_i, T_i = T_ref,i + R_i·(V·I_i + P_sw,i), Σ I_i = I",
    validity: "direct current, lines straight in temperature, the cooler of two possible temperatures",
    source: "own derivation, compared with a solution of all 2·n + 1 unknowns at once",
};

/// One of several parallel devices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmDevice {
    /// Its own on-state line.
    pub line: OnStateLine,
    /// From its junction to its reference temperature.
    pub path: ThermalResistance,
    /// Its reference temperature, for instance its local coolant.
    pub reference: Temperature,
    /// Heat besides that of its conduction.
    pub other_heat: Power,
}

impl WarmDevice {
    /// Its current at a voltage; none below its knee, nothing where it runs away.
    ///
    /// With T put in, the line is a parabola of the current, of which the smaller root is the one that is
    /// reached from rest.
    fn current(&self, voltage: Voltage) -> Current {
        let line = self.line;
        let base = self.reference + self.other_heat * self.path;
        let above = voltage - line.knee_at(base);
        if above <= Voltage::ZERO {
            return Current::ZERO;
        }
        let kelvins = (self.path.si() * voltage.si()).abs();
        let slope = line.slope_at(base).si() + line.knee_per_kelvin.si() * kelvins;
        let bend = line.slope_per_kelvin.si() * kelvins;
        let root = (slope * slope + 4.0 * bend * above.si()).sqrt();
        if slope <= 0.0 {
            return Current::new(f64::NAN);
        }
        Current::new(2.0 * above.si() / (slope + root))
    }

    fn junction(&self, voltage: Voltage, current: Current) -> Temperature {
        self.reference + (voltage * current + self.other_heat) * self.path
    }
}

/// Currents and junctions of parallel devices that carry `total` together; gives the common voltage.
///
/// `rest` is filled with each device's current and junction and must be as long as `devices`. All are not a
/// number where it is not, where a figure is missing and where a device runs away before the total is
/// reached. See [`WARM_SPLIT`].
pub fn warm_split(devices: &[WarmDevice], total: Current, rest: &mut [(Current, Temperature)]) -> Voltage {
    let unknown = Voltage::new(f64::NAN);
    rest.fill((Current::new(f64::NAN), Temperature::celsius(f64::NAN)));
    if devices.is_empty() || devices.len() != rest.len() || !total.si().is_finite() || total < Current::ZERO {
        return unknown;
    }
    let all = |voltage: Voltage| devices.iter().map(|device| device.current(voltage)).sum::<Current>();
    // The sum rises with the voltage as long as nobody runs away.
    let mut high = Voltage::new(1.0);
    for _ in 0..40 {
        let reached = all(high);
        if reached.si().is_nan() || reached >= total {
            break;
        }
        high = high * 2.0;
    }
    let mut low = Voltage::ZERO;
    for _ in 0..100 {
        let middle = (low + high) * 0.5;
        // Where someone runs away, the voltage is too high already.
        if all(middle) < total { low = middle } else { high = middle }
    }
    let reached = all(low);
    // A voltage where someone runs away is not where the total is reached.
    if reached.si().is_nan() || (reached - total).si().abs() > 1e-9 * total.si() {
        return unknown;
    }
    for (device, rest) in devices.iter().zip(rest.iter_mut()) {
        let current = device.current(low);
        *rest = (current, device.junction(low, current));
    }
    low
}
