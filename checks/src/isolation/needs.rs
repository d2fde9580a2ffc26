//! What each pair of domains needs between them, and where less than that lies.

use loadworthy_physics::Voltage;
use loadworthy_physics::insulation::protection::{Because, Domain, Needed, Required, required};
use loadworthy_physics::insulation::voltage_class::{VoltageClass, voltage_class};
use loadworthy_physics::insulation::weakest_path::WeakestPath;
use loadworthy_unit::plan::{Form, Isolation, Span};
use loadworthy_unit::{Cause, InputId, Lanes, PartId, Solved};

use crate::verdict::Missing;

/// The class of each domain over all duty points, or what its largest voltage waits for.
pub(crate) struct Classes(Vec<Result<VoltageClass, Missing>>);

impl Classes {
    pub(crate) fn of(solved: &Solved<'_>, isolation: &Isolation) -> Self {
        Self::within(solved, isolation, Lanes::of(solved.variant))
    }

    /// Those by what stands there in some lanes.
    pub(crate) fn within(solved: &Solved<'_>, isolation: &Isolation, lanes: Lanes) -> Self {
        Self(isolation.domains().map(|(place, _)| of(solved, isolation, lanes, place)).collect())
    }

    /// The same with all that is not known taken for harmless.
    pub(crate) fn at_their_least(&self) -> Self {
        Self(self.0.iter().map(|class| Ok(class.unwrap_or(VoltageClass::A))).collect())
    }

    /// Whether the voltage of a domain hurts; what is not known may.
    pub(crate) fn hurts(&self, place: usize) -> bool {
        !matches!(self.0.get(place), Some(Ok(VoltageClass::A)))
    }

    /// What the class of a domain waits for.
    pub(crate) fn missing(&self, place: usize) -> Option<Missing> {
        self.0.get(place).and_then(|class| class.err())
    }

    /// What a pair needs, by our table.
    pub(crate) fn needed(&self, isolation: &Isolation, (one, other): (usize, usize)) -> Required {
        let domain = |place: usize| {
            let of = isolation.domain(place);
            Domain {
                kind: isolation.kind(place, self.hurts(place)),
                class: if self.hurts(place) { VoltageClass::B } else { VoltageClass::A },
                system: Some(of.system),
                bonding: of.bonding,
            }
        };
        let needed = required(&domain(one), &domain(other));
        // A screen between two layers is no side that anyone comes to.
        if isolation.domain(one).is_inside || isolation.domain(other).is_inside {
            return Required { insulation: Needed::Functional, ..needed };
        }
        needed
    }
}

fn of(
    solved: &Solved<'_>,
    isolation: &Isolation,
    lanes: Lanes,
    place: usize,
) -> Result<VoltageClass, Missing> {
    let domain = isolation.domain(place);
    let mut most = VoltageClass::A;
    if domain.stress.is_empty() {
        // A circuit without a bus may be where one stands that does not say where.
        let is_circuit = matches!(domain.form, Form::Circuit { .. });
        let buses = &solved.variant.plan.buses;
        let is_bus = |part: PartId| buses.iter().any(|bus| bus.part == part);
        let adrift = isolation.unsaid.iter().find(|&&(part, key)| key == "domain" && is_bus(part));
        return match adrift.filter(|_| is_circuit) {
            Some(&(of, key)) => Err(Missing::Key { of, key }),
            None => Ok(most),
        };
    }
    let class = |volts: f64, of_bridges: f64, mains: Option<f64>| {
        // Six-step makes the most of a bus between two phases.
        let phases = (2.0f64 / 3.0).sqrt() * of_bridges;
        let alternating = mains.unwrap_or(0.0).max(phases);
        // Above class B the tables of classes end, and it hurts all the more.
        voltage_class(Voltage::new(volts), Voltage::new(alternating)).unwrap_or(VoltageClass::B)
    };
    for lane in lanes.ids() {
        let Some(volts) = solved.figure(domain.voltage, lane) else {
            return Err(Missing::FigureIn(domain.voltage, lane));
        };
        let mains = domain.stress.mains.and_then(|mains| solved.input(mains, lane));
        // A bridge makes alternating voltage of its own bus, whatever else stands in the domain.
        let buses = domain.stress.alternating.iter().map(|&bus| &solved.variant.plan.buses[bus]);
        let of_bridges = buses.map(|bus| solved.figure(bus.highest_voltage, lane).unwrap_or(volts));
        most = most.max(class(volts, of_bridges.fold(0.0, f64::max), mains));
    }
    if lanes.ids().next().is_none() {
        let mains = domain.stress.mains.map(|mains| stated(solved, mains).ok_or(mains)).transpose();
        let stood = largest_stated(solved, isolation, place);
        return match (stood, mains) {
            (Ok(volts), Ok(mains)) => {
                let buses = domain.stress.alternating.iter().map(|&bus| &solved.variant.plan.buses[bus]);
                let of_bridges = buses.map(|bus| stated(solved, bus.highest).unwrap_or(volts));
                Ok(class(volts.max(mains.unwrap_or(0.0)), of_bridges.fold(0.0, f64::max), mains))
            }
            (Err(missing), _) | (_, Err(missing)) => Err(Missing::Cause(Cause::Input(missing))),
        };
    }
    Ok(most)
}

