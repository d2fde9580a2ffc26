//! The chain of power from the sources down, as lines.

use std::collections::BTreeMap;

use loadworthy_unit::plan::{Plan, Port, Source};
use loadworthy_unit::{FigureId, PartId};

use super::account::Wanted;

/// What a line is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Kind {
    /// A source at its terminals.
    Source,
    /// A bus whose voltage is stated and which no source in the description feeds.
    Feed,
    /// A conductor on the way.
    Conductor,
    /// A bus.
    Bus,
    /// A converter.
    Stage,
    /// A machine.
    Machine,
    /// A load.
    Load,
}

impl Kind {
    /// The word that a program reads.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Source => "source",
            Self::Feed => "feed",
            Self::Conductor => "conductor",
            Self::Bus => "bus",
            Self::Stage => "stage",
            Self::Machine => "machine",
            Self::Load => "load",
        }
    }
}

/// What decides the power of a source.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Manner {
    /// It takes what is left over.
    Balances,
    /// The duty point states it.
    Share,
}

/// A flow of power.
#[derive(Clone, Debug)]
pub(crate) struct Line<'u> {
    pub(crate) kind: Kind,
    pub(crate) part: &'u str,
    /// How many lines it hangs below.
    pub(crate) depth: usize,
    /// Of a conductor its branch; of a stage that closes a loop of buses the bus that it leads back to.
    pub(crate) of: Option<&'u str>,
    pub(crate) voltage: Option<f64>,
    pub(crate) current: Option<f64>,
    /// Power that enters the unit, or the stage, here.
    pub(crate) into: Option<f64>,
    /// Power that leaves it here.
    pub(crate) out: Option<f64>,
    /// What a stage or a conductor loses.
    pub(crate) loss: Option<f64>,
    pub(crate) efficiency: Option<f64>,
    /// What a source loses before its terminals, where its resistance is known.
    pub(crate) inside: Option<f64>,
    pub(crate) manner: Option<Manner>,
}

impl<'u> Line<'u> {
    fn new(kind: Kind, part: &'u str, depth: usize) -> Self {
        Self {
            kind,
            part,
            depth,
            of: None,
            voltage: None,
            current: None,
            into: None,
            out: None,
            loss: None,
            efficiency: None,
            inside: None,
            manner: None,
        }
    }

    /// Power that crosses the border of the unit, entering where it is positive.
    fn crossing(self, entering: Option<f64>) -> Self {
        Self {
            into: entering.map(|power| power.max(0.0)),
            out: entering.map(|power| (-power).max(0.0)),
            ..self
        }
    }

    /// Whether its power crosses the border of the unit.
    pub(crate) fn is_boundary(&self) -> bool {
        matches!(self.kind, Kind::Source | Kind::Feed | Kind::Machine | Kind::Load)
    }

    /// Whether nothing is asked of it.
    pub(crate) fn rests(&self) -> bool {
        let is_none = |value: Option<f64>| value.is_some_and(|value| value.abs() <= 0.0);
        is_none(self.into) && is_none(self.out) && (self.is_boundary() || is_none(self.loss))
    }
}

/// What is still to be visited.
#[derive(Clone, Copy)]
enum Visit {
    Bus(usize, usize),
    /// A stage, and the port that it was reached through.
    Stage(usize, Option<usize>, usize),
    Load(usize, usize),
}

/// Every flow of a lane, from the buses that sources hold downwards.
pub(super) fn lines<'u>(wanted: &mut Wanted<'_, 'u>) -> Vec<Line<'u>> {
    let plan = &wanted.solved.variant.plan;
    let mut walk = Walk::of(wanted);
    let holds = |bus: usize| plan.buses[bus].is_balanced_here;
    let is_led = |bus: usize| {
        walk.at[bus].iter().any(|&visit| match visit {
            Visit::Stage(stage, port, _) => port.is_some() && plan.stages[stage].led_by == port,
            Visit::Bus(..) | Visit::Load(..) => false,
        })
    };
    let all = 0..plan.buses.len();
    // A bus that no stage holds is where power enters; those that are left hang on a loop.
    let first =
        all.clone().filter(|&bus| holds(bus)).chain(all.clone().filter(|&bus| !holds(bus) && !is_led(bus)));
    let roots: Vec<usize> = first.chain(all).collect();
    for bus in roots {
        walk.from(Visit::Bus(bus, 0));
    }
    for stage in 0..plan.stages.len() {
        walk.from(Visit::Stage(stage, None, 0));
    }
    for load in 0..plan.loads.len() {
        walk.from(Visit::Load(load, 0));
    }
    // What carries nothing in service loses nothing and is left out; what is not known is not.
    for (place, conductor) in plan.conductors.iter().enumerate() {
        if conductor.carries.is_none() && conductor.unknown.is_some() {
            walk.conductor(place, 0);
        }
    }
    walk.lines
}

