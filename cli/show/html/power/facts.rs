//! What the drawing of the power says, taken from a solved duty point.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_checks::figure_text::{percent, value};
use loadworthy_unit::plan::{ChopperKind, Conductor, Plan, Stage, Topology};
use loadworthy_unit::{Dimension, FigureId, InputId, PartId};

use crate::show::balance::Account;

use super::super::used::Uses;
use super::symbol::Symbol;
use super::{Bar, Element, Item, Seat, Through, Wire};

/// Buses, and what stands between them.
pub(crate) struct Net<'u> {
    pub(crate) bars: Vec<Bar<'u>>,
    pub(crate) items: Vec<Item<'u>>,
}

impl<'u> Net<'u> {
    /// The net of a duty point.
    pub(crate) fn of(account: &Account<'_, 'u>, uses: &Uses<'u>) -> Self {
        let plan = &account.solved.variant.plan;
        let mut wires: BTreeMap<FigureId, Vec<usize>> = BTreeMap::new();
        for (place, conductor) in plan.conductors.iter().enumerate() {
            if let Some(carries) = conductor.carries {
                wires.entry(carries).or_default().push(place);
            }
        }
        let mut from = From { account, uses, plan, wires };
        let bars = from.bars();
        let mut items = from.sources();
        items.extend(from.stages());
        items.extend(from.loads());
        items.extend(from.banks());
        weigh(&mut items);
        Self { bars, items }
    }

    /// Names of everything that is drawn.
    pub(crate) fn names(&self) -> BTreeSet<&'u str> {
        let boxes = self.items.iter().flat_map(|item| &item.boxes);
        let in_boxes =
            boxes.flat_map(|(_, one)| one.conductors.iter().map(|through| through.name).chain([one.name]));
        self.bars.iter().map(|bar| bar.name).chain(in_boxes).collect()
    }
}

/// Powers as shares of the largest.
fn weigh(items: &mut [Item<'_>]) {
    let wires = || items.iter().flat_map(|item| &item.wires);
    let most = wires().map(|wire| wire.weight).fold(0.0, f64::max);
    if most > 0.0 {
        for wire in items.iter_mut().flat_map(|item| &mut item.wires) {
            wire.weight /= most;
        }
    }
}

struct From<'a, 's, 'u> {
    account: &'a Account<'s, 'u>,
    uses: &'a Uses<'u>,
    plan: &'u Plan,
    /// Conductors by the current that they carry.
    wires: BTreeMap<FigureId, Vec<usize>>,
}

