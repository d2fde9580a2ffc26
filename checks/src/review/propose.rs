//! Tries what the checks propose and keeps the least change of each kind that holds.
//!
//! What no edit expresses cannot be tried here: it counts where its check found out itself that it holds, and says so.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use loadworthy_unit::solver::Scratch;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{DutyId, Edit, InputId, LaneState, Solved};

use super::anew::{Described, Judged};
use super::elsewhere::Elsewhere;
use super::group::Key;
use super::judge::{Broke, guarded};
use super::side_effects::side_effects;
use super::{Held, JudgedBy, Setting};
use crate::cause::origin_of;
use crate::check::{Change, Check, Failure, Family, Proof, Proposal};
use crate::collect::{allowed, is_worse};
use crate::figure_text::{comparison, headroom};
use crate::verdict::{Comparison, Fault, Verdict};
use loadworthy_unit::side_by_side::side_by_side;

/// Figures, over all lanes and trials of a variant, that a review solves to find proposals.
const EFFORT: usize = 8_000_000;
/// Figures of trials that are kept for other findings; a verdict takes the room of some twenty.
const KEPT: usize = 2_000_000;
const OF_VERDICT: usize = 20;

/// A finding of a variant that asks for proposals.
pub(super) struct Asked<'v> {
    pub(super) key: Key<'v>,
    pub(super) check: &'static dyn Check,
    pub(super) worst: &'v Verdict,
    pub(super) all: Vec<&'v Verdict>,
}

/// What came of it.
#[derive(Default)]
pub(super) struct Answer {
    pub(super) held: Vec<Held>,
    /// Why nothing held, where nothing did.
    pub(super) nothing: Option<String>,
    /// Checks that broke down over it.
    pub(super) broke: Vec<Broke>,
}

/// A trial, with how all checks judge it.
struct Trial<'s, 'u> {
    solved: Solved<'u>,
    verdicts: Judged<'s>,
    broken: Vec<Broke>,
}

/// Where a trial stands, or will.
type Slot<'s, 'u> = Arc<OnceLock<Arc<Trial<'s, 'u>>>>;

/// Solves and judges trials, and keeps some for whoever asks for the same.
struct Bench<'s, 'u> {
    /// Place of the variant, and all variants as they are described.
    unit: (usize, &'s Described<'s, 'u>),
    /// Figures of one lane, and how many trials may be kept.
    for_lane: usize,
    kept: usize,
    known: Mutex<BTreeMap<Vec<(InputId, u64)>, Slot<'s, 'u>>>,
}

/// What one that tries proposals may still solve, in figures, and the room that it solves a lane in.
struct Effort {
    left: usize,
    scratch: Scratch<1>,
}

impl Effort {
    /// Takes what so many figures need, whether somebody else has solved them or not: how far it goes then depends on
    /// nobody else.
    fn spend(&mut self, figures: usize) -> Result<(), Spent> {
        self.left = self.left.checked_sub(figures).ok_or(Spent)?;
        Ok(())
    }
}

impl<'s, 'u> Bench<'s, 'u> {
    fn new(unit: (usize, &'s Described<'s, 'u>)) -> Self {
        let variant = unit.1.solved[unit.0].variant;
        let for_lane = variant.tables.figures().len().max(1);
        let room = variant.lanes.len() * for_lane + OF_VERDICT * unit.1.verdicts[unit.0].len();
        Self { unit, for_lane, kept: (KEPT / room.max(1)).max(1), known: Mutex::default() }
    }

    /// The first proposal of a ladder that passes, with what it passes with; an error where the effort is spent before.
    fn first<'p>(
        &self,
        ladder: &'p [Proposal],
        worst: &Verdict,
        effort: &mut Effort,
        passes: &mut dyn FnMut(&Proposal, &Trial<'s, 'u>) -> Option<Vec<String>>,
    ) -> Result<Option<Passed<'p, 's, 'u>>, Spent> {
        for proposal in ladder {
            match &proposal.change {
                Change::Edit(_) if self.fails_still(proposal, worst, effort)? => {}
                Change::Edit(_) => {
                    let trial = self.solve(proposal, effort)?;
                    if let Some(besides) = passes(proposal, &trial) {
                        return Ok(Some(Passed::Tried { proposal, trial, besides }));
                    }
                }
                // A check that does not say what is left does not know whether it holds.
                Change::Reviewed { leaves, .. } if leaves.trim().is_empty() => {}
                Change::Reviewed { proof, leaves, side_effects } => {
                    let say = &proposal.say;
                    return Ok(Some(Passed::Reviewed { say, proof: *proof, leaves, side_effects }));
                }
            }
        }
        Ok(None)
    }

