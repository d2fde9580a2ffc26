//! Forward converter with active clamp and synchronous rectifiers, leakage of the transformer included.
//!
//! The clamp capacitor lies between the transformer and the input rail, so that its current does not pass
//! the input. After turn-off the current trapped in the leakage decays into the clamp; the clamp's charge
//! must balance over a period, which pushes the magnetising current below zero. Without leakage every
//! formula falls back to the plain one.

mod duties;

use core::f64::consts::PI;

use duties::{Duties, duties, resting};

use super::ramp::{self, Split};
use super::wave::Wave;
use crate::{Capacitance, Current, FluxLinkage, Frequency, Inductance, Law, OutOfRange, Time, Voltage};

const IDEAL: &str = "continuous output inductor current, or one that rests behind a diode; stiff clamp voltage, ideal rectifiers; exact for that circuit; a clamp of 0.1 µF costs 1.3 % of its RMS current and 0.9 % of the voltage";
const DESIGN: &str = "Vinciarelli, US Patent 4,441,146, 1984 (principle); forms with leakage derived here, compared with event-driven simulation";

/// Law of the duties in [`solve`].
pub static DUTY: Law = Law {
    name: "duty of an active-clamp forward converter",
    formula: "V_s = (V_i/n + a·V_o)/(1 + a + L_lk/L_m), a = L_lk/(n²·L_o); De = V_o/V_s, D = De + L_lk·f·(I_o − ΔI_o/2)/(n·V_i)",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of [`behind_diode`].
pub static RESTING: Law = Law {
    name: "duty and output inductor of an active-clamp forward converter behind a diode at light load",
    formula: "D = De = √(2·I_o·L_o·f·V_o/(V_s·(V_s − V_o))); crest (V_s − V_o)·D/(L_o·f), falls for D_2 = D·(V_s − V_o)/V_o, rests for 1 − D − D_2",
    validity: "freewheel rectifier a diode, D + D_2 up to 1, t_r·f up to D_2; ideal diodes, stiff clamp voltage, nothing rings while it rests; exact for that circuit",
    source: "volt-second balance; compared with time integration of the circuit",
};

/// Law of the primary's currents in [`solve`].
pub static PRIMARY: Law = Law {
    name: "primary, main and clamp switch of an active-clamp forward converter, RMS",
    formula: "I² = I_main² + I_cl²; I_main² = De·[(I_o/n + I_off)² + (ΔI_o/n + ΔI_m)²/12] + (D − De)·s(x, y); I_cl² = f·{t_r·(A² + A·I_p + I_p²/3) + ((1 − D)/f − t_r)·(I_off² + ΔI_m²/12)}, A = I_off + ΔI_m/2",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the rectifiers in [`solve`].
pub static RECTIFIER: Law = Law {
    name: "rectifiers of an active-clamp forward converter, RMS",
    formula: "forward² = ((D − De)·v² + t_r·f·p²)/3 + De·s(v, p), freewheel² = ((D − De)·e² + t_r·f·u²)/3 + (1 − D − t_r·f)·s(u, e); v, p valley and peak of the inductor, e = v + V_o·(D − De)/(L_o·f), u = p − V_o·t_r/L_o, s(x, y) = (x² + x·y + y²)/3",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the magnetising current in [`solve`].
pub static MAGNETISING: Law = Law {
    name: "magnetising current of an active-clamp forward converter",
    formula: "ΔI_m = n·V_s·De/(L_m·f); mean I_off + ΔI_m/2·(t_r·f − (D − De))",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the capacitors in [`solve`].
pub static CAPACITORS: Law = Law {
    name: "capacitors of an active-clamp forward converter, RMS",
    formula: "input √(I_main,rms² − I_main,avg²), output ΔI_o/(2·√3)",
    validity: "source and load without ripple, clamp against the input rail",
    source: DESIGN,
};

/// Law of the voltages in [`solve`].
pub static VOLTAGES: Law = Law {
    name: "voltages of an active-clamp forward converter",
    formula: "switches V_i/(1 − D), forward rectifier V_c/n, freewheel rectifier V_i/n",
    validity: "without ringing and without the clamp's own ripple; smallest at D = 0.5, so that both ends of the input must be looked at",
    source: DESIGN,
};

/// Law of [`turn_on_voltage`].
pub static TURN_ON: Law = Law {
    name: "voltage at which the main switch of an active-clamp forward converter turns on",
    formula: "V_on = V_i/(1 − D) − I_cl·t/C down to V_i, from there V_i − I_cl·√(L_lk/C)·sin(t/√(L_lk·C)), not below 0; E_on = C·V_on²/2",
    validity: "C of both switches, by energy; rectifiers that both conduct below V_i; a leakage that holds the current back while the switch turns on; without damping, a dead time beyond three quarters of the swing counts with its crest",
    source: "own derivation, compared with time integration of the node",
};

/// What is stated of an active-clamp forward converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forward {
    /// Input voltage V_i.
    pub input: Voltage,
    /// Output voltage V_o, drops of the rectifiers included.
    pub output: Voltage,
    /// Output current I_o.
    pub load: Current,
    /// Primary turns for each secondary turn, n.
    pub turns: f64,
    /// Leakage inductance, seen from the primary.
    pub leakage: Inductance,
    /// Magnetising inductance, seen from the primary.
    pub magnetising: Inductance,
    /// Output inductor.
    pub output_inductance: Inductance,
    /// Switching frequency.
    pub frequency: Frequency,
}

/// Periodic steady state of an active-clamp forward converter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForwardPoint {
    /// Duty of the main switch; 1 or above cannot be had, and the other figures then mean nothing.
    pub duty: f64,
    /// Share of the period in which power is passed on, De.
    pub effective_duty: f64,
    /// Share of the period in which the current moves to the forward rectifier, D − De.
    pub duty_loss: f64,
    /// Share of the period in which nothing flows in the output inductor, behind a diode; else zero.
    pub idle: f64,
    /// Current of the main switch, parted by its sign: transistor forward, diode backward.
    pub main: Split,
    /// Highest current of the main switch; it turns off at it.
    pub main_peak: Current,
    /// Current of the clamp switch, parted by its sign: positive into the clamp capacitor.
    pub clamp: Split,
    /// Highest current of the clamp switch, either way.
    pub clamp_peak: Current,
    /// Current at which the clamp switch turns off; the larger, the more easily the main switch turns on
    /// without voltage.
    pub clamp_turn_off: Current,
    /// Voltage that main and clamp switch block.
    pub switch_voltage: Voltage,
    /// Voltage of the clamp capacitor, counted from the input rail.
    pub clamp_voltage: Voltage,
    /// Mean current of the forward rectifier.
    pub forward_mean: Current,
    /// RMS current of the forward rectifier.
    pub forward_rms: Current,
    /// Mean current of the freewheel rectifier.
    pub freewheel_mean: Current,
    /// RMS current of the freewheel rectifier.
    pub freewheel_rms: Current,
    /// Highest current of either rectifier.
    pub rectifier_peak: Current,
    /// Voltage that the forward rectifier blocks.
    pub forward_voltage: Voltage,
    /// Voltage that the freewheel rectifier blocks.
    pub freewheel_voltage: Voltage,
    /// Ripple of the output inductor, peak to peak.
    pub inductor_ripple: Current,
    /// Highest current of the output inductor.
    pub inductor_peak: Current,
    /// Lowest current of the output inductor; below zero the formulas leave their range.
    pub inductor_valley: Current,
    /// RMS current of the output inductor.
    pub inductor_rms: Current,
    /// RMS current of the output capacitor.
    pub output_capacitor_rms: Current,
    /// RMS current of the input capacitor.
    pub input_capacitor_rms: Current,
    /// Mean of the magnetising current; it opposes the load.
    pub magnetising_mean: Current,
    /// Ripple of the magnetising current, peak to peak.
    pub magnetising_ripple: Current,
    /// Largest magnitude of the magnetising current.
    pub magnetising_peak: Current,
    /// Largest flux linkage of the primary, which decides on saturation.
    pub flux_linkage_peak: FluxLinkage,
    /// Volt-seconds of the primary while it is driven: the swing of its flux linkage, peak to peak.
    pub volt_seconds: FluxLinkage,
    /// Share of the period in which the flux falls: what is left of it once the trapped current has decayed.
    pub resetting: f64,
    /// Current of the primary over a period: of the main switch, then of the clamp.
    pub primary_wave: Wave,
    /// Current of the forward rectifier over a period, and so of the secondary.
    pub forward_wave: Wave,
    /// Current of the output inductor over a period.
    pub inductor_wave: Wave,
}

impl ForwardPoint {
    /// Whether the duty exists.
    #[inline]
    pub fn reachable(&self) -> bool {
        self.duty < 1.0
    }

    /// Whether the formulas hold: a duty that exists, and an output inductor that never runs empty.
    ///
    /// # Errors
    /// Names the duty or the valley of the inductor's current.
    #[inline]
    pub fn check(&self) -> Result<(), OutOfRange> {
        OutOfRange::check("duty of the main switch", self.duty, 0.0, 1.0 - f64::EPSILON, "")?;
        let valley = self.inductor_valley.si();
        OutOfRange::check("lowest current of the output inductor", valley, 0.0, f64::INFINITY, "A")
    }
}

/// Input voltage at which a converter needs a duty of its main switch, whatever its own input is.
///
/// `D(V_i) = D, by halving between n·V_o·(k/D − a) and (n·V_o·k + I_o·L_lk·f/n)/D, k = 1 + a + L_lk/L_m`. Valid:
/// continuous output inductor current; D falls as V_i rises. Source: Vinciarelli, US Patent 4,441,146, 1984
/// (principle); forms with leakage derived here, compared with event-driven simulation.
pub fn input_at(duty: f64, inputs: &Forward) -> Voltage {
    let &Forward { output, load, turns, leakage, magnetising, output_inductance, frequency, .. } = inputs;
    let a = leakage / output_inductance / (turns * turns);
    let k = 1.0 + a + leakage / magnetising;
    // Below the one the share that passes power on is more than the duty already; above the other both shares are less.
    let mut low = output * (turns * (k / duty - a));
    let mut high = (output * (turns * k) + load * (leakage * frequency) / turns) / duty;
    for _ in 0..HALVINGS {
        let middle = (low + high) * 0.5;
        if duties(&Forward { input: middle, ..*inputs }).duty < duty {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Halvings that leave ten digits of a voltage.
const HALVINGS: usize = 40;

/// Periodic steady state of an active-clamp forward converter.
///
/// A missing input makes every figure that needs it not a number. See [`DUTY`], [`PRIMARY`], [`RECTIFIER`],
/// [`MAGNETISING`], [`CAPACITORS`] and [`VOLTAGES`].
///
/// `V_c = V_i·D/(1 − D); I_p = (I_o + ΔI_o/2)/n, t_r = L_lk·I_p/V_c; I_off = −(I_p + ΔI_m)·t_r·f/(2·(1 − D))`. Valid:
/// continuous output inductor current, stiff clamp voltage, ideal rectifiers; exact for that circuit; a clamp of 0.1 µF
/// costs 1.3 % of its RMS current and 0.9 % of the voltage. Source: Vinciarelli, US Patent 4,441,146, 1984 (principle);
/// forms with leakage derived here, compared with event-driven simulation.
pub fn solve(inputs: &Forward) -> ForwardPoint {
    at_duties(inputs, duties(inputs))
}

/// The same with a diode as freewheel rectifier, behind which the output inductor rests in each period at light load. Where
/// the leakage holds its current for longer than the inductor takes to run empty, it is left as if it conducted all the
/// time, with a valley below zero. See [`RESTING`].
pub fn behind_diode(inputs: &Forward) -> ForwardPoint {
    at_duties(inputs, resting(inputs).unwrap_or_else(|| duties(inputs)))
}

/// What follows from how the period divides.
fn at_duties(inputs: &Forward, duties: Duties) -> ForwardPoint {
    let &Forward { input, output, load, turns, leakage, magnetising, output_inductance, frequency } = inputs;
    let Duties { secondary, effective, ripple, lost, duty, peak, valley, rest: idle } = duties;
    let off = 1.0 - duty;
    let clamp_voltage = input * (duty / off);

    let swing = secondary * (turns * effective) / (magnetising * frequency);
    let trapped = peak / turns;
    let decaying = trapped * (leakage * frequency) / clamp_voltage;
    let offset = (trapped + swing) * (-0.5 * decaying / off);
    let (low, high) = (offset - swing * 0.5, offset + swing * 0.5);

    // The main switch takes the magnetising current first, then the load on top of it.
    let driven_from = low + valley / turns;
    let main_peak = high + trapped;
    let main = Split::of_ramp(low, driven_from) * lost + Split::of_ramp(driven_from, main_peak) * effective;
    let main_mean = main.mean();
    let main_square = main.forward_square + main.backward_square;

    // While both rectifiers conduct the transformer is shorted: the trapped current decays on top of a
    // magnetising current that stands still, which falls evenly afterwards.
    let clamp =
        Split::of_ramp(high + trapped, high) * decaying + Split::of_ramp(high, low) * (off - decaying);
    let clamp_peak = if main_peak < low.abs() { low.abs() } else { main_peak };

    let fall = output / (output_inductance * frequency);
    let (freed, taken) = (valley + fall * lost, peak - fall * decaying);
    let rest = off - decaying;
    let forward_square =
        (valley * valley * lost + peak * peak * decaying) / 3.0 + ramp::mean_square(valley, peak) * effective;
    let freewheel_square = (freed * freed * lost + taken * taken * decaying) / 3.0
        + ramp::mean_square(taken, freed) * (rest - idle);
    let is_idle = idle > 0.0;
    let driven_mean = if is_idle { peak * 0.5 } else { load };
    let forward_mean = driven_mean * effective + valley * (0.5 * lost) + peak * (0.5 * decaying);
    let inductor_square = ramp::mean_square(valley, peak) * (1.0 - idle);

    ForwardPoint {
        duty,
        effective_duty: effective,
        duty_loss: lost,
        idle,
        main,
        main_peak,
        clamp,
        clamp_peak,
        clamp_turn_off: low.abs(),
        switch_voltage: input / off,
        clamp_voltage,
        forward_mean,
        forward_rms: forward_square.root(),
        freewheel_mean: load - forward_mean,
        freewheel_rms: freewheel_square.root(),
        rectifier_peak: peak,
        forward_voltage: clamp_voltage / turns,
        freewheel_voltage: input / turns,
        inductor_ripple: ripple,
        inductor_peak: peak,
        inductor_valley: valley,
        inductor_rms: inductor_square.root(),
        output_capacitor_rms: if is_idle {
            (inductor_square - load * load).root()
        } else {
            ripple / 12f64.sqrt()
        },
        input_capacitor_rms: (main_square - main_mean * main_mean).root(),
        magnetising_mean: offset + swing * (0.5 * (decaying - lost)),
        magnetising_ripple: swing,
        magnetising_peak: offset.abs() + swing * 0.5,
        flux_linkage_peak: magnetising * (offset.abs() + swing * 0.5),
        volt_seconds: magnetising * swing,
        resetting: rest,
        primary_wave: Wave::NONE
            .then(lost, low, driven_from)
            .then(effective, driven_from, main_peak)
            .then(decaying, main_peak, high)
            .then(rest, high, low),
        forward_wave: Wave::NONE
            .then(lost, Current::ZERO, valley)
            .then(effective, valley, peak)
            .then(decaying, peak, Current::ZERO)
            .then(rest, Current::ZERO, Current::ZERO),
        inductor_wave: if is_idle {
            Wave::NONE
                .then(effective, valley, peak)
                .then(1.0 - effective - idle, peak, valley)
                .then(idle, valley, valley)
        } else {
            Wave::triangle(load, ripple, effective)
        },
    }
}

/// Voltage that the main switch still blocks when it turns on, a dead time after the clamp switch has turned off.
///
/// The magnetising current discharges the node of both switches, `node` its capacitance. Below the input voltage both
/// rectifiers conduct and short the transformer: the leakage alone swings on, and where it reaches zero the diode of the
/// main switch holds it there until the leakage is empty. See [`TURN_ON`].
pub fn turn_on_voltage(
    point: &ForwardPoint,
    leakage: Inductance,
    node: Capacitance,
    dead_time: Time,
) -> Voltage {
    let (henry, farad, dead) = (leakage.si(), node.si(), dead_time.si());
    let (volts, amps) = (point.switch_voltage.si(), point.clamp_turn_off.si());
    let input = volts - point.clamp_voltage.si();
    let falls = farad * (volts - input) / amps;
    if dead < falls {
        return Voltage::new(volts - amps * dead / farad);
    }
    if henry <= 0.0 {
        return Voltage::new(input);
    }
    let (reactance, pace) = ((henry / farad).sqrt(), 1.0 / (henry * farad).sqrt());
    let (swing, rest) = (amps * reactance, dead - falls);
    let reaches = libm::asin(input / swing) / pace;
    if swing <= input || rest < reaches {
        let angle = pace * rest;
        let sine = if angle > 1.5 * PI { -1.0 } else { libm::sin(angle) };
        return Voltage::new(input - swing * sine);
    }
    let left = (amps * amps - input * input / (reactance * reactance)).sqrt();
    let after = pace * (rest - reaches - henry * left / input);
    let after = if after > PI { PI } else { after };
    Voltage::new(if after <= 0.0 { 0.0 } else { input * (1.0 - libm::cos(after)) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The node in time, in steps of a thousandth of a nanosecond: capacitance, the inductance that drives it, and a diode
    /// at zero.
    fn stepped(point: &ForwardPoint, leakage: f64, node: f64, dead: f64) -> f64 {
        let step = 1e-12;
        let input = (point.switch_voltage - point.clamp_voltage).si();
        let (mut volts, mut amps, mut time) = (point.switch_voltage.si(), point.clamp_turn_off.si(), 0.0);
        let mut is_shorted = false;
        while time < dead {
            is_shorted |= volts < input;
            if is_shorted {
                amps -= (input - volts) / leakage * step;
            }
            volts -= amps / node * step;
            if volts < 0.0 {
                volts = 0.0;
            }
            time += step;
        }
        volts
    }

    #[test]
    fn the_main_switch_turns_on_where_its_node_has_come_to() {
        // The clamp lets go of some 1 A: too little to reach zero. A low magnetising inductance has more.
        for (magnetising, dead_times) in
            [(1e-3, [20e-9, 90e-9, 130e-9, 180e-9]), (0.1e-3, [5e-9, 15e-9, 40e-9, 90e-9])]
        {
            let stated = Forward { magnetising: Inductance::new(magnetising), ..STATED };
            let point = solve(&stated);
            for dead in dead_times {
                let found =
                    turn_on_voltage(&point, STATED.leakage, Capacitance::new(300e-12), Time::new(dead)).si();
                let expected = stepped(&point, 2.5e-6, 300e-12, dead);
                assert!((found - expected).abs() < 0.5, "{magnetising} {dead}: {found} against {expected}");
            }
        }
        let missing = Forward { magnetising: Inductance::new(f64::NAN), ..STATED };
        let dead = Time::new(90e-9);
        let found = turn_on_voltage(&solve(&missing), STATED.leakage, Capacitance::new(300e-12), dead);
        assert!(found.si().is_nan());
    }

    const STATED: Forward = Forward {
        input: Voltage::new(300.0),
        output: Voltage::new(14.0),
        load: Current::new(120.0),
        turns: 8.0,
        leakage: Inductance::new(2.5e-6),
        magnetising: Inductance::new(1e-3),
        output_inductance: Inductance::new(2.2e-6),
        frequency: Frequency::new(150e3),
    };

    #[test]
    fn without_leakage_it_is_the_plain_converter() {
        let stated = Forward { leakage: Inductance::ZERO, ..STATED };
        let point = solve(&stated);
        assert!((point.duty - 8.0 * 14.0 / 300.0).abs() < 1e-15);
        assert_eq!((point.duty_loss, point.magnetising_mean.si().abs()), (0.0, 0.0));
        let swing = 300.0 * point.duty / (1e-3 * 150e3);
        assert!((point.magnetising_ripple.si() - swing).abs() < 1e-12);
        let clamp = (1.0 - point.duty).sqrt() * swing / 12f64.sqrt();
        assert!((point.clamp.rms().si() - clamp).abs() < 1e-12);
        let ripple = 14.0 * (1.0 - point.duty) / (2.2e-6 * 150e3);
        let step = ripple / 8.0 + swing;
        let main = (point.duty * (15.0 * 15.0 + step * step / 12.0)).sqrt();
        assert!((point.main.rms().si() - main).abs() < 1e-9);
    }

    #[test]
    fn where_the_formulas_end_is_told() {
        assert!(solve(&STATED).check().is_ok());
        let low = solve(&Forward { input: Voltage::new(100.0), ..STATED });
        assert!(!low.reachable());
        assert_eq!(low.check().unwrap_err().quantity, "duty of the main switch");
        let light = solve(&Forward { load: Current::new(5.0), ..STATED });
        assert_eq!(light.check().unwrap_err().quantity, "lowest current of the output inductor");
    }

    #[test]
    fn the_clamp_is_charged_and_discharged_alike() {
        let point = solve(&STATED);
        assert!(point.clamp.mean().si().abs() < 1e-9, "{}", point.clamp.mean());
    }

    #[test]
    fn the_bus_gives_what_the_output_takes() {
        let given = (STATED.input * solve(&STATED).main.mean()).si();
        assert!((given / (14.0 * 120.0) - 1.0).abs() < 1e-12, "{given}");
    }

    #[test]
    fn a_missing_inductance_leaves_what_does_not_need_it() {
        let stated = Forward { magnetising: Inductance::new(f64::NAN), ..STATED };
        let point = solve(&stated);
        assert!(point.main.rms().si().is_nan() && !point.freewheel_voltage.si().is_nan());
        assert!(solve(&Forward { turns: f64::NAN, ..STATED }).duty.is_nan());
    }
}
