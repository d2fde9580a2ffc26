//! Sharing by on-state figures alone, all devices equally warm.

use crate::{Current, Law, Resistance, Voltage};

const CORNER: &str = "exact for the corner of one low and n − 1 high devices; that it is the worst was compared with all corners up to 8 devices";

/// Law of [`worst_share`].
pub static WORST_SHARE: Law = Law {
    name: "share of the lowest of parallel devices",
    formula: "I_1/I_avg = n·(1 + s)/((1 + s) + (n − 1)·(1 − s))",
    validity: "resistances within 1 ± s, no knee, equally warm; a bound, as a convex curve and a rising resistance both even out",
    source: CORNER,
};

/// Law of [`group_current`].
pub static GROUP_CURRENT: Law = Law {
    name: "current of a group whose lowest device is full",
    formula: "I_group = I_dev·(1 + (n − 1)·(1 − s)/(1 + s))",
    validity: "as the share of the lowest device",
    source: CORNER,
};

/// Law of [`derating`].
pub static DERATING: Law = Law {
    name: "derating of parallel devices",
    formula: "d = 1 − I_group/(n·I_dev) = (n − 1)/n·2·s/(1 + s)",
    validity: "as the share of the lowest device",
    source: CORNER,
};

/// Law of [`minimum_count`].
pub static MINIMUM_COUNT: Law = Law {
    name: "least number of parallel devices",
    formula: "x = I·(1 + h)/I_dev; n = 1 for x ≤ 1, else 1 + ⌈(x − 1)·(1 + s)/(1 − s)⌉",
    validity: "spread below 1; current alone, not temperature",
    source: CORNER,
};

/// Law of [`static_split`].
pub static STATIC_SPLIT: Law = Law {
    name: "currents of unequal parallel devices",
    formula: "V = (I + Σ V_0/r)/Σ(1/r), I_i = (V − V_0,i)/r_i",
    validity: "fixed on-state lines; a device whose knee lies above V carries nothing and is left out of the sums",
    source: "node equation",
};

/// Law of [`three_sigma_spread`].
pub static THREE_SIGMA_SPREAD: Law = Law {
    name: "spread of a corner that stands for independent parts",
    formula: "s' = s/2·√(n/(n − 1))",
    validity: "independent parts whose limits 1 ± s are three standard deviations; first order in s",
    source: "root of the sum of squares, set equal to the corner 2·s'·(n − 1)/n",
};

/// Current of the lowest device over the mean (plain number), by resistances within 1 ± `spread`.
///
/// `devices` is the number of devices. Not a number for a spread of 1 or more. See [`WORST_SHARE`].
#[inline]
pub fn worst_share(devices: f64, spread: f64) -> f64 {
    let (low, high) = (1.0 + spread, 1.0 - spread);
    if spread >= 1.0 {
        return f64::NAN;
    }
    devices * low / (low + (devices - 1.0) * high)
}

/// Current of a whole group when its lowest device carries `device`. See [`GROUP_CURRENT`].
#[inline]
pub fn group_current(device: Current, devices: f64, spread: f64) -> Current {
    device * (devices / worst_share(devices, spread))
}

/// Part of the devices' summed current that the spread costs (plain number). See [`DERATING`].
#[inline]
pub fn derating(devices: f64, spread: f64) -> f64 {
    if spread >= 1.0 {
        return f64::NAN;
    }
    (devices - 1.0) / devices * (2.0 * spread / (1.0 + spread))
}

/// Least number of devices that carry `total` with `headroom` (plain number) on top.
///
/// `device` is the limit of one device. A whole number, or not a number for a spread of 1 or more; infinite
/// for a device that carries nothing. See [`MINIMUM_COUNT`].
#[inline]
pub fn minimum_count(total: Current, headroom: f64, device: Current, spread: f64) -> f64 {
    let asked = total * (1.0 + headroom) / device;
    if spread >= 1.0 || asked.is_nan() || spread.is_nan() {
        return f64::NAN;
    }
    if asked <= 1.0 {
        return 1.0;
    }
    // A count that is met exactly must not be raised by rounding.
    1.0 + ((asked - 1.0) * (1.0 + spread) / (1.0 - spread) - 1e-9).ceil()
}

