//! What a shorted device does beside stopping its stage, and what an open one leaves without a way.

use loadworthy_unit::plan::{ChopperKind, Fuse, Role, Side, Stage, Topology};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use crate::figure_text::value;

/// What a shorted device does.
#[derive(Default)]
pub(super) struct Short {
    /// In words.
    pub(super) says: Vec<String>,
    /// The bus that it takes with it.
    pub(super) falls: Option<usize>,
    /// Whether that bus is lifted rather than left without a feed.
    pub(super) lifts: bool,
    /// Sources whose fuses clear.
    pub(super) cut_off: Vec<usize>,
}

impl Short {
    fn says((says, cut_off): (String, Vec<usize>)) -> Self {
        Self { says: vec![says], cut_off, ..Self::default() }
    }
}

/// What ends a short across a bus.
struct Ended {
    /// In words.
    says: String,
    /// Sources whose fuses clear.
    cut_off: Vec<usize>,
    /// Whether that leaves nothing to drive it: all fuses clear, or that of the stage itself.
    is_over: bool,
}

/// What a shorted device in a kind of position does.
pub(super) fn shorted(solved: &Solved<'_>, stage: &Stage, (seat, role): (usize, Option<Role>)) -> Short {
    let seen = Seen { solved, stage: Some(stage), seat };
    let bus = |place: usize| stage.ports.get(place).and_then(|port| port.bus);
    let name = |bus: Option<usize>| seen.name(bus);
    match (&stage.topology, role) {
        (Topology::Bridge(bridge), _) => {
            let machine = bridge.machine.map_or("its machine", |machine| solved.variant.path(machine));
            let (partner, cut_off) = seen.partner(bus(0));
            let lasts = if bridge.is_excited {
                "until its flux has faded, since nothing excites it any more"
            } else {
                "while it turns"
            };
            let says = format!("shorts {machine} through itself and the diodes beside it {lasts}; {partner}");
            Short::says((says, cut_off))
        }
        (Topology::Chopper(chopper), Some(Role::LowSide)) => {
            let low = bus(0);
            let ended = seen.ended(low);
            let mut says = match &ended {
                Some(ended) => format!("shorts {} through its choke {}", name(low), ended.says),
                None => format!("discharges {} through its choke", name(low)),
            };
            // Where every fuse clears, the bus stands as what is left holds it.
            let falls = low.filter(|_| ended.as_ref().is_none_or(|ended| !ended.is_over));
            let mut cut_off = ended.map_or_else(Vec::new, |ended| ended.cut_off);
            if chopper.diode_side != Some(Side::High) {
                let (partner, more) = seen.partner(bus(1));
                says.push_str(&format!("; {partner}"));
                cut_off.extend(more);
            }
            Short { says: vec![says], falls, lifts: false, cut_off }
        }
        (Topology::Chopper(chopper), Some(Role::HighSide)) if chopper.kind == ChopperKind::Buck => {
            let above = seen.above(bus(1), bus(0)).unwrap_or_default();
            let (low, high) = (name(bus(0)), name(bus(1)));
            let mut says = format!("lifts {low} to the voltage of {high}{above}, with all that hangs on it");
            let mut cut_off = Vec::new();
            if chopper.diode_side != Some(Side::Low) {
                let (partner, more) = seen.partner(bus(1));
                says.push_str(&format!("; {partner}"));
                cut_off = more;
            }
            Short { says: vec![says], falls: bus(0), lifts: true, cut_off }
        }
        (Topology::Chopper(_), _) => {
            let (low, high) = (name(bus(0)), name(bus(1)));
            let (partner, mut cut_off) = seen.partner(bus(1));
            let into_low = |fuse: &Fuse| seen.at_low_side(fuse, bus(0));
            let through = match (seen.ended_by(bus(1), &into_low), seen.above(bus(1), bus(0))) {
                (Some(ended), Some(above)) => {
                    cut_off.extend(ended.cut_off);
                    let ended = ended.says;
                    format!("drives {low} towards the voltage of {high} through its choke{above}, {ended}")
                }
                _ => format!("discharges {high} into {low} through its choke"),
            };
            Short::says((format!("{through}; {partner}"), cut_off))
        }
        (Topology::Isolated(_), Some(Role::Rectifier | Role::Forward | Role::Freewheel)) => {
            seen.rectifier(bus(1))
        }
        (Topology::Isolated(_), Some(Role::Main)) => {
            let name = seen.name(bus(0));
            let ended = seen.ended(bus(0));
            let says = ended.as_ref().map_or_else(String::new, |ended| format!(", {}", ended.says));
            let says = format!(
                "leaves the primary across {name} until its transformer saturates and shorts {name}{says}"
            );
            Short::says((says, ended.map_or_else(Vec::new, |ended| ended.cut_off)))
        }
        (Topology::Isolated(_), Some(Role::Clamp)) => {
            let says = "its main switch turning on discharges the clamp capacitor through both".to_owned();
            Short::says((says, Vec::new()))
        }
        (Topology::Isolated(_), _) => Short::says(seen.partner(bus(0))),
    }
}

