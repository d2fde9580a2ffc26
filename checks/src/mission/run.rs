//! Runs a mission: rows in, a tally out, with memory that does not grow with the rows.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};
use std::thread;

use loadworthy_unit::mission::{Chunk, Heat, Rows, Stretch};
use loadworthy_unit::{Cause, Diagnosis, DutyId, FigureId, InputId, LaneId, Solved, Variant};

use super::energy::Energies;
use super::in_turn::InTurn;
use super::learned::{Learned, Least};
use super::regime::Regime;
use super::tally::{Key, Lost, Tally, Worst};
use super::watched::{Seen, Watched};
use super::wear::Wear;
use super::{cycles, wear};
use crate::check::Check;
use crate::collect::{Verdicts, is_worse};
use crate::verdict::{Missing, Outcome, Verdict};

/// Rows that are solved, and where it must be judged, together: all that is known of them fits beside the processor.
pub const CHUNK: usize = 16;
/// Chunks that are taken in at once, whatever the machine: how many threads there are changes no figure.
pub const CHUNKS: usize = 64;
/// Rows that could not be followed of which the cause is told.
const MOST_LOST: usize = 3;
/// Regimes that are remembered; a mission with more is judged row by row.
const MOST_REGIMES: usize = 4096;

/// A mission while it runs.
pub struct Judge<'v> {
    variant: &'v Variant,
    checks: Vec<&'static dyn Check>,
    /// One for each thread, which works in it again and again.
    chunks: Vec<Chunk<'v>>,
    heat: Heat<'v>,
    stretch: Stretch,
    /// What is compared in rows of each regime, but of checks that judge every row.
    learned: BTreeMap<Regime, Learned>,
    least: Least,
    /// Checks that judge every row.
    always: BTreeSet<&'static str>,
    /// What is watched of each row.
    watched: Vec<Watched>,
    /// The rows taken in last, as they were watched.
    seen: Seen,
    /// What it came to so far.
    pub tally: Tally,
}

/// What a chunk brings to the tally.
struct Share {
    energies: Energies,
    wear: Vec<Wear>,
    /// What fails in each row, and rows that could not be judged.
    fails: Vec<Fails>,
    not_judged: Vec<Key>,
    /// Verdicts of the rows that the checks judged, with their rows, and what is learned of new regimes.
    verdicts: Vec<(usize, Verdict)>,
    learned: Vec<(Regime, Learned)>,
    judged: bool,
    unsolved: usize,
    /// Rows with a solution that could not be followed, and why; the first ones.
    lost: Vec<(usize, Vec<Cause>)>,
    /// Whether a rotor stands, in each row.
    stands: Vec<bool>,
    seen: Seen,
}

/// What fails in a row.
struct Fails {
    key: Key,
    row: usize,
    /// What is carried; not a number where nothing is compared.
    carried: f64,
}

impl<'v> Judge<'v> {
    /// Begins a mission whose rows change the inputs of some columns, on so many threads.
    #[must_use]
    pub fn new(
        checks: &[&'static dyn Check],
        variant: &'v Variant,
        columns: &[InputId],
        starts_from: Option<DutyId>,
        threads: usize,
    ) -> Self {
        let each = checks.iter().copied().filter(|check| check.judges_each_duty_point());
        Self {
            variant,
            checks: each.collect(),
            chunks: (0..threads.clamp(1, CHUNKS)).map(|_| Chunk::new(variant, columns)).collect(),
            heat: Heat::new(variant, starts_from),
            stretch: Stretch::new(variant, starts_from),
            learned: BTreeMap::new(),
            least: Least::default(),
            always: BTreeSet::new(),
            watched: Vec::new(),
            seen: Seen::default(),
            tally: Tally {
                rows: 0,
                lasts: 0.0,
                worst: BTreeMap::new(),
                unsolved: 0,
                not_followed: 0,
                lost: Vec::new(),
                energies: Energies::none(variant),
                judged: 0,
                swings: Vec::new(),
                uncounted: 0,
                wear: wear::none(variant),
            },
        }
    }

    /// Watches each row as well.
    #[must_use]
    pub fn watching(self, watched: Vec<Watched>) -> Self {
        Self { watched, ..self }
    }

    /// The rows taken in last, as they were watched; none where nothing is.
    #[must_use]
    pub fn seen(&self) -> &Seen {
        &self.seen
    }

    /// Ends the mission: what it came to.
    #[must_use]
    pub fn end(mut self) -> Tally {
        self.tally.swings = cycles::worst(self.variant, &self.heat.cycles);
        self.tally.uncounted = self.heat.cycles.left_out;
        self.tally
    }

    /// Takes in up to [`CHUNKS`] chunks of up to [`CHUNK`] rows, in their order. Each is solved and judged on whichever
    /// thread is free; heat goes through them one after another, as soon as it has gone through the one before.
    pub fn take(&mut self, all: &[Rows]) {
        let known = Known {
            variant: self.variant,
            checks: &self.checks,
            learned: &self.learned,
            least: &self.least,
            always: &self.always,
            worst: &self.tally.worst,
            watched: &self.watched,
            told: self.tally.lost.len(),
        };
        let mut shares: Vec<Option<Share>> = all.iter().map(|_| None).collect();
        let waiting = Mutex::new(all.iter().zip(&mut shares).enumerate());
        let turns = InTurn::new((&mut self.heat, &mut self.stretch));
        let work = |chunk: &mut Chunk<'_>| {
            loop {
                let next = waiting.lock().unwrap_or_else(PoisonError::into_inner).next();
                let Some((place, (rows, share))) = next else { return };
                let turn = turns.at(place);
                chunk.solve(rows);
                turn.take(|(heat, stretch)| {
                    heat.follow(chunk, rows);
                    stretch.follow(chunk, rows);
                });
                *share = Some(known.share_of(chunk, rows));
            }
        };
        thread::scope(|scope| {
            for chunk in self.chunks.iter_mut().take(all.len()) {
                scope.spawn(|| work(chunk));
            }
        });
        self.tally.not_followed = self.heat.lost;
        self.seen.clear();
        for (share, rows) in shares.into_iter().zip(all) {
            if let Some(share) = share {
                self.seen.append(&share.seen);
                self.add(share, rows);
            }
        }
    }

