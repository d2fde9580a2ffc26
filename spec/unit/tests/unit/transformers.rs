//! Stages with a transformer in whole units against the judge.

use loadworthy_unit::Solved;

use crate::bench::{changed, lane, unit};
use crate::judge::agreement::Agreement;
use crate::judge::forward::{self, Forward};
use crate::judge::full_bridge::{self, FullBridge};
use crate::judge::ramps::{Chip, Fitted, Record};
use crate::judge::sheets::{Device, PRIMARY, RECTIFIER};

/// A whole unit around a transformer.
#[derive(Clone, Copy)]
struct Case {
    open: f64,
    board: f64,
    load: f64,
    turns: f64,
    leakage: f64,
    magnetising: f64,
    henry: f64,
    carrier: f64,
    dead: f64,
    rectifiers: f64,
}

const INNER: f64 = 0.060;
const BAR: f64 = 0.2e-3;
const CORES: (f64, f64) = (4.0, 2.0);
const WINDINGS: [f64; 3] = [30e-3, 1.5e-3, 0.8e-3];
const FACE: f64 = 0.9;
const INLET: f64 = 55.0;
/// Heat-capacity rate of 6 L/min of half glycol at 55 °C.
fn rate() -> f64 {
    crate::settling::glycol(6.0, INLET)
}

impl Case {
    fn text(&self, stage: &str) -> String {
        let Self { open, board, load, turns, leakage, magnetising, henry, carrier, dead, .. } = self;
        let [primary, secondary, choke] = WINDINGS;
        format!(
            "edition: 2026
sources:
  pack: {{ kind: battery, bus: near, internal_resistance: {{ lowest: 30 mohm, highest: {INNER} ohm }} }}
buses: {{ near: {{}}, board: {{}} }}
branches: {{ tail: {{ from: step, to: board, through: [bar] }} }}
conductors: {{ bar: {{ kind: busbar, resistance: {BAR} ohm }} }}
stages:
  step:
    from: near
    to: board
    transformer: iron
    output_inductor: choke
    carrier: {{ frequency: {carrier} Hz }}
    dead_time: {dead} s
{stage}
loads: {{ work: {{ bus: board }} }}
magnetics:
  iron:
    kind: transformer
    turns_ratio: {turns}
    magnetising_inductance: {magnetising} H
    leakage_inductance: {leakage} H
    core: {{ loss: {} W }}
    primary: {{ resistance: {primary} ohm }}
    secondary: {{ resistance: {secondary} ohm }}
  choke: {{ kind: choke, inductance: {henry} H, core: {{ loss: {} W }}, winding: {{ resistance: {choke} ohm }} }}
devices:{}{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 6 L/min }}
  path: [plate]
  elements:
    plate:
      referred_to: inlet
      resistance: {{ value: 0.01 K/W, flow: 6 L/min }}
      cools: {{ step: {{ face_a: {FACE} K/W }}, iron: {{}}, choke: {{}} }}
duty:
  work:
    coolant: {{ inlet: {INLET} degC }}
    sources: {{ pack: {{ open_circuit: {open} V }} }}
    buses: {{ board: {board} V }}
    loads: {{ work: {{ power: {load} W }} }}
",
            CORES.0, CORES.1, PRIMARY.text, RECTIFIER.text,
        )
    }

    fn load_current(&self) -> f64 {
        self.load / self.board
    }
}

/// A kind of position with the record of its period, how many of it there are, and what is fitted.
struct Position {
    fitted: Fitted,
    device: Device,
    count: f64,
    chips: [Chip; 2],
}

impl Position {
    fn new(device: Device, parallel: f64, count: f64) -> Self {
        Self { fitted: Fitted::new(device.sheet, parallel), device, count, chips: Default::default() }
    }

    fn each(&self) -> f64 {
        self.chips[0].share.loss() + self.chips[1].share.loss()
    }

    fn all(&self) -> f64 {
        self.each() * self.count * self.fitted.parallel
    }

    fn edges(&self) -> f64 {
        (self.chips[0].share.switching + self.chips[1].share.switching) * self.count * self.fitted.parallel
    }

    fn run(&mut self, record: &Record, period: f64) {
        self.chips = self.fitted.cost(record, period);
    }

    fn warm(&mut self, plate: f64) {
        let loss = self.each();
        self.fitted.hot = [plate + (FACE + self.device.to_case[0]) * loss; 2];
    }
}

/// Temperature of the plate and of what leaves it.
fn plate(heat: f64) -> (f64, f64) {
    (INLET + 0.01 * heat, INLET + heat / rate())
}

