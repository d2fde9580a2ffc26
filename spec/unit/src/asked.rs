//! What a check asks of a solved variant: where a trial answers it to the bit as the description does, the check would
//! judge the trial as it judged the description.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::ids::{FigureId, InputId};

/// Questions to a solved variant, or those that a trial answers otherwise.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    figures: Places,
    inputs: Places,
    /// How lanes ended, or how nearly they did not.
    states: bool,
    /// Anything else.
    rest: bool,
}

impl Asked {
    pub(crate) const fn new(figures: Places, inputs: Places, states: bool, rest: bool) -> Self {
        Self { figures, inputs, states, rest }
    }

    /// Whether any of the questions is among those that are answered otherwise.
    #[must_use]
    pub fn meets(&self, moved: &Self) -> bool {
        (self.rest && moved.rest)
            || (self.states && moved.states)
            || self.figures.meet(&moved.figures)
            || self.inputs.meet(&moved.inputs)
    }
}

/// Some of the places of a table.
#[derive(Clone, Debug, Default)]
pub(crate) struct Places(Vec<u64>);

impl Places {
    pub(crate) fn of(all: impl Iterator<Item = bool>) -> Self {
        let mut words = Vec::new();
        for (place, is_one) in all.enumerate() {
            if place % 64 == 0 {
                words.push(0);
            }
            if let (true, Some(word)) = (is_one, words.last_mut()) {
                *word |= 1 << (place % 64);
            }
        }
        Self(words)
    }

    /// The places at which two tables are not the same to the bit. Every lane is looked at without a branch: it is asked of
    /// all figures at every trial, and nearly all are equal.
    pub(crate) fn at_which_differ<const L: usize>(own: &[[f64; L]], its: &[[f64; L]]) -> Self {
        let differ = |(own, its): (&[f64; L], &[f64; L])| {
            let bits = own.iter().zip(its).fold(0, |bits, (own, its)| bits | (own.to_bits() ^ its.to_bits()));
            u64::from(bits != 0)
        };
        let word = |(own, its): (&[[f64; L]], &[[f64; L]])| {
            let each = own.iter().zip(its).map(differ).enumerate();
            each.fold(0, |word, (place, differs)| word | (differs << place))
        };
        Self(own.chunks(64).zip(its.chunks(64)).map(word).collect())
    }

    fn meet(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).any(|(own, its)| own & its != 0)
    }
}

impl FromIterator<Self> for Places {
    /// The places that are among any of them.
    fn from_iter<I: IntoIterator<Item = Self>>(all: I) -> Self {
        let join = |mut joined: Self, one: Self| {
            joined.0.resize(joined.0.len().max(one.0.len()), 0);
            joined.0.iter_mut().zip(&one.0).for_each(|(joined, one)| *joined |= one);
            joined
        };
        all.into_iter().fold(Self::default(), join)
    }
}

/// Notes what is asked.
#[derive(Debug)]
pub(crate) struct Ear {
    figures: Vec<AtomicBool>,
    inputs: Vec<AtomicBool>,
    states: AtomicBool,
    rest: AtomicBool,
}

impl Ear {
    pub(crate) fn new(figures: usize, inputs: usize) -> Self {
        let none = |count| (0..count).map(|_| AtomicBool::new(false)).collect();
        let (states, rest) = (AtomicBool::new(false), AtomicBool::new(false));
        Self { figures: none(figures), inputs: none(inputs), states, rest }
    }

    pub(crate) fn figure(&self, id: FigureId) {
        self.figures[id.index()].store(true, Ordering::Relaxed);
    }

    pub(crate) fn input(&self, id: InputId) {
        self.inputs[id.index()].store(true, Ordering::Relaxed);
    }

    pub(crate) fn states(&self) {
        self.states.store(true, Ordering::Relaxed);
    }

    pub(crate) fn rest(&self) {
        self.rest.store(true, Ordering::Relaxed);
    }

    /// What was asked since this was asked last.
    pub(crate) fn take(&self) -> Asked {
        let take = |one: &AtomicBool| {
            let was = one.load(Ordering::Relaxed);
            if was {
                one.store(false, Ordering::Relaxed);
            }
            was
        };
        Asked {
            figures: Places::of(self.figures.iter().map(take)),
            inputs: Places::of(self.inputs.iter().map(take)),
            states: take(&self.states),
            rest: take(&self.rest),
        }
    }
}