    fn add(&mut self, share: Share, rows: &Rows) {
        let tally = &mut self.tally;
        tally.energies.then(&share.energies);
        wear::then(&mut tally.wear, &share.wear);
        tally.unsolved += share.unsolved;
        let room = MOST_LOST.saturating_sub(tally.lost.len());
        let lost = share.lost.into_iter().take(room);
        tally.lost.extend(lost.map(|(row, causes)| Lost {
            row: tally.rows + row,
            duty: rows.duties[row],
            causes,
        }));
        tally.judged += if share.judged { rows.len() } else { 0 };
        let mut begins = Vec::with_capacity(rows.len());
        for &lasts in &rows.lasts {
            begins.push(tally.lasts);
            tally.lasts += lasts;
        }
        for (row, verdict) in share.verdicts {
            let stands = share.stands[row];
            let new = || Worst {
                verdict: verdict.clone(),
                row: tally.rows + row,
                begins: begins[row],
                duty: rows.duties[row],
                stands,
                fails_for: 0.0,
                fails_in: BTreeSet::new(),
                most: f64::NEG_INFINITY,
                not_judged: 0,
            };
            match tally.worst.get_mut(&Key::of(&verdict)) {
                None => {
                    self.least.note(Key::of(&verdict), new().headroom());
                    tally.worst.insert(Key::of(&verdict), new());
                }
                Some(worst) if is_worse(&verdict, &worst.verdict) => {
                    let (fails_for, most, not_judged) = (worst.fails_for, worst.most, worst.not_judged);
                    let fails_in = std::mem::take(&mut worst.fails_in);
                    *worst = Worst { fails_for, fails_in, most, not_judged, ..new() };
                    self.least.note(Key::of(&verdict), worst.headroom());
                }
                Some(_) => {}
            }
        }
        for Fails { key, row, carried } in share.fails {
            if let Some(worst) = tally.worst.get_mut(&key) {
                worst.fails_for += rows.lasts[row];
                worst.fails_in.insert(rows.duties[row]);
                worst.most = worst.most.max(carried);
            }
        }
        for key in share.not_judged {
            if let Some(worst) = tally.worst.get_mut(&key) {
                worst.not_judged += 1;
            }
        }
        tally.rows += rows.len();
        for (regime, learned) in share.learned {
            self.learn(regime, learned);
        }
    }

    /// Keeps what was learned of a regime, without what checks judge in every row.
    fn learn(&mut self, regime: Regime, mut learned: Learned) {
        for compared in &mut learned.compared {
            compared.place = self.least.place(compared.key);
        }
        let known = self.always.len();
        self.always.extend(&learned.opaque);
        if self.always.len() > known {
            self.learned.values_mut().for_each(|learned| learned.leave(&self.always));
        }
        learned.leave(&self.always);
        if self.learned.len() < MOST_REGIMES {
            self.learned.entry(regime).or_insert(learned);
        }
    }
}

/// What is known when a chunk is judged.
#[derive(Clone, Copy)]
struct Known<'k> {
    variant: &'k Variant,
    checks: &'k [&'static dyn Check],
    learned: &'k BTreeMap<Regime, Learned>,
    least: &'k Least,
    always: &'k BTreeSet<&'static str>,
    worst: &'k BTreeMap<Key, Worst>,
    watched: &'k [Watched],
    /// Rows that could not be followed, of which the cause is known.
    told: usize,
}

