//! Domains and gate circuits, what stands between them, and what joins them.

use loadworthy_physics::insulation::protection::{Barrier as Protection, Bonding, DomainKind, Insulation};
use loadworthy_physics::insulation::rated_impulse::OvervoltageCategory;
use loadworthy_physics::insulation::weakest_path::{Edge, WeakestPath, weakest_path};
use loadworthy_source::NodeId;
use petgraph::graph::UnGraph;
use petgraph::visit::{EdgeRef, IntoNodeReferences};

use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Barrier, Jumping, Rider, Through};

/// The isolation of a unit.
#[derive(Clone, Debug)]
pub struct Isolation {
    /// The section.
    pub part: PartId,
    /// What stands in it as a number: 0 where it could be read.
    pub read: InputId,
    /// What the unit is built into, where that is stated.
    pub built_into: Option<BuiltInto>,
    /// Domains first, then gate circuits that barriers name; an edge for each thing that lies between two of them.
    pub(crate) graph: UnGraph<Domain, Span>,
    /// Barriers, in the order of the description.
    pub barriers: Vec<Barrier>,
    /// Capacitors to another domain.
    pub capacitors: Vec<PoleCapacitor>,
    /// What joins two domains, and needs a barrier.
    pub crossings: Vec<Crossing>,
    /// Pairs of domains that something joins.
    pub pairs: Vec<Pair>,
    /// What would have to say where something stands: the part and its key.
    pub unsaid: Vec<(PartId, &'static str)>,
    /// Whether everything that may lie between two domains could be read; where not, what is not found may yet be there.
    pub is_whole: bool,
    /// What could not be read and may join two domains.
    pub unread: Vec<Unread>,
    /// Domains that something makes one.
    pub merged: Vec<Merged>,
    /// Stages and windings on cooled elements, each with its domain, where no metal is described that they could stand on.
    pub without_metal: Vec<(PartId, usize)>,
    /// Potentials that jump against the rails.
    pub jumping: Vec<Jumping>,
    /// What rides on such potentials and leaves its own domain nowhere.
    pub riders: Vec<Rider>,
    /// Sensors that are read in the domain in which they stand, and join no two.
    pub within: Vec<(PartId, usize, Option<NodeId>)>,
    /// Poles with suppression capacitors to another domain.
    pub poles: Vec<Pole>,
    /// Dividers from a rail to another domain.
    pub dividers: Vec<super::Divider>,
}

/// An entry that could not be read.
#[derive(Clone, Copy, Debug)]
pub struct Unread {
    /// The entry.
    pub part: PartId,
    /// That it is there, as a number that is missing.
    pub input: InputId,
    /// What it may do.
    pub may: May,
}

/// What something that could not be read may do.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum May {
    /// Join two domains, past a barrier or none.
    Cross,
    /// Bridge what isolates two domains.
    Bridge,
    /// Make two domains one.
    Merge,
}

/// What a unit is built into, as far as sentences on isolation differ by it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BuiltInto {
    /// A vehicle on roads.
    Road,
    /// A machine that works off roads.
    Machinery,
    /// Something else, with standards of its own.
    Other,
}

/// A domain, or a gate circuit that a barrier names.
#[derive(Clone, Debug)]
pub struct Domain {
    /// The domain.
    pub part: PartId,
    /// What the description calls it.
    pub name: String,
    /// Whether it is metal, a surface or a circuit; a circuit of class B that nobody touches is a power circuit.
    pub form: Form,
    /// Whether the description says if a person can touch it; what is no circuit needs not.
    pub says_who_touches: bool,
    /// Whether it is metal of which the description says that nobody can touch it, such as a screen between two layers.
    pub is_inside: bool,
    /// Where it is bonded to the chassis.
    pub bonding: Bonding,
    /// Whether it is a circuit of which a pole, or the middle between two, stands on the chassis.
    pub is_earthed: bool,
    /// Number of the system that it is joined to by conductors.
    pub system: u32,
    /// What stands on its potential.
    pub stress: Stress,
    /// Largest voltage in it.
    pub voltage: FigureId,
    /// Its resistance to the chassis; of a circuit that floats.
    pub leakage: Option<Leakage>,
    /// Resistance of its bonding, as stated and as it is carried; where that is a means of protection.
    pub bonding_resistance: Option<(InputId, FigureId)>,
}

