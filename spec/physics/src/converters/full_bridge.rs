//! Phase-shifted full bridge with a centre-tapped rectifier or a current doubler.
//!
//! In each half period the primary is driven for the share De of effective duty, freewheels through the two
//! upper or lower switches for the share F, and then reverses its current for the share l in which the
//! leakage takes the whole input voltage and nothing reaches the output. The corners of the primary current
//! over a half period are −d → b (reversal), b → c (driven), c → d (freewheel).
//!
//! The *leading* leg switches at c, when driving ends; the *lagging* leg switches at d, when the freewheel
//! ends.

mod output;

use output::{Output, Shares, own_loss};

use super::ramp::{self, Split};
use super::wave::Wave;
use crate::{Capacitance, Current, Energy, FluxLinkage, Frequency, Inductance, Law, OutOfRange, Voltage};

const DESIGN: &str = "Sabaté, Vlatković, Ridley, Lee, Cho, APEC 1990; corners and commutation derived here";
const IDEAL: &str = "continuous output inductor current, or one that rests behind diodes; ideal rectifiers and switches, no capacitances; exact for that circuit; Dps above 1 cannot be had";
const BUS: &str = "own derivation from the corners of the primary current, compared with time integration";

/// Law of the duties in [`solve`].
pub static DUTY: Law = Law {
    name: "effective duty and phase shift",
    formula: "centre tap De = n·V_o/V_i·(1 + m + a·l); doubler De = n·V_o/V_i·(2·(1 + m) + a·(1 + l)); l = 2·L_lk·f·(w + v)/(n·V_i), m = L_lk/L_m, a = L_lk/(n²·L), Dps = De + l",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of [`behind_diodes`].
pub static RESTING: Law = Law {
    name: "effective duty and output inductor of a full bridge behind diodes at light load",
    formula: "De = Dps = √(4·I_o·L·f·q·V_o/(u·(u + q·V_o))), u = (V_i/n + a·V_o)/(1 + m + a) − V_o, q = (1 + m)/(1 + m + a); crest u·De/(2·L·f), falls for F = De·u/(q·V_o), rests for 1 − De − F; l = 0",
    validity: "centre tap, De + F up to 1; ideal diodes and switches, no capacitances, so that nothing rings while it rests; exact for that circuit",
    source: "volt-second balance; compared with time integration of the circuit",
};

/// Law of the inductor's currents in [`solve`].
pub static INDUCTOR: Law = Law {
    name: "output inductor of a full bridge",
    formula: "valley v → peak p over De, p → w over F = 1 − De − l with p − w = V_o·F·q/(2·L·f), q = (1 + m)/(1 + m + a), w → v over l (doubler 1 + l) with w − v = V_o·l/(2·L·f); mean I_o (doubler I_o/2)",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the primary's currents in [`solve`].
pub static PRIMARY: Law = Law {
    name: "primary current of a full bridge, RMS",
    formula: "I² = De·s(b, c) + F·s(c, d) + l·s(−d, b), s(x, y) = (x² + x·y + y²)/3; b = v/n − ΔI_m/2, c = p/n − ΔI_m/2 + ΔI_m,De, d = w/n + ΔI_m/2; and (1 − De − F − l)·d² while the inductor rests",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the magnetising current in [`solve`].
pub static MAGNETISING: Law = Law {
    name: "magnetising current of a full bridge, peak to peak",
    formula: "ΔI_m = ΔI_m,De + a·n·V_o/(1 + m + a)·F/(2·L_m·f), ΔI_m,De = (V_i + a·n·V_o)/(1 + m + a)·De/(2·L_m·f)",
    validity: IDEAL,
    source: DESIGN,
};

/// Law of the rectifiers in [`solve`].
pub static RECTIFIER: Law = Law {
    name: "rectifier current of a full bridge, RMS",
    formula: "I² = (De·s(v, p) + F·s(p, w) + l·(w² + v²)/3)/2 with the corners v, p, w of the whole output current",
    validity: "one rectifier keeps the whole current while the primary freewheels; else as the inductor",
    source: DESIGN,
};

/// Law of the output capacitor in [`solve`].
pub static OUTPUT_CAPACITOR: Law = Law {
    name: "output capacitor current of a full bridge, RMS",
    formula: "I_C² = De·s(v, p) + F·s(p, w) + l·s(w, v) − I_o² with the corners of the whole output current; doubler p − w = V_o·F·(1 + q)/(2·L·f), w − v = 2·V_o·l/(2·L·f)",
    validity: "load without ripple; at twice the switching frequency; else as the inductor",
    source: DESIGN,
};

/// Law of the input capacitor in [`solve`].
pub static INPUT_CAPACITOR: Law = Law {
    name: "input capacitor current of a full bridge, RMS",
    formula: "I_C² = De·s(b, c) + l·s(−d, b) − I², I = De·(b + c)/2 + l·(b − d)/2",
    validity: "source without ripple; the bus carries the primary current while driven and while it reverses, nothing while it freewheels",
    source: BUS,
};

/// Law of the soft switching in [`solve`].
pub static SOFT_SWITCHING: Law = Law {
    name: "soft switching of a leg",
    formula: "L·i²/2 ≥ C·V_i², L = L_lk + n²·L_o at the leading leg, L_lk at the lagging leg; else the switch that turns on burns C·V_i²·(1 − √(L·i²/(2·C·V_i²)))²",
    validity: "C of one switch, two a leg, each charged to V_i; winding capacitance and dead time left out",
    source: "energy balance of the leg's node",
};

/// How the secondary side rectifies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rectifier {
    /// Two secondary halves with a common inductor; the turns ratio counts one half.
    CentreTap,
    /// One secondary winding with two inductors that take turns; the turns ratio counts the whole winding.
    CurrentDoubler,
}

/// What is stated of a full bridge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FullBridge {
    /// Input voltage V_i.
    pub input: Voltage,
    /// Output voltage V_o, drops of the rectifiers included.
    pub output: Voltage,
    /// Output current I_o.
    pub load: Current,
    /// Primary turns for each secondary turn, n.
    pub turns: f64,
    /// Leakage inductance, seen from the primary, and any inductor in series.
    pub leakage: Inductance,
    /// Magnetising inductance, seen from the primary.
    pub magnetising: Inductance,
    /// Output inductor; of the doubler each of the two.
    pub output_inductance: Inductance,
    /// Switching frequency of each switch.
    pub frequency: Frequency,
    /// Output capacitance of one switch, by energy at the input voltage; without it soft switching is not
    /// judged.
    pub switch_capacitance: Option<Capacitance>,
}

/// What each leg's switches carry and how they switch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegPoint {
    /// Current of one switch over a period, parted by its sign: transistor forward, diode backward.
    pub switch: Split,
    /// Current at which each of its switches turns off.
    pub turn_off: Current,
    /// Energy that the inductances hold at that instant.
    pub energy: Energy,
    /// Energy that moving the leg's node takes; not a number where no capacitance is stated.
    pub energy_needed: Energy,
}