impl Known<'_> {
    /// What a chunk brings: compared directly where its rows are like others, judged by the checks where one is not, or is
    /// worse than any before.
    fn share_of(self, chunk: &mut Chunk<'_>, rows: &Rows) -> Share {
        let mut share = Share {
            energies: Energies::none(self.variant),
            wear: wear::of(self.variant, chunk, rows),
            fails: Vec::new(),
            not_judged: Vec::new(),
            verdicts: Vec::new(),
            learned: Vec::new(),
            judged: false,
            unsolved: (0..rows.len()).filter(|&row| !chunk.is_solved(row)).count(),
            lost: Vec::new(),
            stands: (0..rows.len()).map(|row| chunk.stands(row)).collect(),
            seen: Seen::default(),
        };
        if !self.watched.is_empty() {
            share.seen.add(chunk, rows.len(), self.watched);
        }
        share.lost = self.lost(chunk, rows);
        share.energies.add(self.variant, chunk, rows);
        let regimes: Vec<Regime> = (0..rows.len())
            .map(|row| Regime::of(self.variant, chunk, row, rows.duties[row], rows.lasts[row]))
            .collect();
        let due = self.compare(chunk, &regimes, &mut share);
        share.judged = due.is_none();
        let by_checks = |check: &str| due.as_ref().is_none_or(|due| due.contains(check));
        share.fails.retain(|fails| !by_checks(fails.key.check));
        share.not_judged.retain(|key| !by_checks(key.check));
        self.judge(chunk, &regimes, &by_checks, &mut share);
        share
    }

    /// The first rows with a solution whose losses are not known, each with what these wait for.
    fn lost(self, chunk: &mut Chunk<'_>, rows: &Rows) -> Vec<(usize, Vec<Cause>)> {
        let plan = &self.variant.plan;
        let losses = plan.stages.iter().map(|stage| stage.figures.loss);
        let heat: Vec<FigureId> = losses.chain(plan.coolant.iter().map(|path| path.heat)).collect();
        let missing = |row: usize| {
            let open = heat.iter().copied().find(|&figure| !chunk.raw(figure, row).is_finite());
            open.filter(|_| chunk.is_solved(row)).map(|figure| (row, figure))
        };
        let room = MOST_LOST.saturating_sub(self.told);
        let lost: Vec<(usize, FigureId)> = (0..rows.len()).filter_map(missing).take(room).collect();
        if lost.is_empty() {
            return Vec::new();
        }
        let why = |solved: &Solved<'_>, (row, figure)| (row, solved.missing(figure, LaneId::new(row)));
        chunk.show(|solved| lost.into_iter().map(|one| why(solved, one)).collect())
    }

    /// Says of verdicts that become the worst, and could not be given, what they wait for.
    fn explain(self, chunk: &mut Chunk<'_>, worst: &mut [(usize, Verdict)]) {
        let is_new = |verdict: &Verdict| {
            let known = self.worst.get(&Key::of(verdict));
            known.is_none_or(|known| is_worse(verdict, &known.verdict))
        };
        let mut open: Vec<&mut (usize, Verdict)> = worst
            .iter_mut()
            .filter(|(_, verdict)| matches!(verdict.outcome, Outcome::NotJudged(_)) && is_new(verdict))
            .collect();
        if open.is_empty() {
            return;
        }
        chunk.show(|solved| {
            let mut replays: BTreeMap<usize, Diagnosis<'_, '_>> = BTreeMap::new();
            for (row, verdict) in &mut open {
                let Outcome::NotJudged(missing) = &mut verdict.outcome else { continue };
                let mut found: Vec<Missing> = Vec::new();
                for one in missing.drain(..) {
                    let (Missing::Figure(figure) | Missing::FigureIn(figure, _)) = one else {
                        found.push(one);
                        continue;
                    };
                    let new = || Diagnosis::of(solved, LaneId::new(*row));
                    let causes = replays.entry(*row).or_insert_with(new).causes(figure);
                    if causes.is_empty() {
                        found.push(one);
                    }
                    found.extend(causes.into_iter().map(Missing::Cause));
                }
                for one in found {
                    if !missing.contains(&one) {
                        missing.push(one);
                    }
                }
            }
        });
    }

    /// Compares the rows of a chunk directly, and says which checks are to judge it themselves: those that always do, and
    /// those of which something is worse than ever before. None where all are, as a row is like no other before.
    fn compare(
        self,
        chunk: &Chunk<'_>,
        regimes: &[Regime],
        share: &mut Share,
    ) -> Option<BTreeSet<&'static str>> {
        let mut due = self.always.clone();
        // Few regimes meet in a chunk.
        let mut all: Vec<(&Regime, &Learned)> = Vec::new();
        for (row, regime) in regimes.iter().enumerate() {
            // What of it can be judged hangs on what went before.
            if chunk.is_in_doubt(row) {
                return None;
            }
            let place = all.iter().position(|(other, _)| *other == regime).unwrap_or(all.len());
            if place == all.len() {
                all.push((regime, self.learned.get(regime)?));
            }
            let learned = all[place].1;
            for compared in &learned.compared {
                let comparison = compared.again(chunk, row);
                // What is not known is no better than anything.
                let least = self.least.at(compared.place);
                if comparison.headroom.partial_cmp(&least).is_none_or(Ordering::is_lt) {
                    due.insert(compared.key.check);
                } else if !comparison.holds() {
                    let carried = comparison.carried_value;
                    share.fails.push(Fails { key: compared.key, row, carried });
                }
            }
            share.not_judged.extend(&learned.not_judged);
        }
        Some(due)
    }

    /// Lets checks judge a chunk. Of a chunk only the worst rows can be the worst of all, so that no other verdict is kept,
    /// but those of rows from which something is learned.
    fn judge(
        self,
        chunk: &mut Chunk<'_>,
        regimes: &[Regime],
        by_checks: &dyn Fn(&str) -> bool,
        share: &mut Share,
    ) {
        let new = if share.judged { self.new_regimes(regimes, chunk) } else { Vec::new() };
        let mut judged: Vec<(usize, Verdict)> = Vec::new();
        chunk.show(|solved| {
            for check in self.checks {
                let name = check.about().name;
                if !by_checks(name) {
                    continue;
                }
                let in_each = self.worst.keys().filter(|key| key.check == name).count();
                let mut out = Verdicts::with_room(name, (in_each + 1) * regimes.len());
                check.judge(solved, &mut out);
                let mut worst = WorstOfCheck { verdicts: Vec::with_capacity(in_each + 1), last: 0 };
                for verdict in out.into_list() {
                    let Some(row) = verdict.lane().map(LaneId::index) else { continue };
                    share.note(row, &verdict);
                    if new.contains(&row) {
                        judged.push((row, verdict.clone()));
                    }
                    worst.offer(row, verdict);
                }
                share.verdicts.append(&mut worst.verdicts);
            }
        });
        for row in new {
            let own: Vec<&Verdict> =
                judged.iter().filter(|(of, _)| *of == row).map(|(_, verdict)| verdict).collect();
            share.learned.push((regimes[row].clone(), Learned::of(self.variant, chunk, row, &own)));
        }
        self.explain(chunk, &mut share.verdicts);
    }

    /// The first row of each regime that was not met before, and that hangs on nothing unknown.
    fn new_regimes(self, regimes: &[Regime], chunk: &Chunk<'_>) -> Vec<usize> {
        let mut new: Vec<usize> = Vec::new();
        for (row, regime) in regimes.iter().enumerate() {
            let is_new =
                !self.learned.contains_key(regime) && new.iter().all(|&known| regimes[known] != *regime);
            if is_new && !chunk.is_in_doubt(row) {
                new.push(row);
            }
        }
        new
    }
}