/// What an open device leaves without a way: the current of a choke that the other side turns over to it.
pub(super) fn opened(solved: &Solved<'_>, stage: &Stage, role: Option<Role>) -> Option<String> {
    let Topology::Chopper(chopper) = &stage.topology else { return None };
    let other = match (chopper.kind, role) {
        (ChopperKind::Boost, Some(Role::HighSide)) => Role::LowSide,
        (ChopperKind::Buck, Some(Role::LowSide)) => Role::HighSide,
        _ => return None,
    };
    let position = stage.positions.iter().find(|position| position.role == other)?;
    let (stage_name, seat) = (solved.variant.path(stage.part), &stage.seats[position.seat]);
    Some(format!(
        "the current of its choke finds no way when {stage_name}.{} turns off, and drives it above what it blocks",
        seat.key
    ))
}

/// What the choke of a boost or a buck leaves that is shorted: its switch turning on shorts what the choke kept apart.
pub(super) fn choke(solved: &Solved<'_>, stage: &Stage) -> Option<Short> {
    let Topology::Chopper(chopper) = &stage.topology else { return None };
    // No device of its own is at fault.
    let seen = Seen { solved, stage: Some(stage), seat: stage.seats.len() };
    let [low, high] = [0, 1].map(|port| stage.ports.get(port).and_then(|port| port.bus));
    let is_boost = chopper.kind == ChopperKind::Boost;
    let (role, from) = if is_boost { (Role::LowSide, low) } else { (Role::HighSide, high) };
    let position = stage.positions.iter().find(|position| position.role == role)?;
    let switch = format!("{}.{}", solved.variant.path(stage.part), stage.seats[position.seat].key);
    let does = if is_boost {
        format!("shorts {}", seen.name(low))
    } else {
        let above = seen.above(high, low).map_or_else(String::new, |above| format!("{above},"));
        format!("drives {} towards the voltage of {}{above}", seen.name(low), seen.name(high))
    };
    let (ends, cut_off) = seen.noticed(from);
    let says = format!("nothing holds its current back: {switch} turning on {does}{ends}");
    Some(Short::says((says, cut_off)))
}

/// What a transformer does of which a winding is shorted, turns of it or the whole: its leakage alone is left in the way of whatever
/// drives its primary.
pub(super) fn winding(solved: &Solved<'_>, stage: &Stage) -> Option<Short> {
    let Topology::Isolated(_) = &stage.topology else { return None };
    let seen = Seen { solved, stage: Some(stage), seat: stage.seats.len() };
    let [from, to] = [0, 1].map(|port| stage.ports.get(port).and_then(|port| port.bus));
    let drives =
        |role: Role| !matches!(role, Role::Rectifier | Role::Forward | Role::Freewheel | Role::Clamp);
    let mut switches: Vec<&str> = Vec::new();
    for position in stage.positions.iter().filter(|position| drives(position.role)) {
        let key = stage.seats[position.seat].key;
        if !switches.contains(&key) {
            switches.push(key);
        }
    }
    let (ends, cut_off) = seen.noticed(from);
    let says = format!(
        "its leakage alone holds the current of its primary back: {} turning on shorts {} through it{ends}; {} gets nothing through it",
        switches.join(" with "),
        seen.name(from),
        seen.name(to)
    );
    Some(Short::says((says, cut_off)))
}

/// What two phases of a machine do that are shorted.
pub(super) fn phases(solved: &Solved<'_>, stage: &Stage) -> Option<Short> {
    let bridge = stage.bridge()?;
    let machine = solved.variant.path(bridge.machine?);
    let seen = Seen { solved, stage: Some(stage), seat: stage.seats.len() };
    let bus = stage.ports.first().and_then(|port| port.bus);
    let (ends, cut_off) = seen.noticed(bus);
    let lasts = if bridge.is_excited {
        format!("what flows in {machine} fades with its flux")
    } else {
        format!("{machine} drives a current through it while it turns, gates off or not")
    };
    let says =
        format!("two legs turning on against one another short {} through it{ends}; {lasts}", seen.name(bus));
    Some(Short::says((says, cut_off)))
}

/// What a short across a bus itself does, in words, with the sources whose fuses clear.
pub(super) fn across(solved: &Solved<'_>, bus: usize) -> (String, Vec<usize>) {
    let seen = Seen { solved, stage: None, seat: 0 };
    let name = seen.name(Some(bus));
    match seen.ended(Some(bus)) {
        Some(ended) => (format!("shorts {name} {}", ended.says), ended.cut_off),
        None => {
            (format!("shorts {name}, which no source drives; what stages bring ends with them"), Vec::new())
        }
    }
}