impl LegPoint {
    /// Whether the other switch of the leg turns on without voltage; nothing where it is not known.
    #[inline]
    pub fn switches_softly(&self) -> Option<bool> {
        if self.energy.si().is_nan() || self.energy_needed.si().is_nan() {
            return None;
        }
        // A current that has reversed before the edge works against it.
        Some(self.turn_off > Current::ZERO && self.energy >= self.energy_needed)
    }
}

impl LegPoint {
    /// Energy that the switch which turns on burns of what is left on the node, once in a period: nothing where it turns
    /// on softly, all of it where the current works against the edge.
    #[inline]
    pub fn burnt(&self) -> Energy {
        if self.switches_softly() != Some(false) {
            return self.energy * 0.0;
        }
        let helps = self.turn_off > Current::ZERO;
        let swung = if helps { (self.energy.si() / self.energy_needed.si()).sqrt() } else { 0.0 };
        self.energy_needed * ((1.0 - swung) * (1.0 - swung))
    }
}

/// Periodic steady state of a full bridge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FullBridgePoint {
    /// Share of a half period in which power is passed on, De.
    pub effective_duty: f64,
    /// Share of a half period that the reversal of the primary current takes, l; where no share causes itself, what a
    /// reversal of the whole half period would take.
    pub duty_loss: f64,
    /// Share of a half period in which nothing flows in the output inductor of a centre tap, behind diodes; else zero.
    pub rest: f64,
    /// Phase shift in shares of 180°, Dps = De + l. Above 1 the output cannot be reached, and the other
    /// figures mean nothing.
    pub phase_shift: f64,
    /// RMS current of the primary.
    pub primary_rms: Current,
    /// RMS current of a secondary winding, of a centre tap of one half; the primary has the magnetising current beside it.
    pub secondary_rms: Current,
    /// Highest current of the primary and of each switch.
    pub primary_peak: Current,
    /// RMS current of each of the four switches, both directions together.
    pub switch_rms: Current,
    /// The leg that switches when driving ends.
    pub leading: LegPoint,
    /// The leg that switches when freewheeling ends.
    pub lagging: LegPoint,
    /// Mean current of each of the two rectifiers.
    pub rectifier_mean: Current,
    /// RMS current of each rectifier.
    pub rectifier_rms: Current,
    /// Highest current of each rectifier.
    pub rectifier_peak: Current,
    /// Mean current of the output inductor; of the doubler each of the two, here and below.
    pub inductor_mean: Current,
    /// Ripple of the output inductor, peak to peak.
    pub inductor_ripple: Current,
    /// Highest current of the output inductor.
    pub inductor_peak: Current,
    /// Lowest current of the output inductor; below zero the formulas leave their range.
    pub inductor_valley: Current,
    /// RMS current of the output inductor.
    pub inductor_rms: Current,
    /// Ripple of the current into output capacitor and load, peak to peak, at twice the frequency.
    pub output_ripple: Current,
    /// RMS current of the output capacitor.
    pub output_capacitor_rms: Current,
    /// Mean current taken from the bus.
    pub input_mean: Current,
    /// RMS current of the input capacitor.
    pub input_capacitor_rms: Current,
    /// Ripple of the magnetising current, peak to peak.
    pub magnetising_ripple: Current,
    /// Largest magnitude of the magnetising current.
    pub magnetising_peak: Current,
    /// Volt-seconds of the primary in each half period: the swing of its flux linkage, peak to peak.
    pub volt_seconds: FluxLinkage,
    /// Voltage that each primary switch blocks.
    pub switch_voltage: Voltage,
    /// Voltage that each rectifier blocks, without ringing.
    pub rectifier_voltage: Voltage,
    /// Current of the primary over a period.
    pub primary_wave: Wave,
    /// Current of a rectifier over a period, and so of one half of a centre tap.
    pub rectifier_wave: Wave,
    /// Current of the output inductor: of the centre tap over a half period, of the doubler over a period.
    pub inductor_wave: Wave,
}

