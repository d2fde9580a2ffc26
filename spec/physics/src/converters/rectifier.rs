//! A diode against a switched MOSFET in the same rectifier position.

use crate::{Charge, Current, Frequency, Power, Resistance, Time, Voltage, on_state};

/// What a synchronous rectifier position loses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SynchronousLoss {
    /// In the channel.
    pub channel: Power,
    /// In the gate's circuit, for charging and discharging the gate.
    pub gate: Power,
    /// In the body diode during the dead times.
    pub body_diode: Power,
}

impl SynchronousLoss {
    /// Everything together.
    #[inline]
    pub fn total(self) -> Power {
        self.channel + self.gate + self.body_diode
    }
}

/// A switched MOSFET in a rectifier position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SynchronousRectifier {
    /// Resistance of the channel at its temperature.
    pub on_resistance: Resistance,
    /// Charge that each turn-on takes.
    pub gate_charge: Charge,
    /// Voltage that drives the gate.
    pub gate_voltage: Voltage,
    /// Forward voltage of the body diode.
    pub body_diode: Voltage,
    /// Time for which both switches are off, twice a period.
    pub dead_time: Time,
}

/// Conduction loss of a diode with the line V_f + r_d·i.
///
/// `P = V_f·I_avg + r_d·I_rms²`. Valid: exact for the line V_f + r_d·i; recovery is not in it. Source: mean of voltage
/// times current over a period; gate charge times gate voltage for each period.
#[inline]
pub fn diode(knee: Voltage, slope: Resistance, average: Current, rms: Current) -> Power {
    on_state::conduction_loss(knee, slope, average, rms)
}

/// Losses of a synchronous rectifier position.
///
/// `rms` is the position's current, `commutated` the current that flows during the dead times, `frequency` that of the
/// position's switching.
///
/// `P = R_on·I_rms² + Q_g·V_g·f + V_f·I·2·t_d·f`. Valid: the body diode carries the current I in two dead times a
/// period; recovery is not in it. Source: mean of voltage times current over a period; gate charge times gate voltage
/// for each period.
#[inline]
pub fn synchronous(
    device: SynchronousRectifier,
    rms: Current,
    commutated: Current,
    frequency: Frequency,
) -> SynchronousLoss {
    let dead_share = 2.0 * (device.dead_time * frequency);
    SynchronousLoss {
        channel: device.on_resistance * (rms * rms),
        gate: device.gate_charge * device.gate_voltage * frequency,
        body_diode: device.body_diode * commutated.abs() * dead_share,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn diode_and_channel_break_even() {
        let (knee, channel) = (Voltage::new(0.6), Resistance::new(2e-3));
        let current = knee / channel;
        let by_diode = diode(knee, Resistance::ZERO, current, current);
        let device = SynchronousRectifier {
            on_resistance: channel,
            gate_charge: Charge::ZERO,
            gate_voltage: Voltage::new(10.0),
            body_diode: Voltage::new(0.8),
            dead_time: Time::ZERO,
        };
        let by_channel = synchronous(device, current, current, Frequency::new(1e5)).total();
        assert!((by_diode - by_channel).si().abs() < 1e-9);
    }
}