    /// Whether what failed worst fails still, in its lane and by the same comparison: such a step needs no trial of the
    /// whole unit. A step with which the lane has no solution any more harms it.
    fn fails_still(&self, proposal: &Proposal, worst: &Verdict, effort: &mut Effort) -> Result<bool, Spent> {
        let (Some(Fault::Exceeds(compared)), Some(lane)) = (worst.fault(), worst.lane()) else {
            return Ok(false);
        };
        effort.spend(self.for_lane)?;
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.get(&identity(proposal)).is_some_and(|slot| slot.get().is_some()) {
            return Ok(false);
        }
        drop(known);
        let (own, described) = self.unit;
        let solved = &described.solved[own];
        let glance = solved.glance(lane, &edits(proposal), &mut effort.scratch);
        if !matches!(glance.state(), LaneState::Solved { .. }) {
            return Ok(true);
        }
        let limit = match compared.limit_from {
            Some(Operand::Figure(id)) => glance.figure(id),
            Some(Operand::Input(id)) => glance.input(id),
            // A law may give another limit with the change.
            Some(Operand::Curve(_)) | None => None,
        };
        let left = match compared.policy {
            Some(item) => solved.variant.policy(item).map(|value| value.stated.value),
            None => Some(f64::NAN),
        };
        let (Some(carried), Some(limit), Some(left)) = (glance.figure(compared.carried), limit, left) else {
            return Ok(false);
        };
        let allowed = compared.policy.map_or(limit, |item| allowed(item, limit, left));
        let now = Comparison::new(
            (compared.carried, carried),
            (limit, compared.limit_from),
            (allowed, compared.policy),
            compared.dimension,
        );
        Ok(!now.holds())
    }

    /// The trial of a proposal, solved where it is not known yet. The first steps of a ladder usually hold, and of a large
    /// unit every step takes its time and its room: none is solved ahead.
    fn solve(&self, proposal: &Proposal, effort: &mut Effort) -> Result<Arc<Trial<'s, 'u>>, Spent> {
        let (own, described) = self.unit;
        let base = &described.solved[own];
        effort.spend(base.variant.lanes.len() * self.for_lane)?;
        let slot = {
            let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
            let identity = identity(proposal);
            if known.len() >= self.kept && !known.contains_key(&identity) {
                known.clear();
            }
            Arc::clone(known.entry(identity).or_default())
        };
        // Who asks for what another is solving waits for it.
        let trial = slot.get_or_init(|| {
            let edits = edits(proposal);
            let solved = base.trial(&edits);
            let (verdicts, broken) = described.try_one(own, &solved);
            Arc::new(Trial { solved, verdicts, broken })
        });
        Ok(Arc::clone(trial))
    }
}