/// The largest voltage that the buses of a domain state, where no duty point says more; or what is not stated.
pub(crate) fn largest_stated(
    solved: &Solved<'_>,
    isolation: &Isolation,
    place: usize,
) -> Result<f64, InputId> {
    let stress = &isolation.domain(place).stress;
    let buses = stress.buses.iter().map(|&bus| solved.variant.plan.buses[bus].highest);
    let mut most = 0.0f64;
    for input in buses.chain(stress.unread) {
        most = most.max(stated(solved, input).ok_or(input)?);
    }
    Ok(most)
}

/// What is stated for a unit without any duty point.
pub(crate) fn stated(solved: &Solved<'_>, input: InputId) -> Option<f64> {
    let values = &solved.variant.tables.input_of(input).values;
    values.first().map(|stated| stated.value).filter(|value| value.is_finite())
}

/// A pair of domains with less between them than it needs.
#[derive(Clone, Debug)]
pub(crate) struct Weak {
    /// The two domains.
    pub(crate) between: (usize, usize),
    /// What it needs.
    pub(crate) needed: Required,
    /// The weakest way.
    pub(crate) path: WeakestPath,
    /// What lies on it.
    pub(crate) spans: Vec<Span>,
}

impl Weak {
    /// What on the way is worth least, the first of equals.
    pub(crate) fn culprit(&self, isolation: &Isolation) -> Option<Span> {
        let is_thing = |span: &&Span| matches!(span, Span::Barrier(_) | Span::Capacitor(_));
        let means = |span: &&Span| isolation.worth(**span).map_or(0, |worth| worth.means());
        self.spans.iter().filter(is_thing).min_by_key(means).copied()
    }
}

/// The weakest way between every two domains that need protection from one another; first the shortest.
pub(crate) fn ways(isolation: &Isolation, classes: &Classes) -> Vec<Weak> {
    between_all(isolation, classes, Isolation::weakest)
}

/// Ways by which single layers alone make what is needed of two, whatever else stands between the same domains.
pub(crate) fn layered(isolation: &Isolation, classes: &Classes) -> Vec<Weak> {
    let mut ways = between_all(isolation, classes, Isolation::weakest_in_layers);
    let is_double = |way: &Weak| way.needed.insulation == Needed::DoubleOrReinforced;
    ways.retain(|way| is_double(way) && way.path.means >= 2);
    ways
}

/// How two domains are joined, by some rule.
type Way = fn(&Isolation, usize, usize) -> Option<(WeakestPath, Vec<Span>)>;

fn between_all(isolation: &Isolation, classes: &Classes, way: Way) -> Vec<Weak> {
    let places: Vec<usize> = isolation
        .domains()
        .filter(|(_, domain)| domain.form != Form::Gates)
        .map(|(place, _)| place)
        .collect();
    let mut ways = Vec::new();
    for (k, &one) in places.iter().enumerate() {
        for &other in &places[k + 1..] {
            let needed = classes.needed(isolation, (one, other));
            if needed.insulation.means() == 0 {
                continue;
            }
            if let Some((path, spans)) = way(isolation, one, other) {
                ways.push(Weak { between: (one, other), needed, path, spans });
            }
        }
    }
    ways.sort_by_key(|way| way.spans.len());
    ways
}

/// The first layer of a way.
pub(crate) fn first_layer(isolation: &Isolation, way: &Weak) -> Option<PartId> {
    way.spans.iter().find_map(|&span| part_of(isolation, span))
}

/// The weak ones, one for each thing that is worth too little. What holds once a weaker thing on its way is what that needs to be is
/// told with that: the shortest ways come first.
pub(crate) fn weak(isolation: &Isolation, ways: &[Weak]) -> Vec<Weak> {
    let mut found: Vec<Weak> = Vec::new();
    for way in ways.iter().filter(|way| way.path.means < way.needed.insulation.means()) {
        let culprit = way.culprit(isolation);
        let is_mended = |known: &Weak| {
            known.culprit(isolation).filter(|one| way.spans.contains(one)).is_some_and(|one: Span| {
                let worth = isolation.worth(one).map_or(0, |worth| worth.means());
                let with = way.path.sum + u32::from(known.needed.insulation.means());
                with >= u32::from(way.needed.insulation.means() + worth)
            })
        };
        if found.iter().any(is_mended) {
            continue;
        }
        if culprit.is_some() && !found.iter().any(|known| known.culprit(isolation) == culprit) {
            found.push(way.clone());
        }
    }
    found
}

/// The part that something between two domains is.
pub(crate) fn part_of(isolation: &Isolation, span: Span) -> Option<PartId> {
    match span {
        Span::Barrier(barrier) => Some(isolation.barriers[barrier].part),
        Span::Capacitor(capacitor) => Some(isolation.capacitors[capacitor].part),
        Span::Bonding | Span::OwnStage => None,
    }
}

/// Why a pair needs what it needs.
pub(crate) fn reason(isolation: &Isolation, weak: &Weak) -> String {
    let name = |place: usize| format!("`{}`", isolation.domain(place).name);
    // The open side is the one that is no power circuit.
    let (one, other) = weak.between;
    let is_power = |place: usize| isolation.domain(place).form == Form::Circuit { touchable: false };
    let open = if is_power(one) { other } else { one };
    match weak.needed.because {
        Because::BothHarmless => "neither side hurts".to_owned(),
        Because::OneSystem => "both belong to one system".to_owned(),
        Because::TwoSystems => "a fault in one system must not move the other".to_owned(),
        Because::Touchable => format!("a person may touch {}", name(open)),
        Because::Bonded => format!("a person may touch {}, whose bonding is the second means", name(open)),
    }
}