struct Walk<'w, 's, 'u> {
    wanted: &'w mut Wanted<'s, 'u>,
    plan: &'u Plan,
    lines: Vec<Line<'u>>,
    /// Conductors by the current that they carry.
    wires: BTreeMap<FigureId, Vec<usize>>,
    /// What hangs on each bus.
    at: Vec<Vec<Visit>>,
    seen_buses: Vec<bool>,
    seen_stages: Vec<bool>,
    seen_loads: Vec<bool>,
}

impl<'w, 's, 'u> Walk<'w, 's, 'u> {
    fn of(wanted: &'w mut Wanted<'s, 'u>) -> Self {
        let plan = &wanted.solved.variant.plan;
        let mut wires: BTreeMap<FigureId, Vec<usize>> = BTreeMap::new();
        for (place, conductor) in plan.conductors.iter().enumerate() {
            if let Some(carries) = conductor.carries {
                wires.entry(carries).or_default().push(place);
            }
        }
        let mut at: Vec<Vec<Visit>> = vec![Vec::new(); plan.buses.len()];
        for (place, stage) in plan.stages.iter().enumerate() {
            for (number, port) in stage.ports.iter().enumerate() {
                if let Some(bus) = port.bus {
                    at[bus].push(Visit::Stage(place, Some(number), 0));
                }
            }
        }
        for (place, load) in plan.loads.iter().enumerate() {
            if let Some(bus) = load.port.bus {
                at[bus].push(Visit::Load(place, 0));
            }
        }
        Self {
            wanted,
            plan,
            lines: Vec::new(),
            wires,
            at,
            seen_buses: vec![false; plan.buses.len()],
            seen_stages: vec![false; plan.stages.len()],
            seen_loads: vec![false; plan.loads.len()],
        }
    }

