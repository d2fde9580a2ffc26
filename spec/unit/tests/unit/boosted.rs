//! Boosts among other stages in whole units against the judge: beside a fuel cell with a share, before a bridge that
//! stands still, and with devices in parallel at two places of the coolant.

use loadworthy_unit::Solved;

use crate::bench::{held, lane, unit};
use crate::judge::agreement::Agreement;
use crate::judge::coolant::{Plate, row};
use crate::judge::leg::{Leg, Passes, Turn};
use crate::judge::ramps::{Chip, Fitted, Record};
use crate::judge::search;
use crate::judge::sheets::{CHIP, Device, MODULE};
use crate::settling::{Heat, glycol, settle};
use crate::waveform::{Share, Task, Zero};

const FACE: f64 = 0.07;
const CARRIER: f64 = 10_000.0;
const PERIOD: f64 = 1.0 / CARRIER;
const HENRY: f64 = 250e-6;
const WINDING: f64 = 5e-3;
const CORE: f64 = 12.0;

const STEP: &str = "
  step:
    topology: boost
    low_bus: near
    high_bus: link
    legs: 2
    inductor: choke
    carrier: { frequency: 10 kHz }
    dead_time: 2 us
    switches: { high_side: { fitted: module }, low_side: { fitted: module } }";
const CHOKE: &str = "magnetics: { choke: { kind: choke, inductance: 250 uH, core: { loss: 12 W }, winding: { resistance: 5 mohm } } }";

/// Two legs of a boost with modules whose case sees a plate.
struct Boost {
    turn: Turn,
    chips: [[Chip; 2]; 2],
    junctions: [[f64; 2]; 2],
    /// Edges and cores of both legs, which the link pays.
    paid: f64,
    loss: f64,
}

impl Boost {
    fn cold() -> Self {
        let nothing = Record::default;
        Self {
            turn: Turn { formed: 0.0, choke: nothing(), low: nothing(), high: nothing(), last: 0.0 },
            chips: Default::default(),
            junctions: [[90.0; 2]; 2],
            paid: 0.0,
            loss: 0.0,
        }
    }

    fn run(&mut self, low_volts: f64, high_volts: f64, passes: Passes) {
        let fitted =
            [0, 1].map(|side| Fitted { hot: self.junctions[side], ..Fitted::new(MODULE.sheet, 1.0) });
        let leg = Leg {
            low_volts,
            high_volts,
            henry: HENRY,
            winding: WINDING,
            carrier: CARRIER,
            dead: 2e-6,
            low: Some(fitted[0]),
            high: Some(fitted[1]),
            low_diode: None,
            high_diode: None,
        };
        self.turn = leg.settle(passes);
        self.chips = [fitted[0].cost(&self.turn.low, PERIOD), fitted[1].cost(&self.turn.high, PERIOD)];
        let edges: f64 = self.chips.iter().flatten().map(|chip| chip.share.switching).sum();
        let devices: f64 = self.chips.iter().flatten().map(|chip| chip.share.loss()).sum();
        self.paid = 2.0 * (edges + CORE);
        self.loss = 2.0 * (devices + CORE + WINDING * self.turn.choke.square(PERIOD));
    }

    fn warm(&mut self, plate: f64) {
        let all: f64 = self.chips.iter().flatten().map(|chip| chip.share.loss()).sum();
        for side in 0..2 {
            for chip in 0..2 {
                let loss = self.chips[side][chip].share.loss();
                self.junctions[side][chip] = plate + FACE * all + MODULE.to_case[chip] * loss;
            }
        }
    }

    fn compare(&self, here: &mut Agreement<'_, '_>) {
        let (top, bottom) = self.turn.choke.ends();
        here.share("step.choke_rms_current", self.turn.choke.square(PERIOD).sqrt(), 0.01);
        here.share("step.choke_ripple_current", top - bottom, 0.02);
        for (side, name) in ["low_side", "high_side"].into_iter().enumerate() {
            let both = self.chips[side].iter().map(|chip| chip.share.loss()).sum();
            for (chip, what) in ["transistor", "diode"].into_iter().enumerate() {
                let path = format!("step.{name}.2.{what}");
                here.chip(
                    &path,
                    &self.chips[side][chip],
                    self.junctions[side][chip],
                    top.abs().max(bottom.abs()),
                    both,
                );
            }
        }
        here.share("step.loss", self.loss, 0.02);
    }
}

