//! The account of one duty point: every flow of power in it, and their sum.

use loadworthy_unit::{Cause, Diagnosis, FigureId, LaneId, LaneState, Solved};

use crate::solutions::Solutions;

use super::walk::{Kind, Line, lines};

/// Share of the power that enters which a balance may leave open.
const MOST_OPEN: f64 = 1e-3;

/// A duty point of a variant, in the corner in which most is lost.
pub(crate) struct Account<'s, 'u> {
    pub(crate) solved: &'s Solved<'u>,
    pub(crate) lane: LaneId,
    /// Corners that it was chosen from.
    pub(crate) corners: usize,
    /// Every flow, from the sources down.
    pub(crate) lines: Vec<Line<'u>>,
    pub(crate) sum: Sum,
    /// Why something of it is not known; nothing where all is.
    pub(crate) missing: Vec<Cause>,
}

/// What all flows come to; each absent where one of its terms is not known.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sum {
    /// What enters the unit: from sources, and from machines that recover.
    pub(crate) into: Option<f64>,
    /// What leaves it: to machines and loads, and to sources that take back.
    pub(crate) out: Option<f64>,
    /// What stages and conductors lose.
    pub(crate) losses: Option<f64>,
    /// What is lost inside the sources, before their terminals, as far as their resistance is known.
    pub(crate) inside_sources: Option<f64>,
    /// What conductors lose beyond what is drawn for them: ripple and skin effect in copper as warm as it gets.
    pub(crate) conductors: Option<f64>,
    /// What capacitors lose of their ripple, and discharge resistors at the voltage of their bus; the solution draws
    /// neither from a bus, so the account is without them.
    pub(crate) capacitors: Option<f64>,
    pub(crate) resistors: Option<f64>,
    /// Heat that the coolant takes up.
    pub(crate) to_coolant: Option<f64>,
    /// Heat that goes to the air: that of conductors on no pad and of magnetic components on no plate.
    pub(crate) to_air: Option<f64>,
}

impl Sum {
    /// What enters less what leaves and what is lost; rounding alone leaves something.
    pub(crate) fn residual(&self) -> Option<f64> {
        Some(self.into? - self.out? - self.losses?)
    }

    /// The same as a share of what enters.
    pub(crate) fn residual_share(&self) -> Option<f64> {
        let (residual, into) = (self.residual()?, self.into?);
        Some(if into > 0.0 { residual.abs() / into } else { 0.0 })
    }

    /// What leaves over what enters; nothing where nothing enters.
    pub(crate) fn efficiency(&self) -> Option<f64> {
        let into = self.into?;
        if into > 0.0 { Some(self.out? / into) } else { None }
    }

    /// Whether it adds up.
    pub(crate) fn closes(&self) -> bool {
        self.residual_share().is_some_and(|share| share < MOST_OPEN)
    }
}

impl Account<'_, '_> {
    /// How the solution of its lane ended.
    pub(crate) fn state(&self) -> LaneState {
        self.solved.state(self.lane)
    }

    /// Whether everything of it is known and adds up.
    pub(crate) fn is_complete(&self) -> bool {
        matches!(self.state(), LaneState::Solved { .. }) && self.missing.is_empty() && self.sum.closes()
    }

    /// A figure of its lane.
    pub(crate) fn figure(&self, figure: FigureId) -> Option<f64> {
        self.solved.figure(figure, self.lane)
    }
}

/// The accounts that were asked for: duty point by duty point, variant by variant.
pub(crate) fn accounts<'s, 'u>(solutions: &'s Solutions<'u>) -> Vec<Account<'s, 'u>> {
    let mut names: Vec<&str> = Vec::new();
    let mut all = Vec::new();
    for solved in &solutions.solved {
        for duty in solutions.duties(solved) {
            let name = solved.variant.duties[duty].name.as_str();
            let order = names.iter().position(|known| *known == name).unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            });
            let lanes: Vec<LaneId> = solved
                .variant
                .lane_ids()
                .filter(|lane| solved.variant.lane(*lane).duty.index() == duty)
                .collect();
            if let Some(lane) = worst(solved, &lanes) {
                all.push((order, account(solved, lane, lanes.len())));
            }
        }
    }
    all.sort_by_key(|(order, _)| *order);
    all.into_iter().map(|(_, account)| account).collect()
}

