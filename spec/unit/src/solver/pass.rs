//! One pass over a plan: reads inputs and figures, puts figures, tells the trace.

use loadworthy_physics::Law;

use crate::ids::{FigureId, InputId};
use crate::trace::{Operand, Passing, Trace};

/// Figures and inputs of one block of lanes while a pass goes over them.
pub(crate) struct Pass<'a, const L: usize, T: Trace> {
    pub(crate) inputs: &'a [[f64; L]],
    pub(crate) figures: &'a mut [[f64; L]],
    pub(crate) trace: &'a mut T,
}

impl<const L: usize, T: Trace> Pass<'_, L, T> {
    /// The same, of what is reckoned again before the pass ends.
    pub(crate) fn passing<R>(&mut self, reckon: impl FnOnce(&mut Pass<'_, L, Passing<'_, T>>) -> R) -> R {
        let mut trace = Passing(&mut *self.trace);
        reckon(&mut Pass { inputs: self.inputs, figures: &mut *self.figures, trace: &mut trace })
    }

    /// An input in all lanes.
    #[inline(always)]
    pub(crate) fn input(&self, id: InputId) -> [f64; L] {
        self.inputs[id.index()]
    }

    /// A figure in all lanes.
    #[inline(always)]
    pub(crate) fn figure(&self, id: FigureId) -> [f64; L] {
        self.figures[id.index()]
    }

    /// What an operand is in one lane; a curve is no number.
    #[inline(always)]
    pub(crate) fn at(&self, l: usize) -> impl Fn(Operand) -> f64 + Copy + use<'_, L, T> {
        let (inputs, figures) = (self.inputs, &*self.figures);
        move |operand| match operand {
            Operand::Figure(id) => figures[id.index()][l],
            Operand::Input(id) => inputs[id.index()][l],
            Operand::Curve(_) => f64::NAN,
        }
    }

    /// Puts a figure in all lanes, and says how it came about.
    #[inline(always)]
    pub(crate) fn put(
        &mut self,
        out: FigureId,
        law: &'static Law,
        from: &[Operand],
        by_lane: impl FnMut(usize) -> f64,
    ) -> [f64; L] {
        let value = core::array::from_fn(by_lane);
        self.figures[out.index()] = value;
        self.trace.step_to(out, value[0], law, from);
        value
    }

    /// The sum of figures and inputs.
    #[inline]
    pub(crate) fn sum(&self, terms: &[Operand]) -> [f64; L] {
        let mut sum = [0.0; L];
        for term in terms {
            let term = self.operand(*term);
            for l in 0..L {
                sum[l] += term[l];
            }
        }
        sum
    }

    /// Puts the sum of figures and inputs, and says so.
    #[inline]
    pub(crate) fn put_sum(&mut self, out: FigureId, law: &'static Law, terms: &[Operand]) -> [f64; L] {
        let sum = self.sum(terms);
        self.figures[out.index()] = sum;
        self.trace.step_to(out, sum[0], law, terms);
        sum
    }

    /// Puts the sum of products of pairs, and says so.
    #[inline]
    pub(crate) fn put_products(&mut self, out: FigureId, law: &'static Law, pairs: &[Operand]) -> [f64; L] {
        let mut sum = [0.0; L];
        for pair in pairs.chunks_exact(2) {
            let (value, count) = (self.operand(pair[0]), self.operand(pair[1]));
            for l in 0..L {
                sum[l] += value[l] * count[l];
            }
        }
        self.figures[out.index()] = sum;
        self.trace.step_to(out, sum[0], law, pairs);
        sum
    }

    /// What an operand is in all lanes; a curve is no number and counts as zero.
    #[inline]
    pub(crate) fn operand(&self, operand: Operand) -> [f64; L] {
        match operand {
            Operand::Figure(id) => self.figures[id.index()],
            Operand::Input(id) => self.inputs[id.index()],
            Operand::Curve(_) => [0.0; L],
        }
    }
}