#[test]
fn a_fuel_cell_with_a_share_through_a_boost_onto_the_link_of_a_battery() {
    let text = format!(
        "edition: 2026
sources:
  cell:
    kind: fuel_cell
    polarisation: {{ current: [0 A, 40 A, 120 A, 240 A], voltage: [420 V, 370 V, 330 V, 270 V] }}
  pack: {{ kind: battery, bus: link, internal_resistance: {{ lowest: 40 mohm, highest: 95 mohm }} }}
buses: {{ near: {{}}, link: {{}} }}
branches: {{ feed: {{ from: cell, to: near, through: [lead] }} }}
conductors: {{ lead: {{ kind: cable, resistance: 6 mohm }} }}
stages:{STEP}
loads: {{ work: {{ bus: link }} }}
{CHOKE}
devices:{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 7 L/min }}
  path: [plate]
  elements:
    plate: {{ referred_to: outlet, cools: {{ step: {{ face_a: {FACE} K/W }}, choke: {{}} }} }}
duty:
  work:
    coolant: {{ inlet: 60 degC }}
    sources: {{ cell: {{ power: 36 kW }}, pack: {{ open_circuit: 640 V }} }}
    loads: {{ work: {{ power: 85 kW }} }}
  idle:
    coolant: {{ inlet: 60 degC }}
    sources: {{ cell: {{ power: 36 kW }}, pack: {{ open_circuit: 640 V }} }}
    loads: {{ work: {{ power: 4 kW }} }}
",
        MODULE.text
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    // Along the drawn line between 40 A and 120 A the power is met once.
    let amps = search::halve(40.0, 120.0, |amps| (370.0 - (amps - 40.0) * 0.5) * amps - 36e3);
    let near = 36e3 / amps - 6e-3 * amps;
    for (duty, load) in [("work", 85e3), ("idle", 4e3)] {
        let mut boost = Boost::cold();
        let (mut link, mut pack, mut outlet) = (640.0, 0.0, 0.0);
        for _ in 0..16 {
            boost.run(near, link, Passes::Current(0.5 * amps));
            let brings = -2.0 * boost.turn.high.mean(PERIOD) * link - boost.paid;
            pack = (load - brings) / link;
            link = 640.0 - 0.095 * pack;
            let ([plate], out) =
                row(60.0, glycol(7.0, 60.0), [Plate { share: 1.0, resistance: 0.0, heat: boost.loss }]);
            outlet = out;
            boost.warm(plate);
        }
        let mut here = Agreement::new(&solved, lane(solved.variant, duty));
        boost.compare(&mut here);
        here.share("cell.current", amps, 1e-6);
        here.share("cell.terminal_voltage", 36e3 / amps, 1e-6);
        here.share("near.voltage", near, 1e-6);
        here.share("step.low_power", near * amps, 1e-6);
        here.share("lead.loss", 6e-3 * amps * amps, 1e-6);
        here.share("link.voltage", link, 0.001);
        here.within("pack.current", pack, 0.5);
        here.within("cooling.outlet", outlet, 0.2);
        here.done(duty);
    }
}

#[test]
fn a_bridge_that_stands_still_behind_a_boost() {
    let text = format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: near, internal_resistance: {{ lowest: 40 mohm, highest: 70 mohm }} }}
buses: {{ near: {{}}, link: {{}} }}
stages:{STEP}
  drive:
    topology: three_phase_bridge
    dc_bus: link
    feeds: motor
    modulation: space_vector
    carrier: {{ frequency: 8 kHz }}
    dead_time: 2 us
    switches: {{ high_side: {{ fitted: module }}, low_side: {{ fitted: module }} }}
machines: {{ motor: {{ kind: permanent_magnet, phase_resistance: 14 mohm }} }}
{CHOKE}
devices:{}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 8 L/min }}
  path: [stack, plate]
  elements:
    stack: {{ cools: {{ drive: {{ face_a: 0.06 K/W }} }} }}
    plate: {{ referred_to: inlet, cools: {{ step: {{ face_a: {FACE} K/W }}, choke: {{}} }} }}
duty:
  hold:
    coolant: {{ inlet: 65 degC }}
    sources: {{ pack: {{ open_circuit: 330 V }} }}
    buses: {{ link: 600 V }}
    loads: {{ motor: {{ phase_current: 200 A rms, frequency: 0 Hz }} }}
",
        MODULE.text
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let current = 200.0 * 2.0_f64.sqrt();
    let task = Task {
        sheet: MODULE.sheet,
        parallel: 1.0,
        zero: Zero::Centred,
        carrier: 8000.0,
        dead_time: 2e-6,
        voltage: 14e-3 * current,
        current,
        lag: 0.0,
        frequency: 0.0,
    };
    let heat = Heat { rate: glycol(8.0, 65.0), ..crate::driven::stack(65.0) };
    let double = settle(&task, &heat, 600.0, 0.0);
    let bridge: f64 = double.turn.shares.iter().flatten().map(Share::loss).sum();
    let drawn = double.turn.dc
        + double.turn.shares.iter().flatten().map(|share| share.switching).sum::<f64>() / 600.0;
    let mut boost = Boost::cold();
    let (mut near, mut pack, mut outlet) = (330.0, 0.0, 0.0);
    for _ in 0..16 {
        boost.run(near, 600.0, Passes::Arrives(0.5 * (drawn + boost.paid / 600.0)));
        pack = 2.0 * boost.turn.choke.mean(PERIOD);
        near = 330.0 - 0.070 * pack;
        let plate = Plate { share: 0.0, resistance: 0.0, heat: boost.loss };
        let ([offered], out) = row(double.outlet, glycol(8.0, 65.0), [plate]);
        outlet = out;
        boost.warm(offered);
    }
    for crest in [1, -2] {
        // Whichever phase is held, the stages around it see the same.
        let mut here = Agreement::new(&solved, held(solved.variant, "hold", crest));
        boost.compare(&mut here);
        here.share("drive.loss", bridge, 0.01);
        here.share("near.voltage", near, 0.001);
        here.share("pack.current", pack, 0.02);
        here.within("cooling.outlet", outlet, 0.3);
        here.done("standstill");
    }
}