fn full_bridge(case: &Case, is_doubler: bool) {
    let kind = if is_doubler { "current_doubler" } else { "centre_tap" };
    let text = case.text(&format!(
        "    topology: phase_shifted_full_bridge
    rectifier: {kind}
    switches:
      bridge_high: {{ fitted: primary_chip }}
      bridge_low: {{ fitted: primary_chip }}
      rectifier: {{ fitted: rectifier_chip, parallel: {} }}",
        case.rectifiers
    ));
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let period = 1.0 / case.carrier;
    let half = 0.5 * period;
    let load = case.load_current();
    let mut legs = [0, 1].map(|_| Position::new(PRIMARY, 1.0, 2.0));
    let mut rectifier = Position::new(RECTIFIER, case.rectifiers, 2.0);
    let chokes = if is_doubler { 2.0 } else { 1.0 };
    let (mut near, mut source) = (case.open, 0.0);
    let (mut turn, mut lost, mut out) = (full_bridge::Turn::default(), 0.0, 0.0);
    for _ in 0..14 {
        let stated = FullBridge {
            is_doubler,
            input: near,
            output: case.board + BAR * load,
            load,
            turns: case.turns,
            leakage: case.leakage,
            magnetising: case.magnetising,
            henry: case.henry,
            carrier: case.carrier,
            dead: case.dead,
            primary: legs[1].fitted,
            rectifier: rectifier.fitted,
            primary_winding: WINDINGS[0],
            secondary_winding: WINDINGS[1],
            choke_winding: WINDINGS[2],
        };
        turn = stated.settle();
        legs[0].run(&turn.leg_a, period);
        legs[1].run(&turn.leg_b, period);
        rectifier.run(&turn.rectifier, period);
        let paid: f64 =
            legs.iter().map(Position::edges).sum::<f64>() + rectifier.edges() + CORES.0 + chokes * CORES.1;
        let secondary =
            if is_doubler { turn.winding.square(half) } else { 2.0 * turn.rectifier.square(period) };
        let choke = turn.choke.square(if is_doubler { period } else { half });
        let iron = WINDINGS[0] * turn.primary.square(half) + WINDINGS[1] * secondary + CORES.0;
        let wound = chokes * (WINDINGS[2] * choke + CORES.1);
        lost = legs.iter().map(Position::all).sum::<f64>() + rectifier.all() + iron + wound;
        source = turn.bus.mean(half) + paid / near;
        near = case.open - INNER * source;
        let (on_plate, leaves) = plate(lost);
        out = leaves;
        legs.iter_mut().for_each(|leg| leg.warm(on_plate));
        rectifier.warm(on_plate);
    }
    let mut here = Agreement::new(&solved, lane(solved.variant, "work"));
    let (top, bottom) = turn.choke.ends();
    here.share("step.phase_shift", turn.phase_shift, 0.02);
    here.share("step.effective_duty", turn.driven, 0.02);
    here.share("step.primary_rms_current", turn.primary.square(half).sqrt(), 0.02);
    here.share("step.primary_peak_current", turn.primary.ends().0, 0.02);
    here.share("step.choke_ripple_current", top - bottom, 0.02);
    here.share("step.choke_peak_current", top, 0.02);
    here.share(
        "step.choke_rms_current",
        turn.choke.square(if is_doubler { period } else { half }).sqrt(),
        0.01,
    );
    let (most, least) = turn.magnetising.ends();
    here.share("step.magnetising_ripple_current", most - least, 0.03);
    here.share("step.input_ripple_current", turn.bus.ripple_of(1, half), 0.02);
    here.within("step.output_ripple_current", turn.output.ripple_of(1, half), 0.01 * load);
    for (leg, name) in ["a", "b"].into_iter().enumerate() {
        for side in ["bridge_high", "bridge_low"] {
            here.mosfet(&format!("step.{side}.{name}"), &legs[leg].chips, legs[leg].fitted.hot[0]);
        }
    }
    for name in ["1", "2"] {
        here.mosfet(&format!("step.rectifier.{name}"), &rectifier.chips, rectifier.fitted.hot[0]);
        let body = format!("step.rectifier.{name}.body_diode");
        here.share(&format!("{body}.average_current"), rectifier.chips[1].share.average, 0.05);
        here.share(&format!("{body}.rms_current"), rectifier.chips[1].share.rms(), 0.05);
    }
    here.share("step.loss", lost, 0.05);
    here.share("near.voltage", near, 0.002);
    here.share("pack.current", source, 0.01);
    here.within("cooling.outlet", out, 0.3);
    here.done(kind);
}

const BRIDGE: Case = Case {
    open: 350.0,
    board: 28.0,
    load: 2.2e3,
    turns: 7.0,
    leakage: 6e-6,
    magnetising: 400e-6,
    henry: 5e-6,
    carrier: 100_000.0,
    dead: 100e-9,
    rectifiers: 2.0,
};

