//! What a machine that turns on behind a bridge of diodes gives for good to a bus that something holds.

use super::{ANGLES, Winding};
use crate::{Current, Law, Voltage};

/// Law of [`rectified`].
pub static RECTIFIED: Law = Law {
    name: "direct current that a turning machine with all gates off gives to a bus that is held",
    formula: "I = mean over a turn of Σ i_k into the positive rail, L·di_k/dt = e_k + n − p_k, p_k = V or 0 as the diode conducts, Σ i_k = 0, stepped until it recurs; nothing below V = √3·Ê; far below that 3/π·√(Ê² − (2·V/π)²)/(ω·L)",
    validity: "ideal diodes, speed and magnets constant; resistance left out, which reads high; one inductance for both axes, of which the smaller reads high",
    source: "circuit of a machine behind a diode bridge; phasors of its fundamental in Mohan, Undeland, Robbins, Power Electronics, 3rd ed., 2003; compared with a fine simulation with diodes as resistances",
};

/// Steps of a turn, and turns until it recurs and over which the mean is taken.
const STEPS: u32 = 1536;
const SETTLING: u32 = 8;
const COUNTED: u32 = 2;

/// Direct current for good into a bus of this voltage; the crest of the winding is not asked for. Not a number where anything
/// is missing. See [`RECTIFIED`].
#[must_use]
pub fn rectified(machine: Winding, bus: Voltage) -> Current {
    let (volts, hertz) = (bus.si(), machine.frequency.si());
    let mut winding = Winding::new(machine.back_emf, machine.frequency, machine.inductance, Current::ZERO);
    let is_known = winding.is_known() && winding.inductance.si() > 0.0 && volts > 0.0 && volts.is_finite();
    if !is_known {
        return Current::new(f64::NAN);
    }
    if hertz.abs() <= 0.0 || winding.line_crest() <= volts {
        return Current::ZERO;
    }
    let step = 1.0 / (hertz.abs() * f64::from(STEPS));
    winding.pace(0.0, step);
    let mut settling = [0.0; ANGLES];
    for _ in 0..SETTLING * STEPS {
        winding.step(&[volts; ANGLES], step, &mut settling);
    }
    let mut sums = [0.0; ANGLES];
    for _ in 0..COUNTED * STEPS {
        winding.step(&[volts; ANGLES], step, &mut sums);
    }
    // Each course recurs, whatever angle it began at.
    let sum: f64 = sums.iter().sum();
    Current::new(sum / (ANGLES as f64 * f64::from(COUNTED * STEPS)))
}