impl FullBridgePoint {
    /// Whether the phase shift exists.
    #[inline]
    pub fn reachable(&self) -> bool {
        self.phase_shift <= 1.0
    }

    /// Whether the formulas hold: a phase shift that exists, and output inductors that never run empty.
    ///
    /// # Errors
    /// Names the phase shift or the valley of the inductor's current.
    #[inline]
    pub fn check(&self) -> Result<(), OutOfRange> {
        OutOfRange::check("phase shift in shares of 180°", self.phase_shift, 0.0, 1.0, "")?;
        let valley = self.inductor_valley.si();
        OutOfRange::check("lowest current of the output inductor", valley, 0.0, f64::INFINITY, "A")
    }
}

/// Periodic steady state of a phase-shifted full bridge.
///
/// A missing input makes every figure that needs it not a number. See [`DUTY`], [`INDUCTOR`], [`PRIMARY`],
/// [`MAGNETISING`], [`RECTIFIER`], [`OUTPUT_CAPACITOR`], [`INPUT_CAPACITOR`] and [`SOFT_SWITCHING`].
pub fn solve(kind: Rectifier, inputs: &FullBridge) -> FullBridgePoint {
    let lost = own_loss(kind, inputs);
    at_output(kind, inputs, lost, &Output::at(kind, inputs, lost))
}