impl<'u> From<'_, '_, 'u> {
    fn path(&self, part: PartId) -> &'u str {
        self.account.solved.variant.path(part)
    }

    fn figure(&self, figure: FigureId, dimension: Dimension) -> String {
        self.account
            .figure(figure)
            .map_or_else(|| "not known".to_owned(), |number| value(number.abs(), dimension))
    }

    fn input(&self, input: InputId) -> Option<f64> {
        self.account.solved.input(input, self.account.lane)
    }

    fn element(&self, symbol: Symbol, part: PartId, what: impl Into<String>, figures: String) -> Element<'u> {
        let name = self.path(part);
        let used = self.uses.entry(name).cloned();
        Element { symbol, name, what: what.into(), figures, used, conductors: Vec::new() }
    }

    fn bars(&self) -> Vec<Bar<'u>> {
        let bar = |bus: &'u loadworthy_unit::plan::Bus| {
            let name = self.path(bus.part);
            let used = self.uses.entry(name).cloned();
            Bar { name, voltage: self.figure(bus.voltage, Dimension::Voltage), used }
        };
        self.plan.buses.iter().map(bar).collect()
    }

    /// Conductors that carry a current.
    fn through(&self, current: FigureId) -> Vec<Through<'u>> {
        let all = self.wires.get(&current).into_iter().flatten().map(|place| &self.plan.conductors[*place]);
        let through = |conductor: &'u Conductor| {
            let name = self.path(conductor.part);
            Through {
                name,
                branch: self.path(conductor.branch),
                current: self.figure(conductor.current, Dimension::Current),
                used: self.uses.entry(name).cloned(),
            }
        };
        all.map(through).collect()
    }

    /// The current of something, with the way of its power; `rightward` where the power counts to the right.
    fn wire(&self, current: FigureId, power: FigureId, rightward: bool) -> Wire {
        let power = self.account.figure(power);
        let sense = if rightward { 1.0 } else { -1.0 };
        let way = power.map_or(0, |power| match power * sense {
            power if power > 0.0 => 1,
            power if power < 0.0 => -1,
            _ => 0,
        });
        let says = self.figure(current, Dimension::Current);
        Wire { says, way, weight: power.map_or(0.0, f64::abs) }
    }

    fn sources(&mut self) -> Vec<Item<'u>> {
        let one = |source: &'u loadworthy_unit::plan::Source| {
            let power = self.account.figure(source.power);
            let says = power.map_or_else(
                || "power not known".to_owned(),
                |power| {
                    let word = if power < 0.0 { "takes" } else { "gives" };
                    format!("{word} {}", value(power.abs(), Dimension::Power))
                },
            );
            let symbol = if source.is_battery { Symbol::Battery } else { Symbol::Source };
            let voltage = self.account.figure(source.terminal_voltage);
            let what = voltage.map_or_else(
                || "voltage not known".to_owned(),
                |volts| format!("at {}", value(volts, Dimension::Voltage)),
            );
            let mut element = self.element(symbol, source.part, says, what);
            element.conductors = self.through(source.current);
            let wires = vec![Wire::default(), self.wire(source.current, source.power, true)];
            Item { left: None, right: source.bus, boxes: vec![(Seat::Main, element)], wires }
        };
        self.plan.sources.iter().map(one).collect()
    }

    fn stages(&self) -> Vec<Item<'u>> {
        self.plan.stages.iter().map(|stage| self.stage(stage)).collect()
    }

    /// A stage with its left port first: where that is, the layout finds out.
    fn stage(&self, stage: &'u Stage) -> Item<'u> {
        let (symbol, what) = kind(self, stage);
        let loss = self.figure(stage.figures.loss, Dimension::Power);
        let known =
            self.account.figure(stage.figures.loss).and(self.account.figure(stage.figures.efficiency));
        let loss = match known.filter(|efficiency| *efficiency > 0.0) {
            Some(efficiency) => format!("loss {loss} ({})", percent_of(efficiency)),
            None => format!("loss {loss}"),
        };
        let mut element = self.element(symbol, stage.part, what, loss);
        element.conductors = stage.ports.iter().flat_map(|port| self.through(port.current)).collect();
        // Power counts into the stage at a port that is not outward.
        let at = |place: usize, rightward_in: bool| match stage.ports.get(place) {
            Some(port) => self.wire(port.current, port.power, rightward_in != port.outward),
            None => Wire::default(),
        };
        let mut boxes = vec![(Seat::Main, element)];
        let mut wires = vec![at(0, true)];
        if stage.bridge().is_none() {
            wires.push(at(1, false));
        }
        if let Some(bridge) = stage.bridge() {
            let power = self.account.figure(bridge.figures.output_power);
            let frequency = self.account.figure(bridge.figures.frequency);
            let what = match (power, frequency) {
                (Some(power), _)
                    if power.abs() <= 0.0
                        && self
                            .account
                            .figure(bridge.figures.phase_current)
                            .is_none_or(|amps| amps <= 0.0) =>
                {
                    "rests".to_owned()
                }
                (Some(power), Some(hertz)) if hertz <= 0.0 => {
                    format!("stands, {}", value(power.abs(), Dimension::Power))
                }
                (Some(power), _) if power < 0.0 => format!("recovers {}", value(-power, Dimension::Power)),
                (Some(power), _) => format!("takes {}", value(power, Dimension::Power)),
                (None, _) => "power not known".to_owned(),
            };
            let mut wire = self.wire(bridge.figures.phase_current, bridge.figures.output_power, true);
            if self.account.figure(bridge.figures.phase_current).is_some() {
                wire.says.push_str(" rms");
            }
            wires.push(wire);
            let figures = frequency
                .map_or_else(String::new, |hertz| format!("at {}", value(hertz, Dimension::Frequency)));
            let machine = match bridge.machine {
                Some(machine) => self.element(Symbol::Machine, machine, what, figures),
                None => Element {
                    symbol: Symbol::Machine,
                    name: "its machine",
                    what,
                    figures,
                    used: None,
                    conductors: Vec::new(),
                },
            };
            boxes.push((Seat::End, machine));
            wires.push(Wire::default());
        }
        let bus = |place: usize| stage.ports.get(place).and_then(|port| port.bus);
        Item { left: bus(0), right: bus(1), boxes, wires }
    }

    fn loads(&self) -> Vec<Item<'u>> {
        let one = |load: &'u loadworthy_unit::plan::Load| {
            let what = format!("takes {}", self.figure(load.port.power, Dimension::Power));
            let wire = self.wire(load.port.current, load.port.power, true);
            let mut element = self.element(Symbol::Load, load.part, what, String::new());
            element.conductors = self.through(load.port.current);
            let wires = vec![wire, Wire::default()];
            Item { left: load.port.bus, right: None, boxes: vec![(Seat::Main, element)], wires }
        };
        self.plan.loads.iter().map(one).collect()
    }

    fn banks(&self) -> Vec<Item<'u>> {
        let mut items = Vec::new();
        for (bus, of) in self.plan.buses.iter().enumerate() {
            for place in &of.ripple.banks {
                let bank = &self.plan.banks[*place];
                let parts =
                    self.input(bank.parts).map_or_else(String::new, |parts| format!("{parts} in parallel"));
                let ripple = self.figure(bank.figures.ripple_current, Dimension::Current);
                let element = self.element(Symbol::Bank, bank.part, parts, format!("ripple {ripple}"));
                let wires = vec![Wire::default(), Wire::default()];
                items.push(Item { left: Some(bus), right: None, boxes: vec![(Seat::Main, element)], wires });
            }
        }
        items
    }
}

/// A share that is near to one, with a tenth of a per cent.
fn percent_of(share: f64) -> String {
    if share.is_finite() { format!("{:.1} %", share * 100.0) } else { percent(share) }
}

fn kind(from: &From<'_, '_, '_>, stage: &Stage) -> (Symbol, String) {
    match &stage.topology {
        Topology::Bridge(_) => (Symbol::Bridge, "three-phase bridge".to_owned()),
        Topology::Chopper(chopper) => {
            let word = if chopper.kind == ChopperKind::Boost { "boost" } else { "buck" };
            let legs = from.input(chopper.inputs.legs).unwrap_or(1.0);
            let says = if legs > 1.5 { format!("{word}, {legs} legs") } else { word.to_owned() };
            (Symbol::Chopper, says)
        }
        Topology::Isolated(isolated) => {
            use loadworthy_unit::plan::IsolatedKind::{CentreTap, CurrentDoubler, Forward, UnknownRectifier};
            let says = match isolated.kind {
                CentreTap => "full bridge, centre tap",
                CurrentDoubler => "full bridge, current doubler",
                Forward => "active-clamp forward",
                UnknownRectifier => "full bridge",
            };
            (Symbol::Isolated, says.to_owned())
        }
    }
}
