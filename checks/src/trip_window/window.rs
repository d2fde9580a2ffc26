//! The window of a trip: from where on it may stand, and up to where.

use loadworthy_physics::{Current, Inductance, core_flux};
use loadworthy_unit::plan::{CurrentTrip, Stage, VoltageTrip};
use loadworthy_unit::{Dimension, FigureId, InputId, LaneId, PartId, PolicyItem, Solved};

use super::{SERVICE_CURRENT, SERVICE_VOLTAGE, TRIPPED_CURRENT, withstands};
use crate::collect::allowed;
use crate::figure_text::value;
use crate::slowest::slowest;

/// A trip with what is known of it in one lane.
pub(super) struct Window {
    /// Current or voltage.
    pub(super) dimension: Dimension,
    /// Its level, as stated.
    pub(super) level: InputId,
    /// What its sensor reads, as stated.
    pub(super) range: InputId,
    /// Highest value in service over all lanes.
    pub(super) normal: f64,
    /// The level, and the tolerance to either side.
    pub(super) at: (f64, f64),
    /// Lowest level at which service does not trip, by the policy.
    pub(super) from: f64,
    /// Highest level that the sensor reads.
    pub(super) sensed_to: f64,
    /// Highest level at which it still acts in time, by the policy.
    pub(super) in_time_to: f64,
    /// What the sensor reads, where known.
    pub(super) reads: Option<f64>,
    /// What comes about before the latest unit has acted, and what stands least of it, in words.
    pub(super) last: Option<String>,
}

impl Window {
    /// That of a part which a verdict is about.
    pub(super) fn of(part: PartId, solved: &Solved<'_>, lane: LaneId) -> Option<Self> {
        let plan = &solved.variant.plan;
        if let Some(trip) = plan.current_trips.iter().find(|trip| plan.stages[trip.stage].part == part) {
            return Self::of_current(trip, solved, lane);
        }
        let mut stated = plan.voltage_trips.iter().filter(|trip| trip.is_stated);
        Self::of_voltage(stated.find(|trip| plan.buses[trip.bus].part == part)?, solved, lane)
    }

    fn of_current(trip: &CurrentTrip, solved: &Solved<'_>, lane: LaneId) -> Option<Self> {
        let stage = &solved.variant.plan.stages[trip.stage];
        let (level, share) = (solved.input(trip.level, lane)?, solved.input(trip.tolerance, lane)?);
        let late = solved.figure(trip.highest, lane)?;
        let rise = solved.figure(trip.turned_off, lane).map(|amps| amps - late);
        let left = left_of(&TRIPPED_CURRENT, solved);
        let mut least = f64::INFINITY;
        for seat in &trip.seats {
            let peak = solved.input(seat.repetitive_peak, lane);
            let count = solved.input(stage.seats[seat.seat].parallel, lane);
            least = least.min(peak.unwrap_or(f64::NAN) * count.unwrap_or(f64::NAN) * left);
        }
        // Where the ripple is not known, the crest is what is known of the largest current.
        let crest = crest(stage).map_or(f64::NAN, |crest| highest(solved, lane, crest));
        let normal = highest(solved, lane, trip.normal).max(crest);
        let reads = solved.input(trip.range, lane);
        let amps = |amps| value(amps, Dimension::Current);
        let curve = trip.softening(&solved.variant.plan).map(|(_, points)| points);
        let begins = match (curve, rise) {
            (Some(points), Some(rise)) => begins(points, least, (late, late + rise)),
            (_, rise) => least - rise.unwrap_or(f64::NAN),
        };
        let last = rise.filter(|_| least.is_finite()).map(|rise| {
            let (_, delay) = slowest(trip.delay, trip.acting, solved, lane);
            let henry = solved
                .input(trip.inductance, lane)
                .map_or_else(String::new, |henry| value(henry, Dimension::Inductance));
            let against = match (curve, trip.is_fault_stated) {
                (Some(_), _) => "along the curve of its choke".to_owned(),
                (None, true) => format!("at {henry} of the fault"),
                (None, false) => format!("at {henry} of a phase or choke"),
            };
            format!(
                "{} after {} {against}; devices turn off {}",
                amps(late + rise),
                value(delay, Dimension::Time),
                amps(least)
            )
        });
        Some(Self {
            dimension: Dimension::Current,
            level: trip.level,
            range: trip.range,
            normal,
            at: (level, share),
            from: normal / (left_of(&SERVICE_CURRENT, solved) * (1.0 - share)),
            sensed_to: reads.unwrap_or(f64::NAN) / (1.0 + share),
            in_time_to: begins / (1.0 + share),
            reads,
            last,
        })
    }

