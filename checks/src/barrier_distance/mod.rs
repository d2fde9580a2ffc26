//! Are clearance and creepage of every barrier wide enough, and does it stand the voltages across it?
//!
//! Distances are asked of what a barrier declares, or said where it declares none. Working voltage, recurring peak and
//! impulse follow from the solved unit: the highest voltage of each bus, what turning off adds, what the domains bring.

mod alike;
mod recurring;
mod spikes;
mod tell;

use loadworthy_physics::insulation::Certainty;
use loadworthy_physics::insulation::clearance::{CLEARANCE as CLEARANCE_LAW, Clearance, clearance};
use loadworthy_physics::insulation::creepage::{Creepage, creepage};
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Barrier, Bus, Form, Isolation};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, FigureId, InputId, LaneId, Lanes, PartId, Reach, Solved};

use crate::barrier_crossing::{meant_for, unbonded};
use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, structural};
use crate::isolation::{Classes, is_read};
use crate::remarks::Remark;
use crate::verdict::{Grade, Missing, Outcome, Verdict};

const CLEARANCE: &str = "clearance";
const CREEPAGE: &str = "creepage";
const BELOW: &str = "creepage-below-clearance";
const UNDECLARED: &str = "undeclared";
const WORKING: &str = "working-voltage";
const PEAK: &str = "recurring-peak";
const IMPULSE: &str = "impulse";
const DISCHARGE: &str = "partial-discharge";
const DEGREE_ONE: &str = "degree-by-word";
const FREQUENCY: &str = "frequency";

/// Recurring peak above which a partial-discharge test is asked for (IEC 60664-1; IEC 61800-5-1 has 750 V).
const TESTED_ABOVE: f64 = 700.0;

/// What a barrier states of the recurring peak that it is made for.
const RATED_PEAK: &str = "recurring_peak";

/// Frequency in Hz above which recurring voltages may ask for more (IEC 60664-4).
const FAST: f64 = 30e3;

/// Highest rated impulse voltage in V of circuits up to 1000 V (IEC 60664-1, Table F.1).
const HIGHEST_RATED: f64 = 12e3;

/// Which text the distances follow.
const EDITION: &str = "figures of IEC 60664-1 in its second edition, tables numbered as in the third: the edition in force and the standard of the machine go before them";

static ABOUT: About = About {
    name: "barrier-distance",
    former_names: &[],
    question: "Are clearance and creepage of every barrier wide enough, and does it stand the voltages across it?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (CLEARANCE, "the clearance of a barrier is shorter than its impulse and altitude ask for"),
        (CREEPAGE, "the creepage distance of a barrier is shorter than its working voltage asks for"),
        (BELOW, "the creepage distance is stated shorter than the clearance, which no surface is"),
        (UNDECLARED, "a barrier that declares no distance: what to provide"),
        (WORKING, "the working voltage is higher than the barrier is made for"),
        (PEAK, "the recurring peak is higher than the barrier is made for"),
        (IMPULSE, "the impulse to stand is higher than the barrier is made for"),
        (DISCHARGE, "the recurring peak asks for a partial-discharge test of what is solid"),
        (DEGREE_ONE, "pollution degree 1 is claimed by a word; a test is to show it"),
        (FREQUENCY, "voltages recur faster across a barrier than it is proven for"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct BarrierDistance;

impl Check for BarrierDistance {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        match defect {
            CLEARANCE | CREEPAGE | WORKING | PEAK | IMPULSE | DISCHARGE => &["stages"],
            _ => &[],
        }
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        matches!(defect, CLEARANCE | CREEPAGE)
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(isolation) = &solved.variant.plan.isolation else { return };
        if !is_read(isolation, solved) {
            let waits = vec![Missing::Cause(Cause::Input(isolation.read))];
            let subject = Subject { part: isolation.part, defect: CLEARANCE, lane: None, kin: None };
            out.put(solved, subject, Outcome::NotJudged(waits), Vec::new());
            return;
        }
        for lanes in solved.variant.together() {
            judge_in(isolation, lanes, solved, out);
        }
    }

    fn is_of_the_entry(&self, defect: &str) -> bool {
        matches!(defect, CLEARANCE | CREEPAGE)
    }

    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        let Some(seen) = Seen::of(solved, failing.part) else { return Vec::new() };
        let mut with = spikes::told_with(failing, &seen);
        // One impulse asks for a wider way and for what stands it.
        if let Some(lane) = failing.lane().filter(|_| failing.defect == IMPULSE)
            && alike::suits_its_impulse(&seen, lane)
        {
            with.push(With::of(ABOUT.name, CLEARANCE, failing.part));
        }
        with
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure, solved)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        if failure.worst.defect == DISCHARGE {
            // What it is tested with is what is then held against the peak.
            let lacks = |of| Missing::Key { of, key: RATED_PEAK };
            let all = failure.all.iter().map(|one| missing_text(solved.variant, None, lacks(one.part)));
            return all.map(|text| text.subject).collect();
        }
        if failure.worst.defect != UNDECLARED {
            return Vec::new();
        }
        let path = |input| solved.variant.tables.input_of(input).path.clone();
        let all = failure.all.iter().filter_map(|one| Seen::of(solved, one.part));
        all.flat_map(|seen| [seen.barrier.clearance, seen.barrier.creepage].map(path)).collect()
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::propose(failure, solved)
    }
}

