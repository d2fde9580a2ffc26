//! What a shorted device does beside stopping its stage, and what an open one leaves without a way.

use loadworthy_unit::plan::{ChopperKind, Fuse, Role, Side, Stage, Topology};
use loadworthy_unit::{Dimension, Solved};

use crate::figure_text::value;

/// What a shorted device does.
pub(super) struct Short {
    /// In words.
    pub(super) says: Vec<String>,
    /// The bus that it takes with it.
    pub(super) falls: Option<usize>,
    /// Whether that bus is lifted rather than left without a feed.
    pub(super) lifts: bool,
}

impl Short {
    fn says(says: String) -> Self {
        Self { says: vec![says], falls: None, lifts: false }
    }
}

/// What a shorted device in a kind of position does.
pub(super) fn shorted(solved: &Solved<'_>, stage: &Stage, role: Option<Role>) -> Short {
    let seen = Seen { solved, stage };
    let bus = |place: usize| stage.ports.get(place).and_then(|port| port.bus);
    let name = |bus: Option<usize>| seen.name(bus);
    match (&stage.topology, role) {
        (Topology::Bridge(bridge), _) => {
            let machine = bridge.machine.map_or("its machine", |machine| solved.variant.path(machine));
            let partner = seen.partner(bus(0));
            Short::says(format!(
                "shorts {machine} through itself and the diodes beside it while it turns; {partner}"
            ))
        }
        (Topology::Chopper(chopper), Some(Role::LowSide)) => {
            let low = bus(0);
            let mut says = match seen.ended(low) {
                Some(ended) => format!("shorts {} through its choke {ended}", name(low)),
                None => format!("discharges {} through its choke", name(low)),
            };
            if chopper.diode_side != Some(Side::High) {
                says.push_str(&format!("; {}", seen.partner(bus(1))));
            }
            Short { says: vec![says], falls: low, lifts: false }
        }
        (Topology::Chopper(chopper), Some(Role::HighSide)) if chopper.kind == ChopperKind::Buck => {
            let above = seen.above(bus(1), bus(0)).unwrap_or_default();
            let (low, high) = (name(bus(0)), name(bus(1)));
            let mut says = format!("lifts {low} to the voltage of {high}{above}, with all that hangs on it");
            if chopper.diode_side != Some(Side::Low) {
                says.push_str(&format!("; {}", seen.partner(bus(1))));
            }
            Short { says: vec![says], falls: bus(0), lifts: true }
        }
        (Topology::Chopper(_), _) => {
            let (low, high) = (name(bus(0)), name(bus(1)));
            let through = match (seen.ended(bus(1)), seen.above(bus(1), bus(0))) {
                (Some(ended), Some(above)) => {
                    format!("drives {low} towards the voltage of {high} through its choke{above}, {ended}")
                }
                _ => format!("discharges {high} into {low} through its choke"),
            };
            Short::says(format!("{through}; {}", seen.partner(bus(1))))
        }
        (Topology::Isolated(_), Some(Role::Rectifier | Role::Forward | Role::Freewheel)) => {
            Short::says("shorts the secondary of its transformer in every other half period".to_owned())
        }
        (Topology::Isolated(_), Some(Role::Main)) => {
            let name = seen.name(bus(0));
            let ended = seen.ended(bus(0)).map_or_else(String::new, |ended| format!(", {ended}"));
            Short::says(format!(
                "leaves the primary across {name} until its transformer saturates and shorts {name}{ended}"
            ))
        }
        (Topology::Isolated(_), Some(Role::Clamp)) => {
            Short::says("its main switch turning on discharges the clamp capacitor through both".to_owned())
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

/// A stage with a fault.
struct Seen<'a, 'u> {
    solved: &'a Solved<'u>,
    stage: &'a Stage,
}

impl<'a> Seen<'a, '_> {
    fn name(&self, bus: Option<usize>) -> &'a str {
        let variant = self.solved.variant;
        bus.map_or("its bus", |bus| variant.path(variant.plan.buses[bus].part))
    }

    /// What the other side of a leg does once it turns on.
    fn partner(&self, bus: Option<usize>) -> String {
        let name = self.name(bus);
        match self.ended(bus) {
            Some(ended) => format!("its partner turning on shorts {name} through both {ended}"),
            None => format!("its partner turning on discharges {name} through both"),
        }
    }

    /// What ends a short across a bus; nothing where no source feeds it, directly or through the diodes of another boost.
    fn ended(&self, bus: Option<usize>) -> Option<String> {
        let (variant, plan) = (self.solved.variant, &self.solved.variant.plan);
        let bus = bus?;
        let mut sources = plan.buses[bus].sources.clone();
        for other in plan.stages.iter().filter(|other| other.part != self.stage.part) {
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
        let line = self.stage.ports.iter().filter(|port| port.bus == Some(bus)).flat_map(|port| &port.line);
        let own = line.into_iter().find_map(|&ohms| {
            plan.fuses.iter().find(|fuse| plan.conductors[fuse.conductor].resistance == ohms)
        });
        if let Some(own) = own {
            return Some(format!("until {} clears", part(own)));
        }
        let (mut fuses, mut bare): (Vec<&str>, Vec<&str>) = (Vec::new(), Vec::new());
        for source in sources.into_iter().map(|source| plan.sources[source].part) {
            let is_its =
                |fuse: &&Fuse| fuse.of_source && fuse.drives.iter().any(|drive| drive.source == source);
            match plan.fuses.iter().find(is_its) {
                Some(fuse) => fuses.push(part(fuse)),
                None => bare.push(variant.path(source)),
            }
        }
        Some(match (fuses.is_empty(), bare.is_empty()) {
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
        })
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
