//! Solved figures as JSON, and how one of them comes about.

use loadworthy_source::{NodeId, Tree};
use loadworthy_unit::trace::{Operand, Step};
use loadworthy_unit::{Derivation, FigureId, LaneState, Origin};
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::show::places::{self, Place};
use crate::solutions::{Found, Solutions};
use loadworthy_checks::corner;

use super::{Quantity, quantity, text};

#[derive(Serialize, JsonSchema)]
pub(super) struct Figures<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// How many problems the description has; with any, not all of it was read.
    problems: usize,
    /// Every figure in every duty point of every variant, and in every corner.
    figures: Vec<Figure>,
}

#[derive(Serialize, JsonSchema)]
struct Figure {
    /// The path of the figure.
    figure: String,
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// The duty point.
    duty_point: String,
    /// The corner of the duty point, in words; null where it has but one.
    corner: Option<String>,
    /// Its number; null where it is not known.
    quantity: Option<Quantity>,
}

/// All figures in every lane that was asked for.
pub(crate) fn table(described: &Described, solutions: &Solutions<'_>) -> String {
    let mut figures = Vec::new();
    for solved in &solutions.solved {
        for lane in solutions.lanes(solved) {
            let places = 0..solved.variant.tables.figures().len();
            figures.extend(places.map(|place| figure(Found { solved, figure: FigureId::new(place), lane })));
        }
    }
    text(&Figures {
        form: "loadworthy-figures",
        version: 1,
        file: &described.name,
        problems: described.problems.len(),
        figures,
    })
}

fn figure(Found { solved, figure, lane }: Found<'_, '_>) -> Figure {
    let variant = solved.variant;
    let dimension = variant.tables.figure_of(figure).dimension;
    Figure {
        figure: variant.tables.figure_path(figure),
        variant: variant.name.clone(),
        duty_point: variant.duty_of(lane).name.clone(),
        corner: corner::short(variant.lane(lane)),
        quantity: solved.figure(figure, lane).and_then(|value| quantity(value, dimension)),
    }
}

#[derive(Serialize, JsonSchema)]
pub(super) struct Derived<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// How many problems the description has; with any, not all of it was read.
    problems: usize,
    /// The path of the figure.
    #[serde(flatten)]
    figure: Figure,
    /// Whether the duty point has a solution.
    solved: bool,
    /// Every step that it rests on, nearest first.
    steps: Vec<StepShown>,
    /// Figures that were solved together, with what is left over in kelvin.
    together: Vec<Together>,
}

#[derive(Serialize, JsonSchema)]
struct StepShown {
    /// The path of the figure.
    figure: String,
    /// Its number; null where it is not known.
    quantity: Option<Quantity>,
    /// The name of the formula.
    law: &'static str,
    /// The formula.
    formula: &'static str,
    /// Where it is valid.
    validity: &'static str,
    /// Where it is from.
    source: &'static str,
    /// What it is reckoned from.
    from: Vec<From>,
}

#[derive(Serialize, JsonSchema)]
struct From {
    /// `figure`, `input` or `curve`.
    kind: &'static str,
    /// Its path.
    path: String,
    /// Its number; null where it is not known.
    quantity: Option<Quantity>,
    /// Whether an input is `written`, `patched`, `assumed`, `absent` or `broken`.
    #[serde(skip_serializing_if = "Option::is_none")]
    origin: Option<&'static str>,
    /// Where it stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<Place>,
    /// Where the value stands that a variant replaced.
    #[serde(skip_serializing_if = "Option::is_none")]
    replaced: Option<Place>,
}

#[derive(Serialize, JsonSchema)]
struct Together {
    /// The figures.
    figures: Vec<String>,
    /// What is left over, in K.
    residual: Option<f64>,
}

/// How a figure comes about in one lane.
pub(crate) fn derived(described: &Described, found: Found<'_, '_>, derivation: &Derivation) -> String {
    let tables = &found.solved.variant.tables;
    let mut steps = Vec::new();
    let mut seen = vec![false; tables.figures().len()];
    let mut open = std::collections::VecDeque::from([found.figure]);
    while let Some(id) = open.pop_front() {
        if std::mem::replace(&mut seen[id.index()], true) {
            continue;
        }
        let Some(step) = derivation.steps.of(id) else { continue };
        for operand in &step.from {
            if let Operand::Figure(id) = operand {
                open.push_back(*id);
            }
        }
        steps.push(step_shown(&described.tree, found, derivation, step));
    }
    let rests_on = |members: &Vec<FigureId>| members.iter().any(|id| seen[id.index()]);
    let together = derivation.steps.together.iter().filter(|(members, _)| rests_on(members));
    text(&Derived {
        form: "loadworthy-derivation",
        version: 1,
        file: &described.name,
        problems: described.problems.len(),
        figure: figure(found),
        solved: matches!(derivation.state, LaneState::Solved { .. }),
        steps,
        together: together
            .map(|(members, residual)| Together {
                figures: members.iter().map(|id| tables.figure_path(*id)).collect(),
                residual: residual.is_finite().then_some(*residual),
            })
            .collect(),
    })
}

fn step_shown(tree: &Tree, found: Found<'_, '_>, derivation: &Derivation, step: &Step) -> StepShown {
    let tables = &found.solved.variant.tables;
    let number = |id: FigureId| quantity(derivation.figures[id.index()], tables.figure_of(id).dimension);
    let from = |operand: &Operand| match *operand {
        Operand::Figure(id) => From {
            kind: "figure",
            path: tables.figure_path(id),
            quantity: number(id),
            origin: None,
            at: None,
            replaced: None,
        },
        Operand::Input(id) => {
            let variant = found.solved.variant;
            let stated = tables.stated(id, variant.lane(found.lane).duty);
            let value = found.solved.input(id, found.lane);
            From {
                kind: "input",
                path: tables.input_path(id, &variant.duty_of(found.lane).name),
                quantity: value.and_then(|value| quantity(value, tables.input_of(id).dimension)),
                ..origin_shown(tree, stated.origin)
            }
        }
        Operand::Curve(id) => {
            let curve = tables.curve_of(id);
            From { kind: "curve", path: curve.path.clone(), ..origin_shown(tree, curve.origin) }
        }
    };
    StepShown {
        figure: tables.figure_path(step.out),
        quantity: number(step.out),
        law: step.law.name,
        formula: step.law.formula,
        validity: step.law.validity,
        source: step.law.source,
        from: step.from.iter().map(from).collect(),
    }
}

fn origin_shown(tree: &Tree, origin: Origin) -> From {
    let place = |node: NodeId| places::of_node(tree, node);
    let (word, replaced) = match origin {
        Origin::Written(_) => ("written", None),
        Origin::Patched { replaced, .. } => ("patched", Some(place(replaced))),
        Origin::Assumed { .. } => ("assumed", None),
        Origin::Absent { .. } => ("absent", None),
        Origin::Broken(_) => ("broken", None),
    };
    From {
        kind: "",
        path: String::new(),
        quantity: None,
        origin: Some(word),
        at: origin.node().map(place),
        replaced,
    }
}
