//! Overloads of what stands behind fuses: what bounds the current that a conductor may carry for good.

use loadworthy_physics::{Current, Time, fuse};

use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Delivered, Fuse, Plan};
use crate::trace::Operand;

/// Direct current of a bridge over the crest in its phases, at most: P = 3/2·V̂·Î, and no modulation forms a V̂ of more than
/// 2/π of the link.
const DIRECT: f64 = 3.0 / core::f64::consts::PI;

/// Longest time in s that a contactor may wait for and end an overload of the conductors behind it. Their time constants are some
/// five minutes and more: in a minute at twice its current one that was warm from service warms by half of its rise more.
pub const LATEST: f64 = 60.0;

/// What bounds each of several ends of buses.
pub type Ends = Vec<Vec<Bound>>;

/// A conductor on whose way a fuse stands, or behind converters that alone feed its bus.
#[derive(Clone, Debug)]
pub struct Overload {
    /// The conductor, in the plan.
    pub conductor: usize,
    /// The fuse that is told with it, in the plan; none where converters alone feed its bus and no fuse stands on its way.
    pub fuse: Option<usize>,
    /// What would say how much a converter delivers at most that alone feeds it, where nothing bounds it.
    pub unlimited: Option<InputId>,
    /// What bounds its current, each by itself.
    pub own: Vec<Bound>,
    /// Ends of which the sum bounds it as well: all others at its bus, or all that feed a stage before its diodes.
    pub sums: Vec<Ends>,
    /// A stage whose trip bounds nothing here, since its diodes conduct on.
    pub past_diodes: Option<PartId>,
    /// Whether something hangs there that no control holds back: a load that is no converter.
    pub is_passive: bool,
    /// What could not be read and may end it sooner.
    pub unread: Option<InputId>,
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
    /// Ends of which the sum bounds it as well.
    pub sums: Vec<Ends>,
    /// Whether something hangs there that no control holds back.
    pub is_passive: bool,
    /// When the control of a contactor of its circuit opens it, where none there says so.
    pub unstated: Option<InputId>,
    /// Current that melts it in the end.
    pub melts: FigureId,
    /// Largest current below those that it breaks that nothing else ends.
    pub unbroken: FigureId,
    /// Contactors of its circuit that their control opens, each with the largest overload that it opens.
    pub opened: Vec<(usize, FigureId)>,
    /// Where there is one, how far the fuse and the first of them are apart.
    pub apart: Option<Apart>,
}

/// A fuse that overloads melt without being broken, and the contactor that opens before.
#[derive(Clone, Copy, Debug)]
pub struct Apart {
    /// The largest overload that the fuse does not break.
    pub unbroken: FigureId,
    /// The load held for good that leaves it as warm as what it carries does.
    pub load: FigureId,
    /// What certainly does not melt it, after that load, until the first contactor opens.
    pub unmelted: FigureId,
    /// How long a duty point lasts, and how soon it comes again.
    pub cycle: [InputId; 2],
}

