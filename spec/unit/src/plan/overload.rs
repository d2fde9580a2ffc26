//! Overloads of what stands behind fuses: what bounds the current that a conductor may carry for good.

use loadworthy_physics::{Current, fuse};

use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Fuse, Plan};
use crate::trace::Operand;

/// Direct current of a bridge over the crest in its phases, at most: P = 3/2·V̂·Î, and no modulation forms a V̂ of more than
/// 2/π of the link.
const DIRECT: f64 = 3.0 / core::f64::consts::PI;

/// A conductor on whose way a fuse stands.
#[derive(Clone, Debug)]
pub struct Overload {
    /// The conductor, in the plan.
    pub conductor: usize,
    /// The fuse that is told with it, in the plan.
    pub fuse: usize,
    /// What bounds its current, each by itself.
    pub own: Vec<Bound>,
    /// What bounds each other end at its bus, so that the sum of them bounds it as well; empty where one of them is not bounded.
    pub others: Vec<Vec<Bound>>,
    /// Whether something hangs there that no control holds back: a load that is no converter.
    pub is_passive: bool,
    /// Largest current that nothing ends.
    pub unended: FigureId,
    /// Current that it carries for good, where its temperature says that.
    pub capacity: Option<FigureId>,
}

/// A fuse and what else ends an overload through it: one that melts it and is less than it breaks has to be ended elsewhere.
#[derive(Clone, Debug)]
pub struct Melted {
    /// The fuse, in the plan.
    pub fuse: usize,
    /// What bounds its current, each by itself, the fuse among them.
    pub own: Vec<Bound>,
    /// What bounds each other end at its bus; empty where one of them is not bounded.
    pub others: Vec<Vec<Bound>>,
    /// Whether something hangs there that no control holds back.
    pub is_passive: bool,
    /// When the control of a contactor of its circuit opens it, where none there says so.
    pub unstated: Option<InputId>,
    /// Current that melts it in the end.
    pub melts: FigureId,
    /// Largest current below those that it breaks that nothing else ends.
    pub unbroken: FigureId,
}

/// Something that bounds a current.
#[derive(Clone, Copy, Debug)]
pub enum Bound {
    /// A fuse, in the plan.
    Fuse(usize),
    /// A contactor that opens above a current.
    Opens(PartId, InputId),
    /// A source that drives no more into a short circuit.
    Source(PartId, InputId),
    /// The trip of a stage, with its tolerance.
    Trip {
        /// The stage.
        stage: PartId,
        /// Current at which it responds.
        level: InputId,
        /// How far that level lies apart.
        tolerance: InputId,
        /// Interleaved legs that it stands for, of a chopper; none of a bridge.
        legs: Option<InputId>,
    },
}

impl Bound {
    /// The current in A that it bounds to, as it is held against what a conductor carries for good.
    pub fn current(self, fuses: &[Fuse], value: impl Fn(Operand) -> f64) -> f64 {
        match self {
            Self::Fuse(fuse) => {
                let fuse = &fuses[fuse];
                let continuous = Current::new(value(fuse.figures.continuous.into()));
                fuse::least_carried(continuous, value(fuse.conventional.into())).si()
            }
            Self::Opens(_, above) => value(above.into()),
            Self::Source(_, highest) => value(highest.into()),
            Self::Trip { level, tolerance, legs, .. } => {
                let late = value(level.into()) * (1.0 + value(tolerance.into()));
                late * legs.map_or(DIRECT, |legs| value(legs.into()))
            }
        }
    }

    /// The current in A that passes it for good: of a fuse what melts it in the end.
    fn passes(self, fuses: &[Fuse], value: impl Fn(Operand) -> f64) -> f64 {
        match self {
            Self::Fuse(fuse) => melts(&fuses[fuse], value),
            _ => self.current(fuses, value),
        }
    }

    /// What it follows from.
    fn from(self, fuses: &[Fuse], from: &mut Vec<Operand>) {
        match self {
            Self::Fuse(fuse) => {
                let fuse = &fuses[fuse];
                from.push(fuse.figures.continuous.into());
                from.push(fuse.conventional.into());
            }
            Self::Opens(_, input) | Self::Source(_, input) => from.push(input.into()),
            Self::Trip { level, tolerance, legs, .. } => {
                from.extend([level, tolerance].into_iter().chain(legs).map(Operand::from));
            }
        }
    }
}