/// The same with diodes as rectifiers, which let no current flow back: at light load the inductor of a centre tap rests in
/// each half period. That of a doubler is left as if it conducted all the time, with a valley below zero. See [`RESTING`].
pub fn behind_diodes(kind: Rectifier, inputs: &FullBridge) -> FullBridgePoint {
    let continuous = solve(kind, inputs);
    if continuous.inductor_valley < Current::ZERO
        && let Some(output) = Output::resting(kind, inputs)
    {
        return at_output(kind, inputs, 0.0, &output);
    }
    continuous
}

/// What follows from the shares of a half period and the corners of the output currents.
fn at_output(kind: Rectifier, inputs: &FullBridge, lost: f64, output: &Output) -> FullBridgePoint {
    let &FullBridge { input, load, turns, leakage, magnetising, output_inductance, frequency, .. } = inputs;
    let (effective, freewheel, rest) = (output.effective, output.freewheel, output.rest);
    let (inductor, whole) = (output.inductor, output.whole);

    // The magnetising current goes on rising while the freewheel lets the leakage lean on the output.
    let Shares { a, m } = Shares::of(inputs);
    let leaning = inputs.output * (a * turns) / (1.0 + m + a);
    let reactance = 2.0 * (magnetising * frequency);
    let driven_swing = (input / (1.0 + m + a) + leaning) * effective / reactance;
    let magnetising_ripple = driven_swing + leaning * freewheel / reactance;
    let half = magnetising_ripple * 0.5;
    let driven_from = inductor.valley / turns - half;
    let driven_to = inductor.peak / turns - half + driven_swing;
    let freewheeled = inductor.freed / turns + half;

    let driving = Split::of_ramp(driven_from, driven_to) * (0.5 * effective);
    let reversing = Split::of_ramp(-freewheeled, driven_from) * (0.5 * lost);
    // Shorted, the primary keeps its magnetising current while the inductor rests.
    let mut freewheeling = Split::of_ramp(driven_to, freewheeled) * (0.5 * freewheel);
    if rest > 0.0 {
        freewheeling = freewheeling + Split::of_ramp(freewheeled, freewheeled) * (0.5 * rest);
    }
    let bus = reversing + driving;
    let primary = bus + freewheeling;
    let input_mean = bus.mean() * 2.0;
    let bus_square = (bus.forward_square + bus.backward_square) * 2.0;

    let needed = inputs.switch_capacitance.map_or(Energy::new(f64::NAN), |capacitance| {
        // Two switches at the node; the factor 1/2 of each makes one.
        Energy::new(capacitance.si() * input.si() * input.si())
    });
    let held = |inductance: Inductance, current: Current| {
        let linked: FluxLinkage = inductance * current;
        Energy::new(0.5 * linked.si() * current.si())
    };
    let reflected = output_inductance * (turns * turns);

    let edges = whole.valley * whole.valley + whole.freed * whole.freed;
    let rectifier_square = ramp::mean_square(whole.valley, whole.peak) * effective
        + ramp::mean_square(whole.peak, whole.freed) * freewheel
        + edges * (lost / 3.0);
    let inductor_mean = match kind {
        Rectifier::CentreTap => load,
        Rectifier::CurrentDoubler => load * 0.5,
    };

    let rectifier_rms = (rectifier_square * 0.5).root();
    let secondary_square = ramp::mean_square(inductor.valley, inductor.peak) * effective
        + ramp::mean_square(inductor.peak, inductor.freed) * freewheel
        + ramp::mean_square(-inductor.freed, inductor.valley) * lost;

    FullBridgePoint {
        secondary_rms: match kind {
            Rectifier::CentreTap => rectifier_rms,
            Rectifier::CurrentDoubler => secondary_square.root(),
        },
        effective_duty: effective,
        duty_loss: lost,
        rest,
        phase_shift: effective + lost,
        primary_rms: ((primary.forward_square + primary.backward_square) * 2.0).root(),
        primary_peak: driven_to,
        switch_rms: primary.rms(),
        // A leading switch is turned on while the current of the half period before still freewheels.
        leading: LegPoint {
            switch: freewheeling.reversed() + bus,
            turn_off: driven_to,
            energy: held(leakage + reflected, driven_to),
            energy_needed: needed,
        },
        lagging: LegPoint {
            switch: bus + freewheeling,
            turn_off: freewheeled,
            energy: held(leakage, freewheeled),
            energy_needed: needed,
        },
        rectifier_mean: load * 0.5,
        rectifier_rms,
        rectifier_peak: whole.peak,
        inductor_mean,
        inductor_ripple: inductor.ripple(),
        inductor_peak: inductor.peak,
        inductor_valley: inductor.valley,
        inductor_rms: inductor.mean_square().root(),
        output_ripple: whole.ripple(),
        output_capacitor_rms: (whole.mean_square() - load * load).root(),
        input_mean,
        input_capacitor_rms: (bus_square - input_mean * input_mean).root(),
        magnetising_ripple,
        magnetising_peak: half,
        volt_seconds: magnetising * magnetising_ripple,
        switch_voltage: input,
        rectifier_voltage: match kind {
            Rectifier::CentreTap => 2.0 * (input / turns),
            Rectifier::CurrentDoubler => input / turns,
        },
        primary_wave: {
            let moves = Wave::NONE
                .then(lost, -freewheeled, driven_from)
                .then(effective, driven_from, driven_to)
                .then(freewheel, driven_to, freewheeled);
            // The last piece of a mirrored wave lasts some time.
            if rest > 0.0 { moves.then(rest, freewheeled, freewheeled) } else { moves }.mirrored()
        },
        // It takes over while the primary reverses, and hands over in the next reversal.
        rectifier_wave: Wave::NONE
            .then(0.5 * lost, Current::ZERO, whole.valley)
            .then(0.5 * effective, whole.valley, whole.peak)
            .then(0.5 * freewheel, whole.peak, whole.freed)
            .then(0.5 * lost, whole.freed, Current::ZERO)
            .then(0.5 * (1.0 - lost + rest), Current::ZERO, Current::ZERO),
        inductor_wave: inductor.wave(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STATED: FullBridge = FullBridge {
        input: Voltage::new(620.0),
        output: Voltage::new(28.0),
        load: Current::new(120.0),
        turns: 12.0,
        leakage: Inductance::new(12e-6),
        magnetising: Inductance::new(2e-3),
        output_inductance: Inductance::new(5e-6),
        frequency: Frequency::new(90e3),
        switch_capacitance: Some(Capacitance::new(200e-12)),
    };

    #[test]
    fn the_bus_gives_what_the_output_takes() {
        // Corners and duties are derived apart from each other; only a consistent set balances.
        let point = solve(Rectifier::CentreTap, &STATED);
        let given = (STATED.input * point.input_mean).si();
        assert!((given / (28.0 * 120.0) - 1.0).abs() < 1e-12, "{given}");
    }

    #[test]
    fn the_duty_loss_causes_itself() {
        for kind in [Rectifier::CentreTap, Rectifier::CurrentDoubler] {
            let stated = FullBridge { output: Voltage::new(14.0), ..STATED };
            let point = solve(kind, &stated);
            let again = Output::at(kind, &stated, point.duty_loss).lost(&stated);
            assert!((again - point.duty_loss).abs() < 1e-14);
            assert!(point.reachable() && point.duty_loss > 0.0);
        }
    }

    #[test]
    fn a_leakage_with_which_no_duty_loss_causes_itself_is_out_of_reach_and_not_unknown() {
        for kind in [Rectifier::CentreTap, Rectifier::CurrentDoubler] {
            for microhenries in [500.0, 1000.0, 1900.0] {
                let leakage = Inductance::new(microhenries * 1e-6);
                let stated = FullBridge { leakage, output: Voltage::new(20.0), ..STATED };
                let caused = |lost: f64| Output::at(kind, &stated, lost).lost(&stated);
                let crosses = (0..=1000).map(|n| f64::from(n) / 1000.0).any(|lost| caused(lost) < lost);
                let point = solve(kind, &stated);
                assert!(!crosses && !point.reachable(), "{kind:?} {microhenries}: {}", point.phase_shift);
                assert!(point.phase_shift > 1.0 && point.phase_shift.is_finite());
            }
        }
    }

    #[test]
    fn a_voltage_out_of_reach_is_told_not_clamped() {
        let stated = FullBridge { output: Voltage::new(60.0), ..STATED };
        let point = solve(Rectifier::CentreTap, &stated);
        assert!(!point.reachable() && point.phase_shift > 1.1);
        assert_eq!(point.check().unwrap_err().quantity, "phase shift in shares of 180°");
        assert!(solve(Rectifier::CentreTap, &STATED).check().is_ok());
        let light = FullBridge { load: Current::new(1.0), ..STATED };
        let empty = solve(Rectifier::CentreTap, &light).check().unwrap_err();
        assert_eq!(empty.quantity, "lowest current of the output inductor");
    }

    #[test]
    fn softness_is_not_judged_without_a_capacitance() {
        let stated = FullBridge { switch_capacitance: None, ..STATED };
        let point = solve(Rectifier::CentreTap, &stated);
        assert_eq!((point.leading.switches_softly(), point.lagging.switches_softly()), (None, None));
        let point = solve(Rectifier::CentreTap, &STATED);
        assert_eq!(point.leading.switches_softly(), Some(true));
        // 12 µH at some 10 A hold 0.6 mJ, 200 pF to 620 V take 77 µJ; at a tenth of the current not.
        assert_eq!(point.lagging.switches_softly(), Some(true));
        assert!(point.lagging.burnt().si().abs() < f64::MIN_POSITIVE);
        let light = FullBridge { load: Current::new(25.0), ..STATED };
        let point = solve(Rectifier::CentreTap, &light);
        // Two of 200 pF driven by 12 µH, stepped in time: the crest of the swing leaves the rest of 620 V to be burnt.
        let (mut volts, mut amps) = (0.0, point.lagging.turn_off.si());
        while amps > 0.0 {
            amps -= volts / 12e-6 * 1e-13;
            volts += amps / 400e-12 * 1e-13;
        }
        let left = 0.5 * 400e-12 * (620.0 - volts) * (620.0 - volts);
        let burnt = point.lagging.burnt().si();
        assert!(burnt > 1e-6 && (burnt / left - 1.0).abs() < 1e-3, "{burnt} against {left}");
        assert_eq!(point.lagging.switches_softly(), Some(false));
        // The output inductor still pushes the leading leg.
        assert_eq!(point.leading.switches_softly(), Some(true));
    }

    #[test]
    fn both_switches_of_a_half_period_make_up_the_primary() {
        let point = solve(Rectifier::CentreTap, &STATED);
        for leg in [point.leading, point.lagging] {
            assert!((leg.switch.rms() - point.switch_rms).si().abs() < 1e-9);
            assert!((point.switch_rms * 2f64.sqrt() - point.primary_rms).si().abs() < 1e-9);
        }
        // The lagging switch carries the freewheel forward, the leading one backward.
        assert!(point.lagging.switch.forward_mean > point.leading.switch.forward_mean);
    }
}
