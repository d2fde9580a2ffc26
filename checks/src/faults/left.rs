//! What is left after a fault, solved again and judged.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::plan::Load;
use loadworthy_unit::{DutyId, Edit, LaneId, LaneState, PartId, Solved, Variant};

use super::fallen::Fallen;
use super::{Effect, Worse};
use crate::check::Check;
use crate::list::CHECKS;
use crate::review::compared;
use crate::verdict::{Outcome, Verdict};

/// Figures, over all lanes and faults of a variant, that are solved again.
const EFFORT: usize = 8_000_000;
/// Failures that a fault is told with.
const MOST_WORSE: usize = 3;

/// The voltage that a boost at rest leaves, of that of its low bus. The diodes pass a little less than the whole; a boost
/// that lifts by less than its own drops has no solution, so that a little more is reckoned with.
pub(super) const SAGGED: f64 = 1.03;

/// What a verdict is about.
type Identity = (&'static str, PartId, &'static str, Option<DutyId>);

fn identity(verdict: &Verdict) -> Identity {
    (verdict.check, verdict.part, verdict.defect, verdict.duty())
}

/// A variant as it is described, and what is left of it after faults.
pub(super) struct Bench<'u> {
    pub(super) solved: Solved<'u>,
    checks: Vec<&'static dyn Check>,
    failing: BTreeSet<Identity>,
    unjudged: BTreeSet<Identity>,
    left: usize,
    known: BTreeMap<Fallen, Effect>,
}

impl<'u> Bench<'u> {
    pub(super) fn new(variant: &'u Variant) -> Self {
        let solved = Solved::new(variant);
        // What the structure alone decides does not change with a fault.
        let checks =
            CHECKS.iter().copied().filter(|check| check.compares() && check.judges_each_duty_point());
        let checks: Vec<_> = checks.collect();
        let (verdicts, _) = compared(&checks, &solved);
        let failing = verdicts.iter().filter(|verdict| verdict.fails()).map(identity).collect();
        let open = verdicts.iter().filter(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_)));
        let unjudged = open.map(identity).collect();
        Self { solved, checks, failing, unjudged, left: EFFORT, known: BTreeMap::new() }
    }

    fn variant(&self) -> &'u Variant {
        self.solved.variant
    }

    /// Whether one more solution of the variant is within the effort.
    pub(super) fn affords(&mut self) -> bool {
        let variant = self.variant();
        let cost = variant.lanes.len() * variant.tables.figures().len().max(1);
        let Some(left) = self.left.checked_sub(cost) else { return false };
        self.left = left;
        true
    }

    /// What is left where something has fallen.
    pub(super) fn after(&mut self, fallen: &Fallen) -> Effect {
        if let Some(known) = self.known.get(fallen) {
            return known.clone();
        }
        let variant = self.variant();
        let name = |part: PartId| variant.path(part).to_owned();
        let mut effect = Effect {
            stops: fallen.stages.iter().map(|&stage| name(variant.plan.stages[stage].part)).collect(),
            dead: fallen.dead.iter().map(|&bus| name(variant.plan.buses[bus].part)).collect(),
            cut_off: fallen.sources.iter().map(|&one| name(variant.plan.sources[one].part)).collect(),
            not_served: not_served(&self.solved, fallen),
            ..Effect::default()
        };
        effect.says.extend(fallen.dead.iter().filter_map(|&bus| held_by_none(variant, fallen, bus)));
        let is_all = fallen.stages.len() == variant.plan.stages.len();
        if !is_all && self.affords() {
            let rest = variant.changed(&at_rest(&self.solved, fallen));
            let solved = Solved::without_shares(&rest);
            self.judge(&solved, &mut effect);
        }
        self.known.insert(fallen.clone(), effect.clone());
        effect
    }

    /// What is left with other values and nothing fallen.
    pub(super) fn with(&mut self, edits: Vec<Edit>) -> Effect {
        let mut effect = Effect::default();
        if self.affords()
            && let Some(solved) = Solved::with(self.variant(), &[edits]).pop()
        {
            self.judge(&solved, &mut effect);
        }
        effect
    }

    fn judge(&self, solved: &Solved<'_>, effect: &mut Effect) {
        let variant = solved.variant;
        let mut lanes = variant.lane_ids();
        effect.is_solved = lanes.any(|lane| matches!(solved.state(lane), LaneState::Solved { .. }));
        for lane in variant.lane_ids() {
            let was = matches!(self.solved.state(lane), LaneState::Solved { .. });
            let name = &variant.duty_of(lane).name;
            if was
                && !matches!(solved.state(lane), LaneState::Solved { .. })
                && !effect.unsolved.contains(name)
            {
                effect.unsolved.push(name.clone());
            }
        }
        let (verdicts, _) = compared(&self.checks, solved);
        let mut worse: Vec<&Verdict> = verdicts
            .iter()
            .filter(|verdict| verdict.fails() && !self.failing.contains(&identity(verdict)))
            .collect();
        worse.sort_by(|one, other| {
            grade(one)
                .cmp(&grade(other))
                .then(one.rank().total_cmp(&other.rank()))
                .then(identity(one).cmp(&identity(other)))
        });
        let mut told: Vec<(&str, PartId)> = Vec::new();
        for verdict in worse {
            let stage = crate::seats::stage_of(variant, verdict.part);
            let Outcome::Fails { grade, .. } = verdict.outcome else { continue };
            if told.contains(&(verdict.check, stage)) || told.len() == MOST_WORSE {
                continue;
            }
            told.push((verdict.check, stage));
            effect.worse.push(Worse {
                check: verdict.check,
                grade,
                part: variant.path(verdict.part).to_owned(),
                duty: verdict.duty().map(|duty| variant.duties[duty.index()].name.clone()),
                comparison: verdict.comparison().copied(),
            });
        }
        let open = verdicts.iter().filter(|verdict| matches!(verdict.outcome, Outcome::NotJudged(_)));
        let (still, anew): (Vec<&Verdict>, Vec<&Verdict>) =
            open.partition(|verdict| self.unjudged.contains(&identity(verdict)));
        (effect.still_open, effect.unjudged) = (still.len(), anew.len());
    }
}