fn judge_in(isolation: &Isolation, lanes: Lanes, solved: &Solved<'_>, out: &mut Verdicts) {
    let classes = Classes::within(solved, isolation, lanes);
    let homeless = homeless(isolation, solved, lanes);
    for (place, barrier) in isolation.barriers.iter().enumerate() {
        // One whose `between` is told to be meant for others is asked once it stands there.
        if barrier.between.is_none() || meant_for(isolation, &classes, place).is_some() {
            continue;
        }
        if let Some(missing) = homeless {
            let subject = Subject { part: barrier.part, defect: CLEARANCE, lane: None, kin: None };
            out.put(solved, subject, Outcome::NotJudged(vec![missing]), Vec::new());
            continue;
        }
        let hurts = !barrier.is_one_potential && barrier.carried_by().any(|end| classes.hurts(end));
        let seen = Seen { solved, lanes, isolation, barrier };
        // Between what does not hurt, distances are asked for where they are declared.
        if !(hurts || seen.declares(barrier.clearance) || seen.declares(barrier.creepage)) {
            continue;
        }
        seen.judge(out);
        if hurts {
            seen.frequency(out);
        }
    }
}

/// A bus that may hurt and does not say in which domain it stands: it may raise the voltage across any barrier.
fn homeless(isolation: &Isolation, solved: &Solved<'_>, lanes: Lanes) -> Option<Missing> {
    let buses = &solved.variant.plan.buses;
    let hurts = |part: PartId| {
        let bus = buses.iter().find(|bus| bus.part == part);
        let most = |bus: &Bus, lane| solved.figure(bus.highest_voltage, lane).unwrap_or(f64::INFINITY);
        bus.is_some_and(|bus| lanes.ids().any(|lane| most(bus, lane) > HARMLESS.si()))
    };
    let mut unsaid = isolation.unsaid.iter().filter(|&&(part, key)| key == "domain" && hurts(part));
    unsaid.next().map(|&(of, key)| Missing::Key { of, key })
}

/// A barrier in a solved unit.
#[derive(Clone, Copy)]
struct Seen<'a, 'u> {
    solved: &'a Solved<'u>,
    /// Lanes that are judged together.
    lanes: Lanes,
    isolation: &'a Isolation,
    barrier: &'a Barrier,
}

impl<'a, 'u> Seen<'a, 'u> {
    fn of(solved: &'a Solved<'u>, part: loadworthy_unit::PartId) -> Option<Self> {
        let isolation = solved.variant.plan.isolation.as_ref()?;
        let barrier = isolation.barriers.iter().find(|barrier| barrier.part == part)?;
        Some(Self { solved, lanes: Lanes::of(solved.variant), isolation, barrier })
    }