impl Share {
    /// Notes what fails in a row, or could not be judged.
    fn note(&mut self, row: usize, verdict: &Verdict) {
        match &verdict.outcome {
            Outcome::Fails { .. } => {
                let carried = verdict.comparison().map_or(f64::NAN, |compared| compared.carried_value);
                self.fails.push(Fails { key: Key::of(verdict), row, carried });
            }
            Outcome::NotJudged(_) => self.not_judged.push(Key::of(verdict)),
            Outcome::Holds(_) => {}
        }
    }
}

/// The worst that one check says of each part and defect in a chunk, with its row; of equals the first.
struct WorstOfCheck {
    verdicts: Vec<(usize, Verdict)>,
    /// Where the last one stands: a check goes through parts, defects and rows in some order, and then again.
    last: usize,
}

impl WorstOfCheck {
    fn offer(&mut self, row: usize, verdict: Verdict) {
        let is_same = |place: &usize| {
            let Some((_, other)) = self.verdicts.get(*place) else { return false };
            other.part == verdict.part && other.defect == verdict.defect
        };
        let near = [self.last, self.last + 1, 0].into_iter().find(is_same);
        match near.or_else(|| (0..self.verdicts.len()).find(is_same)) {
            None => {
                self.last = self.verdicts.len();
                self.verdicts.push((row, verdict));
            }
            Some(place) => {
                self.last = place;
                if is_worse(&verdict, &self.verdicts[place].1) {
                    self.verdicts[place] = (row, verdict);
                }
            }
        }
    }
}
