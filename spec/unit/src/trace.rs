//! What a solver tells while it works: nothing, or every step.

use loadworthy_physics::Law;

use crate::ids::{CurveId, FigureId, InputId};

/// What a step started from.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Operand {
    /// Another figure.
    Figure(FigureId),
    /// A number that the description states.
    Input(InputId),
    /// A data-sheet curve.
    Curve(CurveId),
}

impl From<FigureId> for Operand {
    fn from(id: FigureId) -> Self {
        Self::Figure(id)
    }
}

impl From<InputId> for Operand {
    fn from(id: InputId) -> Self {
        Self::Input(id)
    }
}

impl From<CurveId> for Operand {
    fn from(id: CurveId) -> Self {
        Self::Curve(id)
    }
}

/// Hears each step of a solver. The silent one costs nothing.
pub trait Trace {
    /// Whether anyone listens; lets the solver skip work that only a listener needs.
    const LISTENS: bool;

    /// Whether it hears every pass, what is reckoned again before a pass ends included; else the last alone.
    const EVERY_PASS: bool = false;

    /// A pass begins, where every one is heard.
    #[inline(always)]
    fn begin(&mut self) {}

    /// `out` followed from `from` by `law`.
    fn step(&mut self, out: FigureId, law: &'static Law, from: &[Operand]);

    /// The same, with the value that followed.
    #[inline(always)]
    fn step_to(&mut self, out: FigureId, _: f64, law: &'static Law, from: &[Operand]) {
        self.step(out, law, from);
    }

    /// `members` were solved together; what is left over in the worst of them is `residual`, in kelvin.
    fn together(&mut self, members: &[FigureId], residual: f64);
}

/// Nobody listens.
#[derive(Copy, Clone, Debug, Default)]
pub struct Silent;

impl Trace for Silent {
    const LISTENS: bool = false;

    #[inline(always)]
    fn step(&mut self, _: FigureId, _: &'static Law, _: &[Operand]) {}

    #[inline(always)]
    fn together(&mut self, _: &[FigureId], _: f64) {}
}

/// Told only where every pass is heard: what is reckoned again before the pass ends.
pub(crate) struct Passing<'a, T>(pub(crate) &'a mut T);

impl<T: Trace> Trace for Passing<'_, T> {
    const LISTENS: bool = T::EVERY_PASS;
    const EVERY_PASS: bool = T::EVERY_PASS;

    #[inline(always)]
    fn step(&mut self, out: FigureId, law: &'static Law, from: &[Operand]) {
        if T::EVERY_PASS {
            self.0.step(out, law, from);
        }
    }

    #[inline(always)]
    fn step_to(&mut self, out: FigureId, value: f64, law: &'static Law, from: &[Operand]) {
        if T::EVERY_PASS {
            self.0.step_to(out, value, law, from);
        }
    }

    #[inline(always)]
    fn together(&mut self, _: &[FigureId], _: f64) {}
}

/// One step, remembered.
#[derive(Clone, Debug)]
pub struct Step {
    /// What followed.
    pub out: FigureId,
    /// By which law.
    pub law: &'static Law,
    /// From what.
    pub from: Vec<Operand>,
}

/// Remembers every step of one lane.
#[derive(Clone, Debug, Default)]
pub struct Steps {
    /// The steps, in the order taken.
    pub steps: Vec<Step>,
    /// Figures that were solved together, with the residual.
    pub together: Vec<(Vec<FigureId>, f64)>,
    /// Place of the last step of each figure, under its number.
    last: Vec<usize>,
}

impl Steps {
    /// The step that gave a figure.
    #[must_use]
    pub fn of(&self, out: FigureId) -> Option<&Step> {
        let place = *self.last.get(out.index())?;
        self.steps.get(place).filter(|step| step.out == out)
    }
}

impl Trace for Steps {
    const LISTENS: bool = true;

    fn step(&mut self, out: FigureId, law: &'static Law, from: &[Operand]) {
        if self.last.len() <= out.index() {
            self.last.resize(out.index() + 1, 0);
        }
        self.last[out.index()] = self.steps.len();
        self.steps.push(Step { out, law, from: from.to_vec() });
    }

    fn together(&mut self, members: &[FigureId], residual: f64) {
        self.together.push((members.to_vec(), residual));
    }
}