    /// Whether something is stated, whatever a duty point asks.
    fn declares(&self, input: InputId) -> bool {
        self.solved.variant.tables.input_of(input).values.iter().any(|stated| stated.value.is_finite())
    }

    /// Whether it has any distance to be asked for: two circuits, or a circuit and what it stands against; also where a layer lies between.
    fn is_between_parts(&self) -> bool {
        let carries =
            |place: usize| matches!(self.isolation.domain(place).form, Form::Circuit { .. } | Form::Gates);
        self.barrier.carried_by().any(carries)
    }

    fn judge(&self, out: &mut Verdicts) {
        let barrier = self.barrier;
        let figures = &barrier.figures;
        if !self.is_between_parts() {
            return;
        }
        let (air, surface) = (self.declares(barrier.clearance), self.declares(barrier.creepage));
        for lane in self.lanes.ids() {
            if air {
                self.length(CLEARANCE, figures.clearance, barrier.clearance, lane, out);
            }
            // What its clearance rules is told with that, where it is too short as well.
            if surface && !(air && self.is_told_of_air(lane)) {
                self.length(CREEPAGE, figures.creepage, barrier.creepage, lane, out);
            }
            let rated = [
                (WORKING, figures.rms, barrier.rated),
                (PEAK, figures.peak, barrier.rated_peak),
                (IMPULSE, figures.withstand, barrier.rated_impulse),
            ];
            for (defect, figure, limit) in rated {
                let Some(limit) = limit else { continue };
                let volts = (figure, Dimension::Voltage);
                let compared = compare(self.solved, lane, volts, Limit::Input(limit), None);
                // The least is enough to fail, and without what turning off adds it is no more than the least.
                let compared = match compared {
                    Ok(known) if defect == PEAK && known.holds() => {
                        spikes::unstated(self, lane).map_or(Ok(known), |missing| Err(vec![missing]))
                    }
                    compared => compared,
                };
                self.put(defect, outcome(compared, Grade::Major), Some(lane), out);
            }
            let peak = self.solved.figure(figures.peak, lane).or(self.solved.figure(figures.rms, lane));
            // A spike that is not known leaves the peak above the working voltage all the same.
            if peak.is_some_and(|peak| peak > TESTED_ABOVE) && !barrier.is_within {
                let figure =
                    if self.solved.figure(figures.peak, lane).is_some() { figures.peak } else { figures.rms };
                let volts = (figure, Dimension::Voltage);
                let compared = compare(self.solved, lane, volts, Limit::Law(TESTED_ABOVE), None);
                if barrier.rated_peak.is_none() {
                    self.put(DISCHARGE, outcome(compared, Grade::Note), Some(lane), out);
                    let lacks = vec![Missing::Key { of: barrier.part, key: RATED_PEAK }];
                    self.put(PEAK, Outcome::NotJudged(lacks), Some(lane), out);
                }
            }
        }
        // What is asked for is said, and whether it is kept cannot be judged.
        for (is_declared, defect, distance) in
            [(air, CLEARANCE, barrier.clearance), (surface, CREEPAGE, barrier.creepage)]
        {
            if !is_declared {
                let missing = vec![Missing::Cause(Cause::Input(distance))];
                self.put(defect, Outcome::NotJudged(missing), None, out);
            }
        }
        if !(air && surface) {
            let first = self.lanes.ids().next();
            let known = first.is_some_and(|lane| {
                self.solved.figure(figures.clearance, lane).is_some()
                    && self.solved.figure(figures.creepage, lane).is_some()
            });
            let outcome = match (known, first) {
                (true, _) => structural(Ok(false), Grade::Note),
                (false, Some(lane)) => {
                    let both = [figures.clearance, figures.creepage].into_iter();
                    let open = both.filter(|&figure| self.solved.figure(figure, lane).is_none());
                    Outcome::NotJudged(open.map(|figure| Missing::FigureIn(figure, lane)).collect())
                }
                (false, None) => return,
            };
            self.put(UNDECLARED, outcome, None, out);
        }
        if let Some(is_told) = self.is_below_clearance() {
            // Where it is too short as well, that finding says what to provide.
            self.put(BELOW, structural(Ok(is_told), Grade::Minor), None, out);
        }
        let degree = self.solved.variant.tables.input_of(barrier.degree).values[0].value;
        if barrier.has_own_degree && (degree - 1.0).abs() < 0.5 {
            self.put(DEGREE_ONE, structural(Ok(false), Grade::Note), None, out);
        }
    }