impl Domain {
    /// Whether a person can touch it.
    #[must_use]
    pub const fn is_touchable(&self) -> bool {
        match self.form {
            Form::Circuit { touchable } => touchable,
            Form::Metal => !self.is_inside,
            Form::Surface => true,
            Form::Gates => false,
        }
    }

    /// Whether it conducts, brings no voltage of its own, and nothing holds it to the chassis.
    #[must_use]
    pub fn floats(&self) -> bool {
        let conducts = matches!(self.form, Form::Metal | Form::Circuit { .. });
        conducts && self.stress.is_empty() && self.bonding == Bonding::None
    }
}

/// What a domain is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// A circuit, and whether a person can touch it.
    Circuit {
        /// Whether a person can touch it.
        touchable: bool,
    },
    /// The circuit of gates that one potential carries.
    Gates,
    /// Metal that carries no current.
    Metal,
    /// A surface of plastic.
    Surface,
}

/// Which voltages a domain brings to a barrier.
#[derive(Clone, Debug)]
pub struct Stress {
    /// Its buses, in the plan.
    pub buses: Vec<usize>,
    /// Turn-offs that lift its poles, in the plan.
    pub turn_offs: Vec<usize>,
    /// Nodes that swing beyond the buses: those of main switches of forward converters, and those behind transformers.
    pub lifted: Vec<Lifted>,
    /// Its buses from which a bridge feeds a machine, in the plan.
    pub alternating: Vec<usize>,
    /// Voltage of its mains from line to neutral.
    pub mains: Option<InputId>,
    /// A bus that could not be read, and of which nobody knows where it stands: it may stand here.
    pub unread: Option<InputId>,
    /// Share of its voltage that may stand between it and the chassis.
    pub share: f64,
    /// Share of its direct voltage alone, and no overshoot: a circuit on a rail.
    pub is_still: bool,
    /// The impulse that it brings.
    pub impulse: Impulse,
}

impl Stress {
    /// Whether a bridge of it feeds a machine.
    #[must_use]
    pub fn alternates(&self) -> bool {
        !self.alternating.is_empty()
    }

    /// Whether it brings no voltage at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.buses.is_empty() && self.mains.is_none() && self.unread.is_none()
    }
}

/// A node that swings beyond the rails of its bus.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Lifted {
    /// What the switch between it and a rail blocks.
    pub blocked: FigureId,
    /// How far that rings beyond its plateau, where it rings.
    pub overshoot: Option<InputId>,
    /// Of a winding that swings to both sides of a rail: what the switch blocks that conducts meanwhile.
    pub against: Option<FigureId>,
}

/// The impulse that a domain brings.
#[derive(Clone, Copy, Debug)]
pub struct Impulse {
    /// As stated; missing where it is not.
    pub stated: InputId,
    /// Whether something is stated that could not be read.
    pub is_unread: bool,
    /// Category of its mains, where it is charged from some.
    pub category: Option<OvervoltageCategory>,
    /// What is missing where its mains do not say their category.
    pub lacks: Option<InputId>,
}

/// What lies between two domains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Span {
    /// A barrier.
    Barrier(usize),
    /// A capacitor.
    Capacitor(usize),
    /// Both are bonded to the chassis.
    Bonding,
    /// A gate circuit and its own stage.
    OwnStage,
}

/// A capacitor between a rail and another domain.
#[derive(Clone, Debug)]
pub struct PoleCapacitor {
    /// The capacitor.
    pub part: PartId,
    /// What the description calls it.
    pub name: String,
    /// The two domains.
    pub between: (usize, usize),
    /// What its class is worth; none where it is not stated.
    pub worth: Option<Protection>,
    /// The class as a word.
    pub class: &'static str,
}

/// What joins two domains.
#[derive(Clone, Debug)]
pub struct Crossing {
    /// What joins them.
    pub part: PartId,
    /// What it is.
    pub kind: Joins,
    /// Names that a barrier may list it by: its own, that of its transformer.
    pub names: Vec<String>,
    /// The two domains, the smaller first.
    pub between: (usize, usize),
    /// The barrier that it names, and where.
    pub names_barrier: Option<(usize, NodeId)>,
    /// Barriers between the two that list it.
    pub listed_by: Vec<usize>,
    /// Of devices on cooled metal whether their cases are isolated from the chips, where that is stated.
    pub isolated_cases: Option<bool>,
    /// Potentials that jump at one end of it, in the plan.
    pub jumping: Vec<usize>,
    /// Whether it lies beside these and rides on none of them.
    pub is_beside: bool,
    /// Steepest edge that does not disturb it; of what carries a command or a reading and states no current instead.
    pub immunity: Option<InputId>,
    /// Steepest edge across it.
    pub edge: Option<FigureId>,
    /// What that drives through it, where it states how much that may be.
    pub through: Option<Through>,
}