#[test]
fn full_bridge_with_a_centre_tap() {
    full_bridge(&BRIDGE, false);
}

#[test]
fn full_bridge_with_a_current_doubler() {
    full_bridge(&Case { turns: 4.0, ..BRIDGE }, true);
}

#[test]
fn forward_converter_with_leakage() {
    let case = Case {
        open: 300.0,
        board: 28.0,
        load: 2.0e3,
        turns: 4.5,
        leakage: 2.5e-6,
        magnetising: 800e-6,
        henry: 6e-6,
        carrier: 120_000.0,
        dead: 80e-9,
        rectifiers: 1.0,
    };
    let text = case.text(
        "    topology: active_clamp_forward
    switches:
      main: { fitted: primary_chip }
      clamp: { fitted: primary_chip }
      forward: { fitted: rectifier_chip }
      freewheel: { fitted: rectifier_chip }",
    );
    let unit = unit(&changed(&text, &[("      output_capacitance: 150 pF\n", "")]));
    let solved = Solved::new(&unit.variants[0]);
    let period = 1.0 / case.carrier;
    let load = case.load_current();
    let mut all = [PRIMARY, PRIMARY, RECTIFIER, RECTIFIER].map(|device| Position::new(device, 1.0, 1.0));
    let (mut near, mut source) = (case.open, 0.0);
    let (mut turn, mut lost, mut out) = (forward::Turn::default(), 0.0, 0.0);
    for _ in 0..14 {
        let stated = Forward {
            input: near,
            output: case.board + BAR * load,
            load,
            turns: case.turns,
            leakage: case.leakage,
            magnetising: case.magnetising,
            henry: case.henry,
            carrier: case.carrier,
            dead: case.dead,
            main: all[0].fitted,
            clamp: all[1].fitted,
            forward: all[2].fitted,
            freewheel: all[3].fitted,
            primary_winding: WINDINGS[0],
            secondary_winding: WINDINGS[1],
            choke_winding: WINDINGS[2],
            // Without an output capacitance the solver takes the side that cannot be too low.
            starts_hard: true,
        };
        turn = stated.settle();
        for (position, record) in
            all.iter_mut().zip([&turn.main, &turn.clamp, &turn.forward, &turn.freewheel])
        {
            position.run(record, period);
        }
        let iron =
            WINDINGS[0] * turn.primary.square(period) + WINDINGS[1] * turn.secondary.square(period) + CORES.0;
        let wound = WINDINGS[2] * turn.choke.square(period) + CORES.1;
        lost = all.iter().map(Position::all).sum::<f64>() + iron + wound;
        let paid = all.iter().map(Position::edges).sum::<f64>() + CORES.0 + CORES.1;
        source = turn.main.mean(period) + paid / near;
        near = case.open - INNER * source;
        let (on_plate, leaves) = plate(lost);
        out = leaves;
        all.iter_mut().for_each(|position| position.warm(on_plate));
    }
    let mut here = Agreement::new(&solved, lane(solved.variant, "work"));
    let (top, bottom) = turn.choke.ends();
    here.share("step.duty", turn.duty, 0.02);
    here.share("step.switch_voltage", near + turn.clamp_volts, 0.02);
    here.share("step.primary_rms_current", turn.main.square(period).sqrt(), 0.02);
    here.share("step.primary_peak_current", turn.main.ends().0, 0.02);
    here.share("step.choke_ripple_current", top - bottom, 0.02);
    here.share("step.choke_peak_current", top, 0.02);
    here.share("step.choke_rms_current", turn.choke.square(period).sqrt(), 0.01);
    let (most, least) = turn.magnetising.ends();
    here.share("step.magnetising_ripple_current", most - least, 0.03);
    here.share("step.input_ripple_current", turn.main.ripple_of(1, period), 0.02);
    here.share("step.output_ripple_current", turn.choke.ripple_of(1, period), 0.02);
    for (position, name) in all.iter().zip(["main", "clamp", "forward", "freewheel"]) {
        here.mosfet(&format!("step.{name}"), &position.chips, position.fitted.hot[0]);
        if matches!(name, "forward" | "freewheel") {
            let body = format!("step.{name}.body_diode");
            here.share(&format!("{body}.average_current"), position.chips[1].share.average, 0.1);
            here.share(&format!("{body}.rms_current"), position.chips[1].share.rms(), 0.1);
        }
    }
    here.share("step.loss", lost, 0.05);
    here.share("near.voltage", near, 0.002);
    here.share("pack.current", source, 0.01);
    here.within("cooling.outlet", out, 0.3);
    here.done("forward converter");
}