    /// Recurring voltages faster than the tables hold for: what these ask for is not reckoned, so that only what the barrier
    /// is proven for can be held against them.
    fn frequency(&self, out: &mut Verdicts) {
        if !self.is_between_parts() {
            return;
        }
        let Some((lane, (carrier, hertz))) =
            self.lanes.ids().next().and_then(|lane| Some((lane, self.fast(Some(lane))?)))
        else {
            return;
        };
        let proven = self.barrier.proven.map(|proven| self.solved.input(proven, lane).ok_or(proven));
        let in_order = match proven {
            Some(Ok(proven)) => Ok(hertz <= proven),
            Some(Err(broken)) => Err(Missing::Cause(Cause::Input(broken))),
            None => {
                let (of, dimension) = (Operand::Input(carrier), Dimension::Frequency);
                let reach = Reach { what: FREQUENCY, of, value: hertz, low: 0.0, high: FAST, dimension };
                let figure = self.barrier.figures.clearance;
                Err(Missing::Cause(Cause::Beyond { figure, law: &CLEARANCE_LAW, reach: Some(reach) }))
            }
        };
        let outcome = structural(in_order.map_err(|missing| vec![missing]), Grade::Major);
        self.put(FREQUENCY, outcome, None, out);
    }

    /// Whether a creepage distance below the clearance is told as too short; nothing where it is not below.
    fn is_below_clearance(&self) -> Option<bool> {
        let lanes = || self.lanes.ids();
        let of = |input| self.solved.input(input, lanes().next()?);
        let (air, surface) = (of(self.barrier.clearance)?, of(self.barrier.creepage)?);
        let asks = |lane| self.solved.figure(self.barrier.figures.creepage, lane);
        (surface < air).then(|| lanes().filter_map(asks).any(|needed| surface < needed))
    }

    /// Whether the clearance is too short, and rules the creepage distance.
    fn is_told_of_air(&self, lane: LaneId) -> bool {
        let needed = self.solved.figure(self.barrier.figures.clearance, lane);
        let is_short =
            needed.zip(self.solved.input(self.barrier.clearance, lane)).is_some_and(|(n, has)| n > has);
        is_short && self.along(lane).is_some_and(|along| along.by_clearance)
    }

    fn length(&self, defect: &'static str, needed: FigureId, has: InputId, lane: LaneId, out: &mut Verdicts) {
        let metres = (needed, Dimension::Length);
        let compared = compare(self.solved, lane, metres, Limit::Input(has), None);
        self.put(defect, outcome(compared, Grade::Major), Some(lane), out);
    }

    /// Whether it is asked for more because metal beside it floats, and that metal lacks a bonding: what is told of that is told
    /// of all that it asks for.
    fn waits_for_bonding(&self) -> bool {
        let beyond = self.barrier.carries.iter().any(|pair| Some(*pair) != self.barrier.between);
        beyond && {
            let classes = Classes::within(self.solved, self.isolation, self.lanes);
            unbonded(self.barrier.part, self.isolation, &classes).is_some()
        }
    }