/// A stage with a fault; none where a bus itself has it.
struct Seen<'a, 'u> {
    solved: &'a Solved<'u>,
    stage: Option<&'a Stage>,
    seat: usize,
}

impl<'a> Seen<'a, '_> {
    fn name(&self, bus: Option<usize>) -> &'a str {
        let variant = self.solved.variant;
        bus.map_or("its bus", |bus| variant.path(variant.plan.buses[bus].part))
    }

    /// What a shorted rectifier does: it shorts a winding, and what holds the output drives through choke and winding for good.
    fn rectifier(&self, output: Option<usize>) -> Short {
        let (name, ended) = (self.name(output), self.ended(output));
        let through = match &ended {
            Some(ended) => format!("shorts {name} through its choke {}", ended.says),
            None => format!("discharges {name} through its choke"),
        };
        let says =
            format!("shorts the secondary of its transformer in every other half period, and {through}");
        // Where every fuse clears, the bus stands as what is left holds it.
        let falls = output.filter(|_| ended.as_ref().is_none_or(|ended| !ended.is_over));
        let cut_off = ended.map_or_else(Vec::new, |ended| ended.cut_off);
        Short { says: vec![says], falls, lifts: false, cut_off }
    }

    fn is_own(&self, stage: &Stage) -> bool {
        self.stage.is_some_and(|own| own.part == stage.part)
    }

    /// Whether a driver of the other devices says how it notices a short circuit.
    fn is_noticed(&self) -> bool {
        let plan = &self.solved.variant.plan;
        plan.gate_drives.iter().any(|drive| {
            let is_partner =
                self.is_own(&plan.stages[drive.stage]) && drive.seat != self.seat && drive.may_short;
            is_partner && self.solved.input(drive.channel.blanking, LaneId::new(0)).is_some()
        })
    }

    /// What the other side of a leg does once it turns on, with the sources whose fuses clear.
    fn partner(&self, bus: Option<usize>) -> (String, Vec<usize>) {
        let name = self.name(bus);
        match self.ended(bus) {
            Some(ended) if self.is_noticed() => {
                let says = format!(
                    "its partner turning on shorts {name} through both until its driver turns it off; should that fail, {}",
                    ended.says
                );
                (says, Vec::new())
            }
            Some(ended) => {
                (format!("its partner turning on shorts {name} through both {}", ended.says), ended.cut_off)
            }
            None => (format!("its partner turning on discharges {name} through both"), Vec::new()),
        }
    }

    /// What ends a short that any of its devices makes by turning on, in words, with the sources whose fuses clear.
    fn noticed(&self, bus: Option<usize>) -> (String, Vec<usize>) {
        match self.ended(bus) {
            Some(ended) if self.is_noticed() => {
                (format!(" until its driver turns it off; should that fail, {}", ended.says), Vec::new())
            }
            Some(ended) => (format!(" {}", ended.says), ended.cut_off),
            None => (format!(", as far as the charge of {} goes", self.name(bus)), Vec::new()),
        }
    }

    /// What ends a short across a bus; nothing where no source feeds it, directly or through the diodes of another boost.
    fn ended(&self, bus: Option<usize>) -> Option<Ended> {
        self.ended_by(bus, &|fuse| self.solved.figure(fuse.figures.lowest_fault, LaneId::new(0)))
    }

    /// Least current that the sources of a fuse drive through a shorted device into a bus that its own sources hold up: what
    /// their lowest voltage leaves above that, behind all resistance on the way.
    fn at_low_side(&self, fuse: &Fuse, low: Option<usize>) -> Option<f64> {
        let input = |input: InputId| self.solved.input(input, LaneId::new(0));
        let held = self.highest(low?)?;
        let chokes = self
            .stage
            .into_iter()
            .flat_map(|stage| &stage.magnetics)
            .map(|&one| &self.solved.variant.plan.magnetics[one]);
        let own = chokes.flat_map(|choke| &choke.windings).map(|winding| winding.resistance);
        let way: Vec<InputId> = own.chain(fuse.own_line.iter().copied()).collect();
        let drives = fuse.drives.iter().map(|drive| match drive.short_circuit {
            Some((_, lowest)) => input(lowest),
            None => {
                let ohms = way
                    .iter()
                    .chain(drive.line.iter())
                    .chain(drive.back.iter())
                    .chain([&drive.resistance.1])
                    .map(|&ohms| input(ohms));
                Some((input(drive.voltage.1)? - held).max(0.0) / ohms.sum::<Option<f64>>()?)
            }
        });
        drives.sum()
    }

    /// Why a fuse is not sure to clear on the least current that it gets, in words.
    fn unbroken(&self, fuse: &Fuse, least: Option<f64>) -> Option<String> {
        let part = self.solved.variant.path(self.solved.variant.plan.conductors[fuse.conductor].part);
        let breaks = self.solved.figure(fuse.figures.least_breaking, LaneId::new(0));
        let amps = |amps: f64| value(amps, Dimension::Current);
        match (least, breaks) {
            (Some(least), Some(breaks)) if least < breaks => Some(format!(
                "{part} may get no more than {}, and breaks from {} up",
                amps(least),
                amps(breaks)
            )),
            _ => None,
        }
    }

    /// What ends it by what the fuses get at least.
    fn ended_by(&self, bus: Option<usize>, least: &dyn Fn(&Fuse) -> Option<f64>) -> Option<Ended> {
        let (variant, plan) = (self.solved.variant, &self.solved.variant.plan);
        let bus = bus?;
        let mut sources = plan.buses[bus].sources.clone();
        for other in plan.stages.iter().filter(|other| !self.is_own(other)) {
            if let (Topology::Chopper(chopper), [low, high]) = (&other.topology, other.ports.as_slice())
                && chopper.kind == ChopperKind::Boost
                && high.bus == Some(bus)
            {
                sources.extend(low.bus.into_iter().flat_map(|low| plan.buses[low].sources.iter().copied()));
            }
        }
        if sources.is_empty() {
            return None;
        }
        let part = |fuse: &Fuse| variant.path(plan.conductors[fuse.conductor].part);
        let line = self
            .stage
            .into_iter()
            .flat_map(|stage| &stage.ports)
            .filter(|port| port.bus == Some(bus))
            .flat_map(|port| &port.line);
        let own = line.into_iter().find_map(|&ohms| {
            plan.fuses.iter().find(|fuse| plan.conductors[fuse.conductor].resistance == ohms)
        });
        if let Some(says) = own.and_then(|own| self.unbroken(own, least(own))) {
            let says = format!("with no fuse that is sure to end it: {says}");
            return Some(Ended { says, cut_off: Vec::new(), is_over: false });
        }
        if let Some(own) = own {
            return Some(Ended {
                says: format!("until {} clears", part(own)),
                cut_off: Vec::new(),
                is_over: true,
            });
        }
        let (mut fuses, mut bare): (Vec<&str>, Vec<&str>) = (Vec::new(), Vec::new());
        let (mut cut_off, mut unsure) = (Vec::new(), Vec::new());
        let is_known = |fuse: &Fuse| {
            least(fuse).is_some() && self.solved.figure(fuse.figures.least_breaking, LaneId::new(0)).is_some()
        };
        let mut unknown = Vec::new();
        for place in sources {
            let source = plan.sources[place].part;
            let is_its =
                |fuse: &&Fuse| fuse.of_source && fuse.drives.iter().any(|drive| drive.source == source);
            match plan.fuses.iter().find(is_its) {
                Some(fuse) => match self.unbroken(fuse, least(fuse)) {
                    Some(why) => unsure.push(why),
                    None => {
                        if !is_known(fuse) {
                            unknown.push(format!(
                                "whether {} clears on the least current that it gets is not known",
                                part(fuse)
                            ));
                        }
                        fuses.push(part(fuse));
                        cut_off.push(place);
                    }
                },
                None => bare.push(variant.path(source)),
            }
        }
        let says = match (fuses.is_empty(), bare.is_empty()) {
            (true, true) => "with no fuse that is sure to end it".to_owned(),
            (false, true) => {
                let clear = if fuses.len() == 1 { "clears" } else { "clear" };
                format!("until {} {clear}", fuses.join(", "))
            }
            (true, _) => format!("with no fuse described that ends what {} drives", bare.join(", ")),
            (false, false) => format!(
                "until {} {}; no fuse is described that ends what {} drives",
                fuses.join(", "),
                if fuses.len() == 1 { "clears" } else { "clear" },
                bare.join(", ")
            ),
        };
        let is_over = bare.is_empty() && unsure.is_empty();
        let says = core::iter::once(says).chain(unsure).chain(unknown).collect::<Vec<_>>().join("; ");
        Some(Ended { says, cut_off, is_over })
    }

    /// How far the highest voltage of one bus lies above that of another, in words; nothing where it does not.
    fn above(&self, one: Option<usize>, other: Option<usize>) -> Option<String> {
        let [high, low] = [one?, other?].map(|bus| self.highest(bus));
        let volts = |volts: f64| value(volts, Dimension::Voltage);
        let (high, low) = (high?, low?);
        (low < high).then(|| format!(", up to {} where it may have {}", volts(high), volts(low)))
    }

    fn highest(&self, bus: usize) -> Option<f64> {
        let figure = self.solved.variant.plan.buses[bus].highest_voltage;
        let lanes = self.solved.variant.lane_ids();
        lanes.filter_map(|lane| self.solved.figure(figure, lane)).reduce(f64::max)
    }
}