/// What joins two domains.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Joins {
    /// A gate driver.
    Driver,
    /// A supply of gate drivers.
    Supply,
    /// Supplies of gate drivers that are windings on one core.
    Core,
    /// A controller, by the bus that it takes its power from.
    Controller,
    /// The discharge of a bus, by the bus that its control takes its power from.
    Discharge,
    /// A contactor, by the bus that its coil takes its power from.
    Coil,
    /// A transformer of a stage.
    Transformer,
    /// A sensor.
    Sensor,
    /// A line, a plug or a screen.
    Signal,
    /// Devices of a stage on cooled metal.
    Cooled,
    /// Windings of a choke or a transformer on cooled metal.
    Wound,
}

/// A pair of domains that something joins.
#[derive(Clone, Debug)]
pub struct Pair {
    /// The pair.
    pub part: PartId,
    /// The two domains, the smaller first.
    pub between: (usize, usize),
}

/// Two domains that something makes one.
#[derive(Clone, Debug)]
pub struct Merged {
    /// The pair.
    pub part: PartId,
    /// The two domains.
    pub between: (usize, usize),
    /// What joins them, and where it says so.
    pub by: (String, NodeId),
    /// The buses that stand in them.
    pub buses: (usize, usize),
}

/// The resistance between a circuit and the chassis.
#[derive(Clone, Debug)]
pub struct Leakage {
    /// All that stand side by side: of this unit, beside it, of dividers.
    pub resistances: Vec<InputId>,
    /// All of them together.
    pub together: FigureId,
    /// The least that is asked for.
    pub least: FigureId,
    /// Whether a sensor watches it.
    pub is_watched: bool,
}

/// A pole with capacitance to another domain.
#[derive(Clone, Debug)]
pub struct Pole {
    /// The pole, such as `link.plus`.
    pub part: PartId,
    /// Its domain.
    pub domain: usize,
    /// Domains that its suppression capacitors lead to, each once.
    pub toward: Vec<usize>,
    /// Buses of which the highest counts, in the plan.
    pub buses: Vec<usize>,
    /// Share of their voltage that may stand between it and the chassis: none of a rail that is earthed.
    pub share: f64,
    /// Its capacitances.
    pub capacitances: Vec<InputId>,
    /// All energy in them.
    pub energy: FigureId,
    /// What of it is above 60 V.
    pub above: FigureId,
}

impl Isolation {
    /// Domains by their number.
    pub fn domains(&self) -> impl Iterator<Item = (usize, &Domain)> {
        self.graph.node_references().map(|(node, domain)| (node.index(), domain))
    }

    /// One domain.
    #[must_use]
    pub fn domain(&self, place: usize) -> &Domain {
        &self.graph[petgraph::graph::NodeIndex::new(place)]
    }

    /// What lies between domains: the two of them and what it is.
    pub fn spans(&self) -> impl Iterator<Item = ((usize, usize), Span)> {
        self.graph
            .edge_references()
            .map(|edge| ((edge.source().index(), edge.target().index()), *edge.weight()))
    }

    /// What something between two domains is worth; none where it is not stated.
    #[must_use]
    pub fn worth(&self, span: Span) -> Option<Protection> {
        match span {
            Span::Barrier(barrier) => self.barriers[barrier].kind.map(Protection::Insulation),
            Span::Capacitor(capacitor) => self.capacitors[capacitor].worth,
            Span::Bonding => Some(Protection::Conductor),
            Span::OwnStage => Some(Protection::Insulation(Insulation::Functional)),
        }
    }

    /// The weakest way between two domains, with what lies on it; what is not stated counts as nothing that joins.
    #[must_use]
    pub fn weakest(&self, from: usize, to: usize) -> Option<(WeakestPath, Vec<Span>)> {
        let bonded: Vec<bool> = self.domains().map(|(place, _)| self.is_bonded_metal(place)).collect();
        self.way((from, to), &bonded, |_, _| true)
    }

    /// The weakest way between two domains through single layers alone, none of them to metal that is bonded.
    #[must_use]
    pub fn weakest_in_layers(&self, from: usize, to: usize) -> Option<(WeakestPath, Vec<Span>)> {
        self.way((from, to), &[], |(one, other), worth| {
            worth.means() < 2 && !self.is_bonded_metal(one) && !self.is_bonded_metal(other)
        })
    }

