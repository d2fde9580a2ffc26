//! Boosts and bucks in whole units against the judge: a pack behind its resistance and a fuse, a stage, a bar, a load,
//! and coolant that divides.

use loadworthy_unit::Solved;

use crate::bench::{lane, unit};
use crate::judge::agreement::Agreement;
use crate::judge::coolant::{Plate, row, split};
use crate::judge::leg::{Leg, Passes, Turn};
use crate::judge::ramps::{Chip, Fitted};
use crate::judge::sheets::{CHIP, DIODE, Device, MODULE};
use crate::settling::glycol;

/// A whole unit around a chopper.
#[derive(Clone, Copy)]
pub(crate) struct Case {
    pub(crate) is_buck: bool,
    pub(crate) legs: usize,
    pub(crate) low: Device,
    pub(crate) high: Device,
    pub(crate) parallel: f64,
    pub(crate) henry: f64,
    pub(crate) carrier: f64,
    pub(crate) dead: f64,
    /// Voltage behind the resistance of the pack, and voltage of the far bus.
    pub(crate) open: f64,
    pub(crate) far: f64,
    /// What the far bus takes.
    pub(crate) load: f64,
}

const INNER: f64 = 0.045;
const FUSE: f64 = 0.4e-3;
const BAR: f64 = 0.5e-3;
const WINDING: f64 = 6e-3;
const CORE: f64 = 15.0;
const FACE: f64 = 0.08;
const INLET: f64 = 62.0;
/// Litres a minute.
const FLOW: f64 = 8.0;

impl Case {
    fn text(&self) -> String {
        let Self { legs, low, high, parallel, henry, carrier, dead, open, far, load, .. } = self;
        let (topology, from, to) =
            if self.is_buck { ("buck", "from", "to") } else { ("boost", "low_bus", "high_bus") };
        let devices =
            if low.name == high.name { low.text.to_owned() } else { format!("{}{}", low.text, high.text) };
        format!(
            "edition: 2026
sources:
  pack: {{ kind: battery, internal_resistance: {{ lowest: 30 mohm, highest: {INNER} ohm }} }}
buses: {{ near: {{}}, far: {{}} }}
branches:
  feed: {{ from: pack, to: near, through: [fuse] }}
  tail: {{ from: step, to: far, through: [bar] }}
conductors:
  fuse: {{ kind: fuse, resistance: {FUSE} ohm }}
  bar: {{ kind: busbar, resistance: {BAR} ohm }}
stages:
  step:
    topology: {topology}
    {from}: near
    {to}: far
    legs: {legs}
    inductor: choke
    carrier: {{ frequency: {carrier} Hz }}
    dead_time: {dead} s
    switches:
      high_side: {{ fitted: {}, parallel: {parallel} }}
      low_side: {{ fitted: {}, parallel: {parallel} }}
loads: {{ work: {{ bus: far }} }}
magnetics:
  choke: {{ kind: choke, inductance: {henry} H, core: {{ loss: {CORE} W }}, winding: {{ resistance: {WINDING} ohm }} }}
devices:{devices}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: {FLOW} L/min }}
  path: [choke_plate, fork]
  elements:
    choke_plate: {{ cools: {{ choke: {{}} }} }}
    fork: {{ split: {{ left: [step_plate], right: [bypass] }} }}
    step_plate:
      referred_to: mean
      resistance: {{ value: 0.004 K/W, flow: 6 L/min }}
      pressure_drop: {{ flow: [3 L/min, 6 L/min], pressure: [2 kPa, 7 kPa] }}
      cools: {{ step: {{ face_a: {FACE} K/W }} }}
    bypass: {{ pressure_drop: {{ flow: 2 L/min, pressure: 3 kPa }} }}
duty:
  work:
    coolant: {{ inlet: {INLET} degC }}
    sources: {{ pack: {{ open_circuit: {open} V }} }}
    buses: {{ far: {far} V }}
    loads: {{ work: {{ power: {load} W }} }}
",
            high.name, low.name,
        )
    }

    fn leg(&self, low_volts: f64, high_volts: f64, hot: &[[f64; 2]; 2]) -> Leg {
        let fitted = |device: &Device, hot| Fitted { hot, ..Fitted::new(device.sheet, self.parallel) };
        let switch = |device: &Device, hot| (device.name != DIODE.name).then(|| fitted(device, hot));
        let diode = |device: &Device, hot| (device.name == DIODE.name).then(|| fitted(device, hot));
        Leg {
            low_volts,
            high_volts,
            henry: self.henry,
            winding: WINDING,
            carrier: self.carrier,
            dead: self.dead,
            low: switch(&self.low, hot[0]),
            high: switch(&self.high, hot[1]),
            low_diode: diode(&self.low, hot[0]),
            high_diode: diode(&self.high, hot[1]),
        }
    }
}

