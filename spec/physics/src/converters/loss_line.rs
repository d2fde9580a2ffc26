//! A converter known only by its losses: a constant part, one that grows with the current and one that
//! grows with its square.

use crate::{Current, Power, Resistance, Voltage};

/// Losses of a converter over its input current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossLine {
    /// Loss without current, a.
    pub constant: Power,
    /// Loss for each ampere, b.
    pub linear: Voltage,
    /// Loss for each squared ampere, c.
    pub square: Resistance,
}

impl LossLine {
    /// Loss at an input current.
    ///
    /// `P_loss = a + b·|I| + c·I²`. Valid: I the input current; within the currents from which a, b and c were found.
    /// Source: definition.
    #[inline]
    pub fn loss(self, current: Current) -> Power {
        self.constant + self.linear * current.abs() + self.square * (current * current)
    }

    /// Input current at which the converter gives (or, negative, takes) `output`, fed from `voltage` behind
    /// `resistance`.
    ///
    /// Negative while power comes back. Not a number above the transferable power.
    ///
    /// `I = 2·(P + a)/(u + √(u² − 4·(c + R)·(P + a))), u = V ∓ b`. Valid: source of constant voltage V behind R; the
    /// root that is reached from rest; none above the transferable power. Source: stable root of (V − I·R)·I = P + a +
    /// b·|I| + c·I².
    #[inline]
    pub fn input_current(self, output: Power, voltage: Voltage, resistance: Resistance) -> Current {
        let asked = output + self.constant;
        let left = if asked < Power::ZERO { voltage + self.linear } else { voltage - self.linear };
        let share = 4.0 * ((self.square + resistance) * (asked / left)) / left;
        if left <= Voltage::ZERO {
            // The losses alone grow faster than the power that is fed.
            return Current::new(f64::NAN);
        }
        2.0 * (asked / left) / (1.0 + (1.0 - share).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STAGE: LossLine =
        LossLine { constant: Power::new(80.0), linear: Voltage::new(1.2), square: Resistance::new(0.012) };

    #[test]
    fn power_in_is_power_out_and_losses() {
        let (open, inside) = (Voltage::new(300.0), Resistance::new(0.08));
        for output in [-60e3, -80.0, -10.0, 0.0, 1e3, 60e3] {
            let output = Power::new(output);
            let current = STAGE.input_current(output, open, inside);
            let input = (open - current * inside) * current;
            assert!((input - output - STAGE.loss(current)).si().abs() < 1e-6, "{output}: {current}");
        }
    }

    #[test]
    fn more_than_can_be_transferred_has_no_current() {
        let current = STAGE.input_current(Power::new(400e3), Voltage::new(300.0), Resistance::new(0.08));
        assert!(current.si().is_nan());
        assert!(STAGE.input_current(Power::new(1.0), Voltage::new(1.0), Resistance::ZERO).si().is_nan());
    }
}