/// A position's devices at two places: how many stand there, and how hot they are.
#[derive(Clone, Copy, Debug)]
struct Group {
    count: f64,
    junction: f64,
}

#[test]
fn mosfets_in_parallel_at_two_places_of_the_coolant() {
    let Device { text: device, sheet, to_case, .. } = CHIP;
    let text = format!(
        "edition: 2026
sources:
  pack: {{ kind: battery, bus: near, internal_resistance: {{ lowest: 40 mohm, highest: 70 mohm }} }}
buses: {{ near: {{}}, link: {{}} }}
stages:
  step:
    topology: boost
    low_bus: near
    high_bus: link
    inductor: choke
    carrier: {{ frequency: 10 kHz }}
    dead_time: 400 ns
    switches: {{ high_side: {{ fitted: chip, parallel: 3 }}, low_side: {{ fitted: chip, parallel: 3 }} }}
loads: {{ work: {{ bus: link }} }}
{CHOKE}
devices:{device}
cooling:
  coolant: {{ kind: water_glycol, glycol: 50 % }}
  pump: {{ flow: 2 L/min }}
  path: [first, second]
  elements:
    first: {{ cools: {{ step: {{ face_a: 0.10 K/W, devices: 2 }} }} }}
    second: {{ cools: {{ step: {{ face_a: 0.40 K/W, devices: 1 }}, choke: {{}} }} }}
duty:
  work:
    coolant: {{ inlet: 60 degC }}
    sources: {{ pack: {{ open_circuit: 330 V }} }}
    buses: {{ link: 560 V }}
    loads: {{ work: {{ power: 42 kW }} }}
"
    );
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let resistance = |t: f64| crate::waveform::drop_at(sheet.forward, 1.0, t);
    let mut groups = [[2.0, 1.0].map(|count| Group { count, junction: 90.0 }); 2];
    let mut chips = [[[Chip::default(); 2]; 2]; 2];
    let (mut near, mut paid, mut outlet) = (330.0, CORE, 0.0);
    for _ in 0..20 {
        let mean =
            |side: usize| groups[side].iter().map(|group| group.count * group.junction).sum::<f64>() / 3.0;
        let fitted = |side| Fitted { hot: [mean(side); 2], ..Fitted::new(sheet, 3.0) };
        let leg = Leg {
            low_volts: near,
            high_volts: 560.0,
            henry: HENRY,
            winding: WINDING,
            carrier: CARRIER,
            dead: 400e-9,
            low: Some(fitted(0)),
            high: Some(fitted(1)),
            low_diode: None,
            high_diode: None,
        };
        let turn = leg.settle(Passes::Arrives(42e3 / 560.0 + paid / 560.0));
        let mut heats = [0.0; 2];
        paid = CORE;
        for (side, record) in [&turn.low, &turn.high].into_iter().enumerate() {
            let conducts: f64 =
                groups[side].iter().map(|group| group.count / resistance(group.junction)).sum();
            for place in 0..2 {
                // Channels side by side share by what they conduct: the cooler one takes more.
                let Group { count, junction } = groups[side][place];
                let alone = conducts * resistance(junction);
                let own = Fitted { hot: [junction; 2], ..Fitted::new(sheet, alone) };
                chips[side][place] = own.cost(record, PERIOD);
                let both = chips[side][place][0].share.loss() + chips[side][place][1].share.loss();
                heats[place] += count * both;
                paid += count * chips[side][place].iter().map(|chip| chip.share.switching).sum::<f64>();
            }
        }
        let wound = WINDING * turn.choke.square(PERIOD) + CORE;
        near = 330.0 - 0.070 * turn.choke.mean(PERIOD);
        let plates = [heats[0], heats[1] + wound].map(|heat| Plate { share: 1.0, resistance: 0.0, heat });
        let (offered, out) = row(60.0, glycol(2.0, 60.0), plates);
        outlet = out;
        for side in 0..2 {
            for place in 0..2 {
                let both = chips[side][place][0].share.loss() + chips[side][place][1].share.loss();
                groups[side][place].junction = offered[place] + ([0.10, 0.40][place] + to_case[0]) * both;
            }
        }
    }
    let mut here = Agreement::new(&solved, lane(solved.variant, "work"));
    for (side, name) in ["low_side", "high_side"].into_iter().enumerate() {
        for (place, at) in ["first", "second"].into_iter().enumerate() {
            let path = format!("step.{name}.1.{at}");
            here.mosfet(&path, &chips[side][place], groups[side][place].junction);
        }
    }
    here.share("near.voltage", near, 0.001);
    here.within("cooling.outlet", outlet, 0.3);
    here.done("two places");
}