const fn grade(verdict: &Verdict) -> u8 {
    match verdict.outcome {
        Outcome::Fails { grade, .. } => grade as u8,
        Outcome::Holds(_) | Outcome::NotJudged(_) => u8::MAX,
    }
}

/// The first lane of each duty point.
fn lanes(variant: &Variant) -> Vec<(DutyId, LaneId)> {
    let mut lanes: Vec<(DutyId, LaneId)> = Vec::new();
    for lane in variant.lane_ids() {
        let duty = variant.lane(lane).duty;
        if !lanes.iter().any(|(known, _)| *known == duty) {
            lanes.push((duty, lane));
        }
    }
    lanes
}

/// Sources that stay at a bus which nothing balances any more, in words: it is live, and nothing holds its voltage.
fn held_by_none(variant: &Variant, fallen: &Fallen, bus: usize) -> Option<String> {
    let left = variant.plan.buses[bus].sources.iter().filter(|source| !fallen.sources.contains(source));
    let names: Vec<&str> = left.map(|&source| variant.path(variant.plan.sources[source].part)).collect();
    let bus = variant.path(variant.plan.buses[bus].part);
    let verb = if names.len() == 1 { "stays" } else { "stay" };
    (!names.is_empty())
        .then(|| format!("{} {verb} at {bus}: it is live, and nothing holds its voltage", names.join(", ")))
}

/// Whether nothing feeds a load any more.
fn is_lost(fallen: &Fallen, place: usize, load: &Load) -> bool {
    fallen.loads.contains(&place) || load.port.bus.is_some_and(|bus| fallen.dead.contains(&bus))
}