impl Overload {
    /// The largest current in A that nothing ends, and what bounds it alone, where one does; missing where anything is that
    /// might bound it.
    pub fn least(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> (f64, Option<Bound>) {
        self.least_of(plan, value, |_| true)
    }

    /// The same, were one fuse not there.
    pub fn without_fuse(&self, plan: &Plan, fuse: usize, value: impl Fn(Operand) -> f64) -> f64 {
        self.least_of(plan, value, |bound| !matches!(bound, Bound::Fuse(own) if own == fuse)).0
    }

    fn least_of(
        &self,
        plan: &Plan,
        value: impl Fn(Operand) -> f64,
        counts: impl Fn(Bound) -> bool,
    ) -> (f64, Option<Bound>) {
        least(&self.own, &self.others, |bound| bound.current(&plan.fuses, &value), counts)
    }

    /// What that follows from.
    pub(crate) fn from(&self, plan: &Plan, from: &mut Vec<Operand>) {
        follows(&self.own, &self.others, plan, from);
    }
}

impl Melted {
    /// The current in A that melts it in the end.
    pub(crate) fn melts(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> f64 {
        melts(&plan.fuses[self.fuse], value)
    }

    /// The largest current in A that nothing but the fuse ends and that the fuse does not break; what bounds it alone, where
    /// that is something else than the fuse.
    pub fn unbroken(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> (f64, Option<Bound>) {
        let fuse = &plan.fuses[self.fuse];
        let breaks = value(fuse.least_breaking.into());
        // What breaks all that melts it needs nothing else; warmer air lowers both alike.
        if breaks <= value(fuse.rated.into()) * value(fuse.conventional.into()) {
            return (0.0, None);
        }
        let is_other = |bound| !matches!(bound, Bound::Fuse(own) if own == self.fuse);
        let passes = |bound: Bound| bound.passes(&plan.fuses, &value);
        let (least, by) = least(&self.own, &self.others, passes, is_other);
        // Without either, nothing is known.
        if least.is_nan() || breaks.is_nan() {
            (f64::NAN, None)
        } else if least < breaks {
            (least, by)
        } else {
            (breaks, None)
        }
    }

    /// What that follows from.
    pub(crate) fn from(&self, plan: &Plan, from: &mut Vec<Operand>) {
        let fuse = &plan.fuses[self.fuse];
        from.extend([fuse.least_breaking, fuse.rated].map(Operand::Input));
        follows(&self.own, &self.others, plan, from);
    }
}

/// The current in A that melts a fuse in the end.
fn melts(fuse: &Fuse, value: impl Fn(Operand) -> f64) -> f64 {
    value(fuse.figures.continuous.into()) * value(fuse.conventional.into())
}

/// The least of what bounds a current, each by itself and all others together, and what bounds it alone, where one does.
fn least(
    own: &[Bound],
    others: &[Vec<Bound>],
    current: impl Fn(Bound) -> f64,
    counts: impl Fn(Bound) -> bool,
) -> (f64, Option<Bound>) {
    let (mut least, mut by) = (f64::INFINITY, None);
    for bound in own.iter().copied().filter(|&bound| counts(bound)) {
        let amps = current(bound);
        if least.is_nan() || amps >= least {
            continue;
        }
        (least, by) = (amps, Some(bound));
    }
    if !others.is_empty() {
        let of_end = |all: &Vec<Bound>| {
            let all = all.iter().copied().filter(|&bound| counts(bound));
            all.map(&current).fold(f64::INFINITY, smaller)
        };
        let sum: f64 = others.iter().map(of_end).sum();
        if !(least.is_nan() || sum >= least) {
            let only = if let [one] = others { one.as_slice() } else { &[] };
            by = only.iter().copied().find(|&bound| current(bound) <= sum);
            least = sum;
        }
    }
    (least, by)
}

/// What bounds follow from.
fn follows(own: &[Bound], others: &[Vec<Bound>], plan: &Plan, from: &mut Vec<Operand>) {
    for &bound in own.iter().chain(others.iter().flatten()) {
        bound.from(&plan.fuses, from);
    }
}

/// The smaller of two; what is missing stays missing.
fn smaller(one: f64, other: f64) -> f64 {
    if one.is_nan() || one <= other { one } else { other }
}