    fn path(&self, part: PartId) -> &'u str {
        self.wanted.solved.variant.path(part)
    }

    /// Visits something and all that hangs below it.
    fn from(&mut self, first: Visit) {
        let mut open = vec![first];
        while let Some(visit) = open.pop() {
            let mut below = match visit {
                Visit::Bus(bus, depth) if !std::mem::replace(&mut self.seen_buses[bus], true) => {
                    self.bus(bus, depth)
                }
                Visit::Stage(stage, port, depth)
                    if !std::mem::replace(&mut self.seen_stages[stage], true) =>
                {
                    self.stage(stage, port, depth)
                }
                Visit::Load(load, depth) if !std::mem::replace(&mut self.seen_loads[load], true) => {
                    self.load(load, depth);
                    Vec::new()
                }
                _ => Vec::new(),
            };
            // The last one is taken next.
            below.reverse();
            open.extend(below);
        }
    }

    fn bus(&mut self, place: usize, depth: usize) -> Vec<Visit> {
        let bus = &self.plan.buses[place];
        for &source in &bus.sources {
            let source = &self.plan.sources[source];
            let line = self.source(source, depth);
            self.lines.push(line);
            self.wires(source.current, depth + 1);
        }
        let line = Line::new(Kind::Bus, self.path(bus.part), depth);
        let voltage = self.wanted.get(bus.voltage);
        let is_held = |visit: &Visit| match *visit {
            Visit::Stage(stage, port, _) => port.is_some() && self.plan.stages[stage].led_by == port,
            Visit::Bus(..) | Visit::Load(..) => false,
        };
        // Where no source is described and no stage holds the bus, what is drawn from it enters there.
        let is_feed = bus.sources.is_empty() && !self.at[place].iter().any(is_held);
        if is_feed && !self.at[place].is_empty() {
            let feed = Line { kind: Kind::Feed, voltage, current: self.wanted.may(bus.current), ..line };
            let entering = self.wanted.get(bus.power);
            self.lines.push(feed.crossing(entering));
        } else {
            self.lines.push(Line { voltage, ..line });
        }
        let below = self.at[place].iter().map(|&visit| match visit {
            Visit::Bus(bus, _) => Visit::Bus(bus, depth + 1),
            Visit::Stage(stage, port, _) => Visit::Stage(stage, port, depth + 1),
            Visit::Load(load, _) => Visit::Load(load, depth + 1),
        });
        below.collect()
    }

    fn source(&mut self, source: &Source, depth: usize) -> Line<'u> {
        let states = |input| self.wanted.solved.input(input, self.wanted.lane).is_some();
        let shares = states(source.share_power) || states(source.share_current);
        let line = Line {
            voltage: self.wanted.may(source.terminal_voltage),
            current: self.wanted.may(source.current),
            inside: self.wanted.may(source.loss),
            manner: Some(if shares { Manner::Share } else { Manner::Balances }),
            ..Line::new(Kind::Source, self.path(source.part), depth)
        };
        line.crossing(self.wanted.get(source.power))
    }

    fn stage(&mut self, place: usize, reached: Option<usize>, depth: usize) -> Vec<Visit> {
        let stage = &self.plan.stages[place];
        if let Some(port) = reached.and_then(|port| stage.ports.get(port)) {
            self.wires(port.current, depth);
        }
        let entering = |walk: &mut Self, port: &Port| {
            let power = walk.wanted.get(port.power)?;
            Some(if port.outward { -power } else { power })
        };
        let mut flows: Vec<Option<f64>> = stage.ports.iter().map(|port| entering(self, port)).collect();
        let machine = stage.bridge().map(|bridge| (bridge.machine, bridge.figures.output_power));
        let output = machine.and_then(|(_, output)| self.wanted.get(output));
        if machine.is_some() {
            flows.push(output.map(|power| -power));
        }
        let sum = |sense: f64| flows.iter().map(|flow| flow.map(|power| (sense * power).max(0.0))).sum();
        let others = stage.ports.iter().enumerate().filter(|(number, _)| Some(*number) != reached);
        let others: Vec<&Port> = others.map(|(_, port)| port).collect();
        let mut line = Line {
            into: sum(1.0),
            out: sum(-1.0),
            loss: self.wanted.get(stage.figures.loss),
            efficiency: self.wanted.may(stage.figures.efficiency),
            ..Line::new(Kind::Stage, self.path(stage.part), depth)
        };
        let back = others.iter().filter_map(|port| port.bus).find(|&bus| self.seen_buses[bus]);
        line.of = back.map(|bus| self.path(self.plan.buses[bus].part));
        self.lines.push(line);
        if let Some((machine, _)) = machine {
            let part = machine.map_or("its machine", |machine| self.path(machine));
            let line = Line::new(Kind::Machine, part, depth + 1);
            self.lines.push(line.crossing(output.map(|power| -power)));
        }
        let mut below = Vec::new();
        for port in others {
            self.wires(port.current, depth + 1);
            below.extend(port.bus.map(|bus| Visit::Bus(bus, depth + 1)));
        }
        below
    }

    fn load(&mut self, place: usize, depth: usize) {
        let load = &self.plan.loads[place];
        self.wires(load.port.current, depth);
        let line = Line {
            voltage: self.wanted.may(load.port.voltage),
            current: self.wanted.may(load.port.current),
            ..Line::new(Kind::Load, self.path(load.part), depth)
        };
        let taken = self.wanted.get(load.port.power);
        self.lines.push(line.crossing(taken.map(|power| -power)));
    }

    /// The conductors that carry a current.
    fn wires(&mut self, current: FigureId, depth: usize) {
        for place in self.wires.get(&current).cloned().unwrap_or_default() {
            self.conductor(place, depth);
        }
    }

    fn conductor(&mut self, place: usize, depth: usize) {
        let conductor = &self.plan.conductors[place];
        let line = Line {
            of: Some(self.path(conductor.branch)),
            current: self.wanted.may(conductor.current),
            loss: self.wanted.get(conductor.loss),
            ..Line::new(Kind::Conductor, self.path(conductor.part), depth)
        };
        self.lines.push(line);
    }
}