/// Spread that, put into the corner of one low and n − 1 high devices, gives to first order the share that
/// independent parts reach at three standard deviations.
///
/// `spread` is the limit of each part. A single device shares with nobody: nothing. See
/// [`THREE_SIGMA_SPREAD`].
#[inline]
pub fn three_sigma_spread(spread: f64, devices: f64) -> f64 {
    if devices <= 1.0 {
        // What is missing stays missing.
        return 0.0 * spread;
    }
    0.5 * spread * (devices / (devices - 1.0)).sqrt()
}

/// Currents of parallel devices with on-state lines of their own; fills `currents` and gives the common
/// voltage.
///
/// Each device is a knee voltage and a slope resistance above zero; `currents` must be as long. All are not
/// a number where that is not so, where a figure is missing, for no device and for a total below zero. See
/// [`STATIC_SPLIT`].
pub fn static_split(devices: &[(Voltage, Resistance)], total: Current, currents: &mut [Current]) -> Voltage {
    currents.fill(Current::new(f64::NAN));
    let usable = |&(knee, slope): &(Voltage, Resistance)| slope > Resistance::ZERO && knee.si().is_finite();
    let fit = !devices.is_empty() && devices.len() == currents.len() && devices.iter().all(usable);
    if !fit || !total.si().is_finite() || total < Current::ZERO {
        return Voltage::new(f64::NAN);
    }
    // Counted among all devices the voltage comes out too low only if one of them is left out, so that each
    // pass leaves out what lies above and the voltage falls until nobody does.
    let mut voltage = Voltage::new(f64::INFINITY);
    for _ in 0..=devices.len() {
        let (mut held, mut conductance) = (total.si(), 0.0);
        for &(knee, slope) in devices {
            if knee < voltage {
                held += knee.si() / slope.si();
                conductance += 1.0 / slope.si();
            }
        }
        let next = Voltage::new(held / conductance);
        if next == voltage {
            break;
        }
        voltage = next;
    }
    for (&(knee, slope), current) in devices.iter().zip(currents.iter_mut()) {
        *current = if knee < voltage { (voltage - knee) / slope } else { Current::ZERO };
    }
    voltage
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derating_and_share_are_one_statement() {
        for (devices, spread, lost) in [(2.0, 0.1, 0.091), (4.0, 0.1, 0.136), (8.0, 0.2, 0.292)] {
            assert!((derating(devices, spread) - lost).abs() < 5e-4);
            assert!((1.0 / worst_share(devices, spread) - 1.0 + derating(devices, spread)).abs() < 1e-12);
        }
        assert!((worst_share(1.0, 0.3) - 1.0).abs() < 1e-15);
        assert!(worst_share(4.0, 1.0).is_nan());
    }

    #[test]
    fn a_count_is_the_least_that_holds() {
        let (device, spread) = (Current::new(120.0), 0.12);
        for total in [10.0, 120.0, 121.0, 300.0, 598.0, 2000.0] {
            let total = Current::new(total);
            let count = minimum_count(total, 0.0, device, spread);
            assert!(group_current(device, count, spread).si() >= total.si() - 1e-6);
            assert!(count < 1.5 || group_current(device, count - 1.0, spread) < total);
        }
        assert!(minimum_count(device, 0.1, device, 1.0).is_nan());
    }

    #[test]
    fn independent_parts_are_milder_than_the_corner() {
        assert!((three_sigma_spread(0.1, 2.0) - 0.1 / 2f64.sqrt()).abs() < 1e-15);
        assert!(three_sigma_spread(0.1, 8.0) < 0.054);
        assert!(three_sigma_spread(0.1, 1.0).abs() < 1e-15);
        assert!(three_sigma_spread(f64::NAN, 1.0).is_nan());
    }

    #[test]
    fn a_knee_above_the_voltage_carries_nothing() {
        let line = |knee, slope| (Voltage::new(knee), Resistance::new(slope));
        let devices = [line(0.8, 2e-3), line(0.8, 3e-3), line(1.4, 1e-3)];
        let mut currents = [Current::ZERO; 3];
        let low = static_split(&devices, Current::new(100.0), &mut currents);
        assert_eq!(currents[2], Current::ZERO);
        assert!((low.si() - 0.92).abs() < 1e-12);
        let high = static_split(&devices, Current::new(900.0), &mut currents);
        assert!(currents[2] > Current::ZERO && high.si() > 1.4);
        assert!((currents.iter().copied().sum::<Current>().si() - 900.0).abs() < 1e-9);
        assert!(static_split(&devices, Current::new(f64::NAN), &mut currents).si().is_nan());
    }
}