/// A proposal that passes.
enum Passed<'p, 's, 'u> {
    /// It was tried; with what is to be said of it besides.
    Tried { proposal: &'p Proposal, trial: Arc<Trial<'s, 'u>>, besides: Vec<String> },
    /// Its check stands for it.
    Reviewed { say: &'p str, proof: Proof, leaves: &'p str, side_effects: &'p [String] },
}

/// The effort is spent.
struct Spent;

fn edits(proposal: &Proposal) -> Vec<Edit> {
    proposal.edits().iter().map(|(edit, _)| *edit).collect()
}

fn identity(proposal: &Proposal) -> Vec<(InputId, u64)> {
    proposal.edits().iter().map(|(edit, _)| (edit.input, edit.value.to_bits())).collect()
}

/// Trials of the whole variant that each family of changes must be able to afford by itself; in a unit so large that they
/// could not, families take from one effort in turn.
const LEAST_TRIALS: usize = 24;

/// A family of changes that a finding might be mended by.
struct Offer<'a, 'v> {
    /// Place of the finding among those that ask.
    asks: usize,
    one: &'a Asked<'v>,
    family: &'a Family,
}

/// What came of a family.
#[derive(Default)]
struct Found {
    held: Option<Held>,
    spent: bool,
    broke: Vec<Broke>,
}

/// Answers all findings of a variant: every finding's first family of changes, then every finding's second. How far it goes
/// follows from the description alone, never from the machine.
pub(super) fn propose(asked: &[Asked<'_>], elsewhere: &Elsewhere<'_, '_>) -> Vec<Answer> {
    let ((own, described), solved) = (elsewhere.described(), elsewhere.own());
    let mut answers: Vec<Answer> = asked.iter().map(|_| Answer::default()).collect();
    let offered = asked.iter().zip(&mut answers).map(|(one, answer)| {
        let failure = Failure { worst: one.worst, all: &one.all, unit: described.solved };
        guarded(|| one.check.propose(&failure, solved)).unwrap_or_else(|said| {
            answer.broke.push(Broke { check: one.key.check, variant: Some(own), said });
            Vec::new()
        })
    });
    let offered: Vec<Vec<Family>> = offered.collect();
    let rounds = 0..offered.iter().map(Vec::len).max().unwrap_or(0);
    let offers = rounds.flat_map(|round| {
        let of_round = asked.iter().zip(&offered).enumerate();
        of_round.filter_map(move |(asks, (one, families))| {
            families.get(round).map(|family| Offer { asks, one, family })
        })
    });
    let offers: Vec<Offer<'_, '_>> = offers.collect();
    let found = found(&offers, elsewhere);
    let mut spent = vec![false; asked.len()];
    for (offer, found) in offers.iter().zip(found) {
        let answer = &mut answers[offer.asks];
        answer.held.extend(found.held);
        answer.broke.extend(found.broke);
        spent[offer.asks] |= found.spent;
    }
    for ((answer, families), spent) in answers.iter_mut().zip(&offered).zip(spent) {
        let tried: Vec<&str> =
            families.iter().filter(|f| !f.ladder.is_empty()).map(|family| family.tried.as_str()).collect();
        answer.nothing = match (answer.held.is_empty(), spent) {
            (true, true) => Some(TOO_LARGE.to_owned()),
            (true, false) if !answer.broke.is_empty() => Some(BROKE.to_owned()),
            (true, false) if !tried.is_empty() => {
                Some(format!("no single change of these holds without a new failure: {}", tried.join("; ")))
            }
            _ => None,
        };
    }
    answers
}

/// What comes of each family, side by side where each can afford it.
fn found(offers: &[Offer<'_, '_>], elsewhere: &Elsewhere<'_, '_>) -> Vec<Found> {
    let bench = Bench::new(elsewhere.described());
    let variant = elsewhere.own().variant;
    let effort = |left| Effort { left, scratch: Scratch::new(&variant.plan) };
    let share = EFFORT / offers.len().max(1);
    // Who waits for a part of a trial may take up another family, which must not wait for the same trial.
    if variant.is_worth_all_cores() || share < LEAST_TRIALS * variant.lanes.len() * bench.for_lane {
        let mut all = effort(EFFORT);
        return offers.iter().map(|offer| try_family(offer, &bench, elsewhere, &mut all)).collect();
    }
    side_by_side(offers, |offer| try_family(offer, &bench, elsewhere, &mut effort(share)))
}

/// The least change of a family that holds.
fn try_family(
    Offer { one, family, .. }: &Offer<'_, '_>,
    bench: &Bench<'_, '_>,
    elsewhere: &Elsewhere<'_, '_>,
    effort: &mut Effort,
) -> Found {
    let ((own, described), solved) = (elsewhere.described(), elsewhere.own());
    let verdicts = &described.verdicts[own];
    let mut broke = Vec::new();
    let mut mends = |proposal: &Proposal, trial: &Trial<'_, '_>| {
        // Verdicts of a check that broke down are missing: the rest proves nothing.
        if !trial.broken.is_empty() {
            broke.extend(trial.broken.iter().cloned());
            return None;
        }
        if !elsewhere.standing().is_mended(&one.key, &trial.verdicts) {
            return None;
        }
        elsewhere.besides(&one.key, proposal, (&trial.solved, &trial.verdicts), &mut broke)
    };
    let (held, spent) = match bench.first(&family.ladder, one.worst, effort, &mut mends) {
        Ok(Some(Passed::Reviewed { say, proof, leaves, side_effects })) => {
            let untried = elsewhere.untried(&one.key).into_iter();
            let held = Held {
                judged_by: JudgedBy::OwnCheck(proof),
                say: say.to_owned(),
                set: Vec::new(),
                leaves: leaves.to_owned(),
                side_effects: untried.chain(side_effects.iter().cloned()).collect(),
            };
            (Some(held), false)
        }
        Ok(Some(Passed::Tried { proposal, trial, besides })) => {
            let effects = side_effects(&one.key, (solved, &trial.solved), (verdicts, &trial.verdicts));
            let held = Held {
                judged_by: JudgedBy::AllChecks,
                say: proposal.say.clone(),
                set: settings(proposal, solved, looked_up(one.worst, solved)),
                leaves: leaves(one, &trial),
                side_effects: besides.into_iter().chain(effects).collect(),
            };
            (Some(held), false)
        }
        Ok(None) => (None, false),
        Err(Spent) => (None, true),
    };
    Found { held, spent, broke }
}

const TOO_LARGE: &str = "not all was tried: too many findings in too large a unit";
const BROKE: &str = "a check broke down over what was tried, so nothing is known to hold";

/// The worst headroom that a trial leaves to what failed: of the same cause, or of the same check and stage.
fn leaves(asked: &Asked<'_>, trial: &Trial<'_, '_>) -> String {
    let variant = trial.solved.variant;
    let worst = |alike: &dyn Fn(&Verdict) -> bool| {
        let those = trial.verdicts.iter().filter(|verdict| {
            verdict.check == asked.key.check && verdict.comparison().is_some() && alike(verdict)
        });
        those.reduce(|worst, one| if is_worse(one, worst) { one } else { worst })
    };
    let own = worst(&|verdict| verdict.defect == asked.key.defect && Key::of(verdict, variant) == asked.key);
    let is_structural = matches!(asked.worst.fault(), Some(Fault::Structural));
    // Headroom of something else would say nothing of a structure that is right again.
    let found = if is_structural {
        own
    } else {
        own.or_else(|| worst(&|verdict| Key::of(verdict, variant).stage == asked.key.stage))
            .or_else(|| worst(&|_| true))
    };
    match found.and_then(|verdict| Some((verdict, verdict.comparison()?))) {
        Some((verdict, compared)) => {
            let duty = verdict.duty().map(|duty| &variant.duties[duty.index()].name);
            let place = duty.map_or_else(String::new, |duty| format!(" in {duty}"));
            format!("{} ({}){place}", headroom(compared), comparison(compared).carried)
        }
        None if matches!(asked.worst.fault(), Some(Fault::Unsolved { .. })) => "a solution".to_owned(),
        None => "nothing of this kind".to_owned(),
    }
}

/// The duty point in which the figures of a verdict stand.
fn looked_up(verdict: &Verdict, solved: &Solved<'_>) -> Option<DutyId> {
    verdict.lane().map(|lane| solved.variant.lane(lane).duty)
}

fn settings(proposal: &Proposal, solved: &Solved<'_>, duty: Option<DutyId>) -> Vec<Setting> {
    let tables = &solved.variant.tables;
    let mut settings = Vec::new();
    for (edit, written) in proposal.edits() {
        let input = tables.input_of(edit.input);
        if !input.path.starts_with("duty.*") {
            // What several read is written once.
            if settings.iter().any(|setting: &Setting| setting.path == input.path) {
                continue;
            }
            settings.push(Setting {
                path: input.path.clone(),
                written: written.clone(),
                instead_of: origin_of(solved.variant, edit.input, duty).node(),
            });
            continue;
        }
        // An edit stands in all duty points; each states the value at a place of its own.
        for (place, one) in solved.variant.duties.iter().enumerate() {
            settings.push(Setting {
                path: tables.input_path(edit.input, &one.name),
                written: written.clone(),
                instead_of: tables.stated(edit.input, DutyId::new(place)).origin.node(),
            });
        }
    }
    settings
}