/// What the judge found of a unit.
struct Found {
    turn: Turn,
    /// Low side, then high side.
    chips: [[Chip; 2]; 2],
    junctions: [[f64; 2]; 2],
    near: f64,
    source: f64,
    loss: f64,
    outlet: f64,
    flow_left: f64,
}

/// The whole unit, gone round until everything holds together.
fn settle(case: &Case) -> Found {
    let count = case.legs as f64;
    let period = 1.0 / case.carrier;
    // The bar lies between the stage and the far bus; what it carries is what the load takes.
    let through = case.load / case.far;
    let port = case.far + BAR * through;
    // Two points make a drop of a straight and a square part, one a square.
    let square = (7e3 / 6.0 - 2e3 / 3.0) / 3.0;
    let straight = 2e3 / 3.0 - 3.0 * square;
    let [left, _] = split(FLOW, [&|q| straight * q + square * q * q, &|q| 3e3 * (q / 2.0) * (q / 2.0)]);
    let plate_here = 0.004 * libm::pow(left / 6.0, -1.1);
    let mut near = case.open;
    let mut hot = [[INLET + 30.0; 2]; 2];
    let mut edges = 0.0;
    let mut found = None;
    for _ in 0..14 {
        // Edges and core are paid from the side that the switches see.
        let (low, high) = if case.is_buck { (port, near) } else { (near, port) };
        let asked = if case.is_buck {
            Passes::Current(-through / count)
        } else {
            Passes::Arrives(through / count + (edges + CORE) / high)
        };
        let leg = case.leg(low, high, &hot);
        let turn = leg.settle(asked);
        let fitted = [leg.low.or(leg.low_diode).unwrap(), leg.high.or(leg.high_diode).unwrap()];
        let chips = [fitted[0].cost(&turn.low, period), fitted[1].cost(&turn.high, period)];
        edges = chips.iter().flatten().map(|chip| chip.share.switching).sum::<f64>() * case.parallel;
        let squared = turn.choke.square(period);
        let own = [0, 1].map(|side| chips[side][0].share.loss() + chips[side][1].share.loss());
        let devices = count * case.parallel * (own[0] + own[1]);
        let chokes = count * (WINDING * squared + CORE);
        let drawn = if case.is_buck {
            count * (turn.high.mean(period) + (edges + CORE) / high) * high
        } else {
            count * turn.choke.mean(period) * low
        };
        let source = drawn / near;
        near = case.open - (INNER + FUSE) * source;

        let whole = glycol(FLOW, INLET);
        let after = Plate { share: 1.0, resistance: 0.0, heat: chokes };
        let ([_], warm) = row(INLET, whole, [after]);
        let under = Plate { share: 0.5, resistance: plate_here, heat: devices };
        let ([offered], out) = row(warm, whole * left / FLOW, [under]);
        let outlet = (out * left + warm * (FLOW - left)) / FLOW;
        // A package of two positions has one case for both.
        let shares_case = case.low.name == MODULE.name && case.high.name == MODULE.name;
        for side in 0..2 {
            let device = [&case.low, &case.high][side];
            let case_at = offered + FACE * if shares_case { own[0] + own[1] } else { own[side] };
            for chip in 0..2 {
                let loss = if device.sheet.is_mosfet { own[side] } else { chips[side][chip].share.loss() };
                hot[side][chip] = case_at + device.to_case[chip] * loss;
            }
        }
        found = Some(Found {
            turn,
            chips,
            junctions: hot,
            near,
            source,
            loss: devices + chokes,
            outlet,
            flow_left: left / 60_000.0,
        });
    }
    found.unwrap()
}