/// Something that bounds a current.
#[derive(Clone, Copy, Debug)]
pub enum Bound {
    /// A fuse, in the plan.
    Fuse(usize),
    /// A contactor that opens above a current.
    Opens {
        /// The contactor.
        part: PartId,
        /// Current above which its control opens it.
        above: InputId,
        /// How long that waits.
        after: InputId,
    },
    /// A source that drives no more into a short circuit.
    Source(PartId, InputId),
    /// The trip of a stage, with its tolerance.
    Trip {
        /// The stage.
        stage: PartId,
        /// Current at which it responds.
        level: InputId,
        /// How far that level lies apart; none of chokes at the output of a stage with a transformer, whose trip is stated as it is.
        tolerance: Option<InputId>,
        /// Interleaved legs, or chokes at an output, that it stands for; none of a bridge.
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
            // One that waits for longer has let conductors warm as if the overload lasted; what is missing stays missing.
            Self::Opens { after, .. } if value(after.into()) > LATEST => f64::INFINITY,
            Self::Opens { above, after, .. } => value(above.into()) + 0.0 * value(after.into()),
            Self::Source(_, highest) => value(highest.into()),
            Self::Trip { level, tolerance, legs, .. } => {
                let apart = tolerance.map_or(0.0, |tolerance| value(tolerance.into()));
                let late = value(level.into()) * (1.0 + apart);
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
            Self::Opens { above, after, .. } => from.extend([above, after].map(Operand::from)),
            Self::Source(_, input) => from.push(input.into()),
            Self::Trip { level, tolerance, legs, .. } => {
                from.extend([level].into_iter().chain(tolerance).chain(legs).map(Operand::from));
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
        least(&self.own, &self.sums, |bound| bound.current(&plan.fuses, &value), counts)
    }

    /// What that follows from.
    pub(crate) fn from(&self, plan: &Plan, from: &mut Vec<Operand>) {
        follows(&self.own, &self.sums, plan, from);
    }
}

impl Delivered {
    /// What converters deliver together at most, in A; missing where nothing bounds one of them.
    pub(crate) fn highest(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> f64 {
        if self.ends.is_empty() {
            return f64::NAN;
        }
        let of_end = |all: &Vec<Bound>| {
            let all = all.iter().map(|bound| bound.passes(&plan.fuses, &value));
            all.fold(f64::INFINITY, smaller)
        };
        self.ends.iter().map(of_end).sum()
    }

    /// What that follows from.
    pub(crate) fn from(&self, plan: &Plan, from: &mut Vec<Operand>) {
        for bound in self.ends.iter().flatten() {
            bound.from(&plan.fuses, from);
        }
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
        let (least, by) = least(&self.own, &self.sums, passes, is_other);
        // Without either, nothing is known.
        if least.is_nan() || breaks.is_nan() {
            (f64::NAN, None)
        } else if least < breaks {
            (least, by)
        } else {
            (breaks, None)
        }
    }

    /// The most in A that may flow while neither the fuse nor a contactor has ended it.
    pub(crate) fn flows(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> f64 {
        let fuse = &plan.fuses[self.fuse];
        let is_other = |bound| match bound {
            Bound::Fuse(own) => own != self.fuse,
            Bound::Opens { .. } => false,
            Bound::Source(..) | Bound::Trip { .. } => true,
        };
        let passes = |bound: Bound| bound.passes(&plan.fuses, &value);
        let (least, _) = least(&self.own, &self.sums, passes, is_other);
        smaller(value(fuse.figures.highest_fault.into()), least)
    }

    /// The largest overload in A that a contactor opens which waits for so many s: what the fuse does not break, and with a
    /// time-current curve what may not have melted it by then.
    pub(crate) fn opened(&self, plan: &Plan, waits: f64, value: impl Fn(Operand) -> f64) -> f64 {
        let fuse = &plan.fuses[self.fuse];
        let melts = melts(fuse, &value);
        let by_curve = fuse.curve.as_ref().map_or(melts, |curve| {
            fuse::TimeCurrent(&curve.points).melts_within(Time::new(waits)) * value(fuse.rated.into())
        });
        let slowly = [melts, value(fuse.least_breaking.into())].into_iter().fold(by_curve, larger);
        smaller(self.flows(plan, value), slowly)
    }

    /// The largest overload in A that the fuse does not break, whatever opens its circuit; nothing where it breaks whatever
    /// melts it.
    pub(crate) fn unbroken_by_itself(&self, plan: &Plan, value: impl Fn(Operand) -> f64) -> f64 {
        let fuse = &plan.fuses[self.fuse];
        let breaks = value(fuse.least_breaking.into());
        let needs_none = breaks <= value(fuse.rated.into()) * value(fuse.conventional.into());
        if needs_none { 0.0 } else { smaller(breaks, self.flows(plan, value)) }
    }

    /// The largest current in A that certainly does not melt it until the first contactor opens, after a load in A that has
    /// settled; what it carries for good where its curve says nothing of so long a time, or where there is none.
    pub(crate) fn unmelted(&self, plan: &Plan, load: f64, value: impl Fn(Operand) -> f64) -> f64 {
        let fuse = &plan.fuses[self.fuse];
        let good = value(fuse.figures.continuous.into());
        let Some(curve) = &fuse.curve else { return good };
        let waits = self.waits(plan).map(|after| value(after.into())).fold(f64::INFINITY, smaller);
        // Warm air leaves it less of a short overload, as it does for good.
        let cold = fuse::TimeCurrent(&curve.points).stands(Time::new(waits)) * good;
        if cold.is_nan() {
            return good;
        }
        let [cold, load, good] = [cold, load, good].map(Current::new);
        larger(fuse::after_load(cold, load, good).si(), good.si())
    }

    /// How long each contactor waits that opens its circuit.
    fn waits(&self, plan: &Plan) -> impl Iterator<Item = InputId> {
        self.opened.iter().filter_map(|&(one, _)| Some(plan.conductors[one].opens?.after))
    }

    /// What [`Self::unmelted`] follows from.
    pub(crate) fn unmelted_from(&self, apart: &Apart, plan: &Plan, from: &mut Vec<Operand>) {
        let fuse = &plan.fuses[self.fuse];
        from.extend([apart.load, fuse.figures.continuous].map(Operand::Figure));
        from.extend(fuse.curve.as_ref().map(|curve| Operand::Curve(curve.curve)));
        from.extend(self.waits(plan).map(Operand::Input));
    }

    /// What that follows from.
    pub(crate) fn from(&self, plan: &Plan, from: &mut Vec<Operand>) {
        let fuse = &plan.fuses[self.fuse];
        from.extend([fuse.least_breaking, fuse.rated].map(Operand::Input));
        follows(&self.own, &self.sums, plan, from);
    }
}

/// The current in A that melts a fuse in the end.
fn melts(fuse: &Fuse, value: impl Fn(Operand) -> f64) -> f64 {
    value(fuse.figures.continuous.into()) * value(fuse.conventional.into())
}

/// The least of what bounds a current, each by itself and several ends together, and what bounds it alone, where one does.
fn least(
    own: &[Bound],
    sums: &[Ends],
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
    let of_end = |all: &Vec<Bound>| {
        let all = all.iter().copied().filter(|&bound| counts(bound));
        all.map(&current).fold(f64::INFINITY, smaller)
    };
    for ends in sums {
        let sum: f64 = ends.iter().map(of_end).sum();
        if !(least.is_nan() || sum >= least) {
            let only = if let [one] = ends.as_slice() { one.as_slice() } else { &[] };
            by = only.iter().copied().find(|&bound| current(bound) <= sum);
            least = sum;
        }
    }
    (least, by)
}

/// What bounds follow from.
fn follows(own: &[Bound], sums: &[Ends], plan: &Plan, from: &mut Vec<Operand>) {
    for &bound in own.iter().chain(sums.iter().flatten().flatten()) {
        bound.from(&plan.fuses, from);
    }
}

/// The smaller of two; what is missing stays missing.
fn smaller(one: f64, other: f64) -> f64 {
    if one.is_nan() || one <= other { one } else { other }
}

/// The larger of two; what is missing stays missing.
fn larger(one: f64, other: f64) -> f64 {
    if one.is_nan() || one >= other { one } else { other }
}