/// The corner that a reader must know: one without a solution, otherwise the one with most loss; of equals the first.
fn worst(solved: &Solved<'_>, lanes: &[LaneId]) -> Option<LaneId> {
    let plan = &solved.variant.plan;
    let weight = |lane: LaneId| match solved.state(lane) {
        LaneState::NoSolution { .. } | LaneState::Undecided { .. } => f64::INFINITY,
        LaneState::Solved { .. } => {
            let stages = plan.stages.iter().map(|stage| stage.figures.loss);
            let figures = stages.chain(plan.conductors.iter().map(|conductor| conductor.loss));
            figures.filter_map(|figure| solved.figure(figure, lane)).sum()
        }
    };
    let mut worst: Option<(LaneId, f64)> = None;
    for &lane in lanes {
        let own = weight(lane);
        if worst.is_none_or(|(_, known)| known * (1.0 + crate::solutions::ALIKE) < own) {
            worst = Some((lane, own));
        }
    }
    worst.map(|(lane, _)| lane)
}

fn account<'s, 'u>(solved: &'s Solved<'u>, lane: LaneId, corners: usize) -> Account<'s, 'u> {
    let is_solved = matches!(solved.state(lane), LaneState::Solved { .. });
    let mut wanted = Wanted { solved, lane, open: Vec::new() };
    let lines = if is_solved { lines(&mut wanted) } else { Vec::new() };
    let sum = if is_solved { sum(&lines, &mut wanted) } else { Sum::default() };
    let mut missing = Vec::new();
    if !is_solved || !wanted.open.is_empty() {
        let mut why = Diagnosis::of(solved, lane);
        // A lane without a solution has one reason, whatever is asked of it.
        let any = solved.variant.plan.stages.iter().map(|stage| stage.figures.loss);
        let open = if is_solved { wanted.open } else { any.take(1).collect() };
        missing = why.causes_of(open);
    }
    Account { solved, lane, corners, lines, sum, missing }
}

/// Figures of a lane, with a note of those that have no value.
pub(super) struct Wanted<'s, 'u> {
    pub(super) solved: &'s Solved<'u>,
    pub(super) lane: LaneId,
    pub(super) open: Vec<FigureId>,
}

impl Wanted<'_, '_> {
    /// A figure that the balance needs.
    pub(super) fn get(&mut self, figure: FigureId) -> Option<f64> {
        let value = self.may(figure);
        if value.is_none() {
            self.open.push(figure);
        }
        value
    }

    /// A figure that it is complete without.
    pub(super) fn may(&self, figure: FigureId) -> Option<f64> {
        self.solved.figure(figure, self.lane)
    }
}

fn sum(lines: &[Line<'_>], wanted: &mut Wanted<'_, '_>) -> Sum {
    let of = |is: &dyn Fn(&Line<'_>) -> bool, value: &dyn Fn(&Line<'_>) -> Option<f64>| {
        lines.iter().filter(|line| is(line)).map(value).sum::<Option<f64>>()
    };
    let loses = |line: &Line<'_>| matches!(line.kind, Kind::Stage | Kind::Conductor);
    let plan = &wanted.solved.variant.plan;
    let bare =
        plan.magnetics.iter().filter(|magnetic| magnetic.place.is_none()).map(|magnetic| {
            Some(wanted.may(magnetic.loss)? * wanted.solved.input(magnetic.count, wanted.lane)?)
        });
    let bare = bare.sum::<Option<f64>>();
    let wires = of(&|line| line.kind == Kind::Conductor, &|line| line.loss);
    let pads = plan.coolant.iter().flat_map(|path| &path.places).flat_map(|place| &place.pads);
    let padded = pads.map(|&pad| wanted.may(plan.conductors[pad].loss)).sum::<Option<f64>>();
    let heat = plan.coolant.as_ref().map(|path| path.heat);
    Sum {
        into: of(&|line| line.is_boundary(), &|line| line.into),
        out: of(&|line| line.is_boundary(), &|line| line.out),
        losses: of(&loses, &|line| line.loss),
        inside_sources: lines.iter().filter_map(|line| line.inside).reduce(|all, one| all + one),
        conductors: left_out(
            plan.conductors
                .iter()
                .map(|conductor| Some(wanted.may(conductor.heating_loss?)? - wanted.may(conductor.loss)?)),
        ),
        capacitors: left_out(plan.banks.iter().map(|bank| {
            Some(wanted.may(bank.figures.loss)? * wanted.solved.input(bank.parts, wanted.lane)?)
        })),
        resistors: left_out(plan.stored.iter().filter_map(|stored| {
            stored.resistor.map(|(ohms, _)| {
                let volts = wanted.may(plan.buses[stored.bus].voltage)?;
                Some(volts * volts / wanted.solved.input(ohms, wanted.lane)?)
            })
        })),
        to_coolant: heat.and_then(|heat| wanted.get(heat)),
        to_air: bare.zip(wires).zip(padded).map(|((bare, wires), padded)| bare + wires - padded),
    }
}

/// The sum of what the account is without, as far as it is known.
fn left_out(each: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    each.flatten().reduce(|all, one| all + one)
}