fn judged(case: &Case, what: &str) {
    let unit = unit(&case.text());
    let solved = Solved::new(&unit.variants[0]);
    let found = settle(case);
    let mut here = Agreement::new(&solved, lane(solved.variant, "work"));
    let period = 1.0 / case.carrier;
    let choke = &found.turn.choke;
    let (top, bottom) = choke.ends();
    here.share("step.leg_current", choke.mean(period), 0.01);
    here.share("step.choke_ripple_current", top - bottom, 0.02);
    here.share("step.choke_rms_current", choke.square(period).sqrt(), 0.01);
    here.share("step.choke_peak_current", top.abs().max(bottom.abs()), 0.02);
    here.within("step.low_side_duty", found.turn.formed, 0.005);
    if case.is_buck && case.low.name == DIODE.name {
        // The side that is commanded, in time: as long as it leads.
        let leads = found.turn.high.pieces.iter().filter(|piece| piece.from != 0.0 || piece.to != 0.0);
        let share = leads.map(|piece| piece.lasts).sum::<f64>() / period;
        here.within("step.duty", share, 0.005);
    }
    let peak_to_peak = top - bottom;
    here.within("step.low_bus_ripple_current", choke.ripple_of(case.legs, period), 0.02 * peak_to_peak);
    here.within(
        "step.high_bus_ripple_current",
        found.turn.high.ripple_of(case.legs, period),
        0.02 * choke.square(period).sqrt(),
    );
    for (side, name) in ["low_side", "high_side"].into_iter().enumerate() {
        let device = [&case.low, &case.high][side];
        let chips = &found.chips[side];
        let both = chips[0].share.loss() + chips[1].share.loss();
        let of = top.abs().max(bottom.abs()) / case.parallel;
        for leg in 1..=case.legs {
            let path = format!("step.{name}.{leg}");
            if device.sheet.is_mosfet {
                here.mosfet(&path, chips, found.junctions[side][0]);
                continue;
            }
            if device.name != DIODE.name {
                here.chip(&format!("{path}.transistor"), &chips[0], found.junctions[side][0], of, both);
            }
            here.chip(&format!("{path}.diode"), &chips[1], found.junctions[side][1], of, both);
        }
    }
    here.share("step.loss", found.loss, 0.03);
    here.share("near.voltage", found.near, 0.002);
    here.share("pack.current", found.source, 0.01);
    here.within("cooling.outlet", found.outlet, 0.5);
    here.share("cooling.fork.left.flow", found.flow_left, 1e-6);
    here.done(what);
}

const BOOST: Case = Case {
    is_buck: false,
    legs: 2,
    low: MODULE,
    high: MODULE,
    parallel: 1.0,
    henry: 220e-6,
    carrier: 10_000.0,
    dead: 2e-6,
    open: 340.0,
    far: 620.0,
    load: 70e3,
};

#[test]
fn boost_of_two_legs_with_igbts_both_ways() {
    judged(&BOOST, "forth");
    judged(&Case { load: -55e3, ..BOOST }, "back");
}

#[test]
fn boost_with_igbts_whose_ripple_is_larger_than_the_mean() {
    judged(&Case { henry: 60e-6, load: 40e3, ..BOOST }, "forth");
    judged(&Case { henry: 60e-6, load: -30e3, ..BOOST }, "back");
}

#[test]
fn boost_of_four_legs_with_mosfets_both_ways() {
    let case = Case {
        legs: 4,
        low: CHIP,
        high: CHIP,
        parallel: 2.0,
        henry: 90e-6,
        carrier: 40_000.0,
        dead: 300e-9,
        open: 300.0,
        far: 560.0,
        load: 90e3,
        ..BOOST
    };
    judged(&case, "forth");
    judged(&Case { load: -70e3, ..case }, "back");
    judged(&Case { load: 12e3, henry: 45e-6, ..case }, "more ripple than mean");
    judged(&Case { load: -9e3, henry: 45e-6, ..case }, "more ripple than mean, back");
}

#[test]
fn boost_with_plain_diodes_above() {
    let case = Case { legs: 1, high: DIODE, henry: 220e-6, carrier: 16_000.0, load: 18e3, ..BOOST };
    judged(&case, "continuous");
    judged(&Case { henry: 60e-6, load: 9e3, legs: 2, ..case }, "running empty");
}

#[test]
fn buck_synchronous_and_with_plain_diodes_below() {
    let case = Case {
        is_buck: true,
        legs: 2,
        low: CHIP,
        high: CHIP,
        parallel: 1.0,
        henry: 80e-6,
        carrier: 40_000.0,
        dead: 300e-9,
        open: 420.0,
        far: 150.0,
        load: 18e3,
    };
    judged(&case, "synchronous");
    judged(&Case { load: 4e3, ..case }, "synchronous, more ripple than mean");
    let plain =
        Case { low: DIODE, high: MODULE, carrier: 16_000.0, henry: 220e-6, dead: 2e-6, open: 480.0, ..case };
    judged(&Case { load: 15e3, ..plain }, "continuous");
    judged(&Case { load: 4e3, ..plain }, "running empty");
}