    fn put(&self, defect: &'static str, outcome: Outcome, lane: Option<LaneId>, out: &mut Verdicts) {
        let mut remarks = Vec::new();
        let fails = matches!(outcome, Outcome::Fails { .. });
        if fails && self.waits_for_bonding() {
            return;
        }
        if !matches!(outcome, Outcome::NotJudged(_)) && matches!(defect, CLEARANCE | CREEPAGE | UNDECLARED) {
            // What holds rests on a cell as well; that of a finding is among its steps, where it is no guess.
            let least = if fails { Certainty::FromMemory } else { Certainty::OnePlace };
            let unsure = self.certainty(defect, lane).filter(|&certainty| certainty <= least);
            remarks.extend(unsure.map(|certainty| Remark::CellFromMemory { certainty }));
            let fast = self.fast(lane).filter(|_| fails && self.barrier.proven.is_none());
            remarks.extend(fast.map(|(_, carrier)| Remark::FastPeaks { carrier }));
        }
        if fails && matches!(defect, CLEARANCE | CREEPAGE | UNDECLARED) {
            remarks.push(Remark::AskedBy { text: EDITION });
            remarks.push(Remark::IsolationUnseen);
        }
        let kin = match defect {
            CLEARANCE | CREEPAGE if fails => self
                .is_beyond_series(lane)
                .filter(|_| defect == CLEARANCE)
                .or_else(|| alike::of(self, defect, lane?)),
            // Several that declare nothing are one piece of work, and what one bus comes to is one cause.
            UNDECLARED => Some(self.isolation.read),
            WORKING | PEAK | DISCHARGE => self.highest_bus(lane),
            _ => None,
        };
        let subject = Subject { part: self.barrier.part, defect, lane, kin };
        out.put(self.solved, subject, outcome, remarks);
    }

    /// What the bus that brings most to the barrier comes to.
    fn highest_bus(&self, lane: Option<LaneId>) -> Option<InputId> {
        let plan = &self.solved.variant.plan;
        let buses = self.barrier.carried_by().flat_map(|end| &self.isolation.domain(end).stress.buses);
        let highest = buses.map(|&bus| &plan.buses[bus]);
        let highest = highest.filter_map(|bus| Some((bus, self.solved.figure(bus.highest_voltage, lane?)?)));
        let most = highest.reduce(|most, one| if one.1 > most.1 { one } else { most });
        most.map(|(bus, _)| bus.highest)
    }

    /// The section, where the impulse across the barrier is above every rated one: that is one cause, whatever barriers it asks too
    /// much of.
    fn is_beyond_series(&self, lane: Option<LaneId>) -> Option<InputId> {
        let impulse = self.solved.figure(self.barrier.figures.impulse, lane?)?;
        (impulse > HIGHEST_RATED).then_some(self.isolation.read)
    }

    /// The fastest carrier of what recurs across it, where that is beyond what the tables are made for.
    fn fast(&self, lane: Option<LaneId>) -> Option<(InputId, f64)> {
        let lane = lane.or(self.lanes.ids().next())?;
        let stages = &self.solved.variant.plan.stages;
        let carriers = recurring::stages(self).into_iter().map(|stage| stages[stage].carrier);
        let carriers = carriers.filter_map(|carrier| Some((carrier, self.solved.input(carrier, lane)?)));
        let fastest = carriers.reduce(|most, one| if one.1 > most.1 { one } else { most });
        fastest.filter(|&(_, hertz)| hertz > FAST)
    }

    /// How sure the cells are that a distance rests on.
    fn certainty(&self, defect: &'static str, lane: Option<LaneId>) -> Option<Certainty> {
        let lane = lane.or(self.lanes.ids().next())?;
        let (through, along) = (self.through(lane)?, self.along(lane)?);
        Some(match defect {
            CLEARANCE => through.certainty,
            CREEPAGE => along.certainty,
            _ => through.certainty.worst(along.certainty),
        })
    }

    fn input(&self, lane: LaneId) -> impl Fn(InputId) -> f64 {
        move |id| self.solved.input(id, lane).unwrap_or(f64::NAN)
    }

    /// The clearance with the rows that it rests on.
    fn through(&self, lane: LaneId) -> Option<Clearance> {
        let impulse = self.solved.figure(self.barrier.figures.impulse, lane)?;
        let by_mains = self.isolation.is_fed_by_mains(self.barrier);
        clearance(&self.barrier.clearance_asked(self.input(lane), impulse, by_mains)?).ok()
    }

    /// The creepage distance with the rows that it rests on.
    fn along(&self, lane: LaneId) -> Option<Creepage> {
        let rms = self.solved.figure(self.barrier.figures.rms, lane)?;
        let asked = self.barrier.creepage_asked(self.input(lane), rms)?;
        creepage(&asked, Some(&self.through(lane)?)).ok()
    }
}