/// Duty points that ask something of what has fallen.
fn not_served(solved: &Solved<'_>, fallen: &Fallen) -> Vec<String> {
    let variant = solved.variant;
    let asks = |lane: LaneId| {
        let of_bridge = fallen.stages.iter().any(|&stage| {
            let bridge = variant.plan.stages[stage].bridge();
            bridge.is_some_and(|bridge| {
                solved.input(bridge.inputs.active, lane).is_some_and(|active| 0.5 < active)
            })
        });
        let of_load = variant.plan.loads.iter().enumerate().any(|(place, load)| {
            let is_lost = is_lost(fallen, place, load);
            let asks = |input| solved.input(input, lane).is_some_and(|asked| 0.0 < asked.abs());
            is_lost && (asks(load.power) || asks(load.current))
        });
        // What a boost turned back has nowhere to go.
        let returned = fallen.stages.iter().any(|&stage| {
            let of = &variant.plan.stages[stage];
            let led = of.led_by.and_then(|led| of.ports.get(led));
            let is_sagging = |bus: usize| fallen.sagging.iter().any(|(high, _)| *high == bus);
            led.is_some_and(|port| {
                port.bus.is_some_and(is_sagging)
                    && solved.figure(port.power, lane).is_some_and(|power| power < 0.0)
            })
        });
        of_bridge || of_load || returned
    };
    let duties = lanes(variant).into_iter().filter(|&(_, lane)| asks(lane));
    duties.map(|(duty, _)| variant.duties[duty.index()].name.clone()).collect()
}

/// What duty points ask once everything that has fallen rests.
fn at_rest(solved: &Solved<'_>, fallen: &Fallen) -> Vec<(DutyId, Vec<Edit>)> {
    let variant = solved.variant;
    let plan = &variant.plan;
    let rests = |lane: LaneId| {
        let mut edits = Vec::new();
        let stated = |input| solved.input(input, lane).is_some();
        for &stage in &fallen.stages {
            let of = &plan.stages[stage];
            if let Some(bridge) = of.bridge() {
                edits.push(Edit { input: bridge.inputs.active, value: 0.0 });
            }
            // A source that is told its share gives none through a stage that stands.
            let led = of.led_by.and_then(|led| of.ports.get(led)?.bus);
            let shares =
                led.into_iter().flat_map(|bus| &plan.buses[bus].sources).map(|&source| &plan.sources[source]);
            for source in shares {
                let own =
                    [source.share_power, source.share_current].into_iter().filter(|&input| stated(input));
                edits.extend(own.map(|input| Edit { input, value: 0.0 }));
            }
        }
        for &source in &fallen.sources {
            let source = &plan.sources[source];
            let is_held = source.bus.is_some_and(|bus| !fallen.dead.contains(&bus));
            let shares = [source.share_power, source.share_current];
            // One that balanced gives a share of nothing, so that the others are left to balance.
            let own = shares.into_iter().filter(|&input| stated(input));
            edits.extend(own.map(|input| Edit { input, value: 0.0 }));
            if is_held && !shares.into_iter().any(stated) {
                edits.push(Edit { input: source.share_power, value: 0.0 });
            }
        }
        for (_, load) in plan.loads.iter().enumerate().filter(|&(place, load)| is_lost(fallen, place, load)) {
            let own = [load.power, load.current].into_iter().filter(|&input| stated(input));
            edits.extend(own.map(|input| Edit { input, value: 0.0 }));
        }
        for &(high, low) in &fallen.sagging {
            // With less to give, the low bus rises as far as its sources at rest.
            let at_rest = plan.buses[low].sources.iter().map(|&source| plan.sources[source].open_circuit);
            let at_rest = at_rest.filter_map(|input| solved.input(input, lane));
            let volts = at_rest.chain(solved.figure(plan.buses[low].voltage, lane)).reduce(f64::max);
            edits.extend(volts.map(|volts| Edit { input: plan.buses[high].stated, value: volts * SAGGED }));
            // What recovers into it has nowhere to go, and stops.
            let there = plan
                .stages
                .iter()
                .filter(|stage| stage.ports.first().and_then(|port| port.bus) == Some(high));
            let recovers = there.filter_map(|stage| stage.bridge()).filter(|bridge| {
                solved.figure(bridge.figures.output_power, lane).is_some_and(|power| power < 0.0)
            });
            edits.extend(recovers.map(|bridge| Edit { input: bridge.inputs.active, value: 0.0 }));
        }
        edits
    };
    lanes(variant).into_iter().map(|(duty, lane)| (duty, rests(lane))).collect()
}
