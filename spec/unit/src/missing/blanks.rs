//! Hears every pass of a lane, and keeps of each figure where it was lost.

use loadworthy_physics::Law;

use crate::ids::FigureId;
use crate::trace::{Operand, Trace};

/// The first step after which a figure had no value.
pub(super) struct Blank {
    pub(super) out: FigureId,
    pub(super) law: &'static Law,
    pub(super) from: Vec<Operand>,
    /// Figures among these that had none before, or that are reckoned later in the pass.
    open: Vec<FigureId>,
    /// The pass in which it was.
    pass: usize,
}

/// What is known of each figure, under its number.
#[derive(Clone)]
struct Heard {
    /// Its last value.
    last: f64,
    is_lost: bool,
    /// The pass in which it was reckoned last.
    pass: usize,
    /// Place of its blank.
    blank: Option<usize>,
}

/// Where each figure was lost.
pub(super) struct Blanks {
    heard: Vec<Heard>,
    /// In the order in which they were lost.
    blanks: Vec<Blank>,
    pass: usize,
}

impl Blanks {
    /// Before anything is heard of so many figures.
    pub(super) fn new(figures: usize) -> Self {
        let unheard = Heard { last: f64::NAN, is_lost: false, pass: 0, blank: None };
        Self { heard: vec![unheard; figures], blanks: Vec::new(), pass: 0 }
    }

    /// Where a figure was lost.
    pub(super) fn of(&self, figure: FigureId) -> Option<&Blank> {
        self.blanks.get(self.heard[figure.index()].blank?)
    }

    /// Figures that a blank follows from and that had no value either. Of one that is reckoned later in its pass, what is
    /// used is of the same making: heat is known before the losses are told that it comes from.
    pub(super) fn open(&self, blank: &Blank) -> impl Iterator<Item = FigureId> {
        let is_same = |of: &Blank| of.pass <= blank.pass;
        blank.open.iter().copied().filter(move |&figure| self.of(figure).is_some_and(is_same))
    }

    /// The last value that a figure had.
    pub(super) fn last(&self, figure: FigureId) -> f64 {
        self.heard[figure.index()].last
    }

    /// All of them, the first lost first.
    pub(super) fn in_order(&self) -> impl Iterator<Item = &Blank> {
        self.blanks.iter()
    }

    fn lost(&mut self, out: FigureId, law: &'static Law, from: &[Operand]) {
        let heard = &mut self.heard[out.index()];
        (heard.is_lost, heard.pass) = (true, self.pass);
        if heard.blank.is_some() {
            return;
        }
        let is_open = |heard: &Heard| heard.is_lost || heard.pass < self.pass;
        let open = from.iter().filter_map(|operand| match *operand {
            Operand::Figure(id) if id != out && is_open(&self.heard[id.index()]) => Some(id),
            _ => None,
        });
        let blank = Blank { out, law, from: from.to_vec(), open: open.collect(), pass: self.pass };
        self.heard[out.index()].blank = Some(self.blanks.len());
        self.blanks.push(blank);
    }
}

impl Trace for Blanks {
    const LISTENS: bool = true;
    const EVERY_PASS: bool = true;

    fn begin(&mut self) {
        self.pass += 1;
    }

    /// Without a value it is taken as lost where anything is that it follows from.
    fn step(&mut self, out: FigureId, law: &'static Law, from: &[Operand]) {
        self.lost(out, law, from);
        let is_lost =
            |of: &Operand| matches!(*of, Operand::Figure(id) if id != out && self.heard[id.index()].is_lost);
        self.heard[out.index()].is_lost = from.iter().any(is_lost);
    }

    fn step_to(&mut self, out: FigureId, value: f64, law: &'static Law, from: &[Operand]) {
        if value.is_finite() {
            let heard = &mut self.heard[out.index()];
            (heard.last, heard.is_lost, heard.pass) = (value, false, self.pass);
        } else {
            self.lost(out, law, from);
        }
    }

    fn together(&mut self, _: &[FigureId], _: f64) {}
}
