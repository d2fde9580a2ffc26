//! For how long sources have been beyond what they stand for good, how long after the time before, what they have given and
//! taken until then, and how warm that has left fuses.

use loadworthy_physics::{Current, SquaredCurrent, Time, fading_square};

use crate::ids::DutyId;
use crate::over_time::fuses::Notches;
use crate::over_time::mission::{Chunk, Rows};
use crate::plan::{Source, SourceLimit};
use crate::solved::{Solved, WIDTH};
use crate::variant::Variant;

/// Share by which times that rows add up to may miss what they mean.
const ROUNDING: f64 = 1e-9;

/// What sources and fuses remember from row to row.
#[derive(Clone, Debug)]
pub struct Stretch {
    lasts: f64,
    /// Mean squares of what each source gave and took, in A².
    squares: Vec<[f64; 2]>,
    /// Peaks of the current that each source gives and takes, and of its power.
    peaks: Vec<[Peak; 3]>,
    notches: Notches,
}

/// A time in which a source is beyond what it stands for good.
#[derive(Clone, Copy, Debug)]
struct Peak {
    is_on: bool,
    /// Time since the last one began, in s; infinite before the first.
    since: f64,
    /// From the one before that to it.
    apart: f64,
}

/// Before the first, or after what nobody knows.
const NONE: Peak = Peak { is_on: false, since: f64::INFINITY, apart: f64::INFINITY };

impl Peak {
    /// Takes a row in.
    fn go_on(&mut self, is_beyond: bool, lasts: f64) {
        if is_beyond && !self.is_on {
            (self.apart, self.since) = (self.since, 0.0);
        }
        self.is_on = is_beyond;
        self.since += lasts;
    }

    /// Whether one that may recur only so often has come too soon.
    fn is_too_soon(&self, every: f64) -> bool {
        self.is_on && self.apart < every * (1.0 - ROUNDING)
    }
}

impl Stretch {
    /// Begins with what a duty point went on with, or at rest.
    #[must_use]
    pub fn new(variant: &Variant, from: Option<DutyId>) -> Self {
        let sources = &variant.plan.sources;
        let mut squares = vec![[0.0; 2]; sources.len()];
        let lane = from.and_then(|from| variant.lane_ids().find(|&lane| variant.lane(lane).duty == from));
        if let Some(lane) = lane {
            let solved = Solved::new(variant);
            for (source, squares) in sources.iter().zip(&mut squares) {
                let amps = solved.figure(source.carries(), lane).unwrap_or(0.0);
                squares[usize::from(amps < 0.0)] = amps * amps;
            }
        }
        let notches = Notches::new(variant, from);
        Self { lasts: 0.0, squares, peaks: vec![[NONE; 3]; sources.len()], notches }
    }

    /// Follows the rows of a chunk, and notes in each how long the stretch has gone on, which peaks come too soon, and what
    /// currents come to.
    pub fn follow(&mut self, chunk: &mut Chunk<'_>, rows: &Rows) {
        for (row, &lasts) in rows.lasts.iter().enumerate() {
            self.remember(chunk, row, lasts);
            self.notches.follow(chunk, row, lasts);
            let is_beyond = chunk.is_solved(row)
                && chunk.base.plan.sources.iter().any(|source| beyond(source, chunk, row).contains(&true));
            self.lasts = if is_beyond { self.lasts + lasts } else { 0.0 };
            chunk.rows.duties[row].stretch = Some(if is_beyond { self.lasts } else { f64::INFINITY });
            chunk.rows.duties[row].too_soon = self.too_soon(chunk, row, lasts);
        }
    }

    /// Takes the peaks of a row in: one bit for each that its source states too rarely for.
    fn too_soon(&mut self, chunk: &Chunk<'_>, row: usize, lasts: f64) -> u64 {
        let mut bits = 0;
        for (source, peaks) in chunk.base.plan.sources.iter().zip(&mut self.peaks) {
            if !chunk.is_solved(row) {
                *peaks = [NONE; 3];
                continue;
            }
            let of_kinds = [&source.limits.discharge, &source.limits.charge, &source.limits.power];
            for ((peak, limits), is_beyond) in peaks.iter_mut().zip(of_kinds).zip(beyond(source, chunk, row))
            {
                peak.go_on(is_beyond, lasts);
                let soon = limits.iter().filter(|limit| limit.place < 62 && peak.is_too_soon(limit.every));
                bits = soon.fold(bits, |bits, limit| bits | 1 << limit.place);
            }
        }
        bits
    }

    /// Takes the currents of a row in. One that is not known is forgotten with all before it: what is left is the least.
    fn remember(&mut self, chunk: &mut Chunk<'_>, row: usize, lasts: f64) {
        for (source, squares) in chunk.base.plan.sources.iter().zip(&mut self.squares) {
            let Some((figure, memory)) = source.over_rows else { continue };
            let amps = chunk.raw(source.carries(), row);
            if !(chunk.is_solved(row) && amps.is_finite()) {
                *squares = [0.0; 2];
                continue;
            }
            let way = usize::from(amps < 0.0);
            for (k, square) in squares.iter_mut().enumerate() {
                let now = Current::new(if k == way { amps } else { 0.0 });
                let times = (Time::new(lasts), Time::new(chunk.input(memory, row)));
                *square = fading_square::after(SquaredCurrent::new(*square), now, times.0, times.1).si();
            }
            chunk.blocks[row / WIDTH].figures[figure.index()][row % WIDTH] = squares[way].sqrt();
        }
    }
}

/// Whether a source gives current, takes current, or passes power beyond what it stands for good.
fn beyond(source: &Source, chunk: &Chunk<'_>, row: usize) -> [bool; 3] {
    let (current, power) = (chunk.raw(source.carries(), row), chunk.raw(source.power, row));
    let more = |carried: f64, limits: &[SourceLimit]| {
        let for_good = limits.iter().find(|limit| limit.lasts.is_infinite());
        for_good.is_some_and(|limit| carried > chunk.input(limit.most, row))
    };
    let limits = &source.limits;
    // A generator or a fuel cell that takes power is held against what it gives.
    let takes = if source.is_battery { &limits.charge } else { &limits.discharge };
    [more(current, &limits.discharge), more(-current, takes), more(power.abs(), &limits.power)]
}