    fn way(
        &self,
        (from, to): (usize, usize),
        bonded: &[bool],
        counts: impl Fn((usize, usize), Protection) -> bool,
    ) -> Option<(WeakestPath, Vec<Span>)> {
        let known: Vec<(Edge, Span)> = self
            .spans()
            .filter_map(|(ends, span)| Some((Edge { ends, barrier: self.worth(span)? }, span)))
            .filter(|(edge, _)| counts(edge.ends, edge.barrier))
            .collect();
        let edges: Vec<Edge> = known.iter().map(|(edge, _)| *edge).collect();
        let path = weakest_path(&edges, bonded, from, to)?;
        let spans = path.edges.iter().map(|&edge| known[edge].1).collect();
        Some((path, spans))
    }

    fn is_bonded_metal(&self, place: usize) -> bool {
        let domain = self.domain(place);
        domain.form == Form::Metal && domain.bonding >= Bonding::Stated
    }

    /// The same with one more domain bonded to the chassis.
    #[must_use]
    pub fn with_bonded(&self, place: usize) -> Self {
        let mut changed = self.clone();
        let is_metal = |place: usize| self.domain(place).form == Form::Metal;
        let bonded = self.domains().filter(|(other, domain)| {
            *other != place && domain.bonding >= Bonding::Stated && (is_metal(place) || is_metal(*other))
        });
        let node = petgraph::graph::NodeIndex::new;
        for (other, _) in bonded {
            changed.graph.add_edge(node(place), node(other), Span::Bonding);
        }
        changed.graph[node(place)].bonding = Bonding::Stated;
        changed
    }

    /// The same with one of its barriers bridged: what is left works and protects nobody.
    #[must_use]
    pub fn with_bridged(&self, barrier: usize) -> Self {
        let mut changed = self.clone();
        changed.barriers[barrier].kind = Some(Insulation::Functional);
        changed
    }

    /// Whether mains bring the impulse of a barrier.
    #[must_use]
    pub fn is_fed_by_mains(&self, barrier: &Barrier) -> bool {
        barrier.carried_by().any(|end| self.domain(end).stress.impulse.category.is_some())
    }

    /// Whether conductors make one system of two domains.
    #[must_use]
    pub fn are_one_system(&self, (one, other): (usize, usize)) -> bool {
        self.domain(one).system == self.domain(other).system
    }

    /// The pairs whose voltages a barrier may have to stand. A screen or a circuit without a feed that nothing bonds takes what a
    /// single layer beyond it lets through once that has failed: of two layers each is made for the whole voltage.
    pub(crate) fn carries(&self, barrier: usize, (one, other): (usize, usize)) -> Vec<(usize, usize)> {
        let [near, far] = [one, other].map(|end| self.brought_to(end, barrier));
        let all = near.iter().flat_map(|&one| far.iter().map(move |&other| (one, other)));
        let pairs: Vec<(usize, usize)> = all.filter(|(one, other)| one != other).collect();
        if pairs.is_empty() { vec![(one, other)] } else { pairs }
    }

    /// What may stand on one end of a barrier: itself, or what lies beyond where it floats.
    fn brought_to(&self, end: usize, barrier: usize) -> Vec<usize> {
        let (mut known, mut brings) = (vec![end], Vec::new());
        let mut next = 0;
        while let Some(&place) = known.get(next) {
            next += 1;
            if !self.domain(place).floats() {
                brings.push(place);
                continue;
            }
            for ((one, other), span) in self.spans() {
                let holds = self.worth(span).is_some_and(|worth| worth.means() >= 2);
                if span == Span::Barrier(barrier) || holds || (one != place && other != place) {
                    continue;
                }
                let beyond = if one == place { other } else { one };
                if !known.contains(&beyond) {
                    known.push(beyond);
                }
            }
        }
        if brings.is_empty() { vec![end] } else { brings }
    }

    /// How a domain is called where the need of a pair is looked up; `is_live` says whether its voltage hurts.
    #[must_use]
    pub fn kind(&self, place: usize, is_live: bool) -> DomainKind {
        match self.domain(place).form {
            Form::Metal => DomainKind::Chassis,
            Form::Surface => DomainKind::Surface,
            Form::Gates => DomainKind::FloatingPower,
            Form::Circuit { touchable: false } if is_live => DomainKind::Power,
            Form::Circuit { .. } => DomainKind::LowVoltage,
        }
    }
}