    fn of_voltage(trip: &VoltageTrip, solved: &Solved<'_>, lane: LaneId) -> Option<Self> {
        let (level, share) = (solved.input(trip.level, lane)?, solved.input(trip.tolerance, lane)?);
        let mut least = (f64::INFINITY, None);
        for (part, limit, policy) in withstands(trip, solved, lane) {
            let left = policy.map_or(1.0, |item| left_of(item, solved));
            let stands = solved.input(limit, lane).unwrap_or(f64::NAN) * left;
            if stands < least.0 {
                least = (stands, Some(part));
            }
        }
        let normal = highest(solved, lane, trip.normal);
        let reads = solved.input(trip.sensor_range, lane);
        let last = least
            .1
            .map(|part| format!("{} for {}", value(least.0, Dimension::Voltage), solved.variant.path(part)));
        Some(Self {
            dimension: Dimension::Voltage,
            level: trip.level,
            range: trip.sensor_range,
            normal,
            at: (level, share),
            from: normal / (left_of(&SERVICE_VOLTAGE, solved) * (1.0 - share)),
            sensed_to: reads.unwrap_or(f64::NAN) / (1.0 + share),
            in_time_to: least.0 / (1.0 + share),
            reads,
            last,
        })
    }

    /// The whole chain in a sentence, each number beside the next.
    pub(super) fn chain(&self) -> String {
        let text = |figure: f64| value(figure, self.dimension);
        let (level, share) = self.at;
        let trip = format!("trip {} to {}", text(level * (1.0 - share)), text(level * (1.0 + share)));
        let sensor =
            self.reads.map_or("sensor not stated".to_owned(), |reads| format!("sensor {}", text(reads)));
        let service = if self.normal.is_finite() { text(self.normal) } else { "not known".to_owned() };
        let last = self.last.clone().map_or(String::new(), |last| format!(", {last}"));
        format!("service {service}, {trip}, {sensor}{last}")
    }

    /// Up to where the level may stand, as far as that is known.
    pub(super) fn up_to(&self) -> f64 {
        // What is not known sets no end; it is not judged by its own name.
        self.sensed_to.min(self.in_time_to)
    }
}

/// From where the latest unit comes to `least` along the curve of a choke, which it comes along from one known current to another.
fn begins(points: &[(Current, Inductance)], least: f64, (late, off): (f64, f64)) -> f64 {
    // Beyond the last point of its curve nothing is known of it.
    let last = points.last().map_or(f64::NAN, |(last, _)| last.si());
    let [least, late, off] = [if least > last { last } else { least }, late, off].map(Current::new);
    let linked = |amps| core_flux::softened_linkage(points, amps);
    core_flux::softened_rise(points, least, linked(late) - linked(off)).si()
}

/// The crest of the phase current of a bridge, without ripple: the least that its largest current can be.
pub(super) fn crest(stage: &Stage) -> Option<FigureId> {
    stage.bridge().map(|bridge| bridge.figures.phase_current_peak)
}

/// The largest value of a figure over all lanes that are judged together with one.
fn highest(solved: &Solved<'_>, lane: LaneId, figure: FigureId) -> f64 {
    let all = solved.variant.beside(lane).ids().filter_map(|lane| solved.figure(figure, lane));
    all.reduce(f64::max).unwrap_or(f64::NAN)
}

fn left_of(item: &'static PolicyItem, solved: &Solved<'_>) -> f64 {
    solved.variant.policy(item).map_or(f64::NAN, |value| allowed(item, 1.0, value.stated.value))
}
