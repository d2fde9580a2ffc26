//! What the coolant passes from inlet to outlet, in the order of flow.

use loadworthy_unit::plan::{CoolantLeg, CoolantPath};

use super::account::Account;

/// Something that the coolant passes, or a place where it divides or comes together.
pub(crate) struct Passed<'u> {
    pub(crate) part: &'u str,
    pub(crate) what: What,
    pub(crate) depth: usize,
    pub(crate) flow: Option<f64>,
    /// Share of the flow that divides.
    pub(crate) share: Option<f64>,
    pub(crate) coolant_in: Option<f64>,
    pub(crate) coolant_out: Option<f64>,
    pub(crate) heat: Option<f64>,
    pub(crate) drop: Option<f64>,
}

/// What is passed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum What {
    /// The inlet of the unit.
    Inlet,
    /// An element.
    Element,
    /// A place where the flow divides.
    Split,
    /// A branch of it.
    Branch,
    /// Where the branches come together again.
    Together,
    /// The outlet of the unit.
    Outlet,
}

impl What {
    /// The word that a program reads.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::Element => "element",
            Self::Split => "split",
            Self::Branch => "branch",
            Self::Together => "together",
            Self::Outlet => "outlet",
        }
    }
}

/// All that the coolant passes; nothing where no coolant is described.
pub(crate) fn passed<'u>(account: &Account<'_, 'u>) -> Vec<Passed<'u>> {
    let variant = account.solved.variant;
    let Some(path) = &variant.plan.coolant else { return Vec::new() };
    let inlet = account.solved.input(path.inlet, account.lane);
    let flow = account.figure(path.total_flow);
    let (heat, out) = (account.figure(path.heat), account.figure(path.outlet));
    let mut all = vec![Passed { flow, coolant_out: inlet, ..nothing("", What::Inlet, 0) }];
    along(account, path, &path.legs, flow, 0, &mut all);
    all.push(Passed { flow, coolant_in: out, heat, ..nothing("", What::Outlet, 0) });
    all
}

const fn nothing(part: &str, what: What, depth: usize) -> Passed<'_> {
    Passed {
        part,
        what,
        depth,
        flow: None,
        share: None,
        coolant_in: None,
        coolant_out: None,
        heat: None,
        drop: None,
    }
}

fn along<'u>(
    account: &Account<'_, 'u>,
    path: &'u CoolantPath,
    legs: &[CoolantLeg],
    flow: Option<f64>,
    depth: usize,
    all: &mut Vec<Passed<'u>>,
) {
    let variant = account.solved.variant;
    // Everything here stands in the loop.
    let short = |part| variant.path(part).trim_start_matches("cooling.");
    for leg in legs {
        match *leg {
            CoolantLeg::Place(place) => {
                let place = &path.places[place];
                all.push(Passed {
                    flow,
                    coolant_in: account.figure(place.coolant_in),
                    coolant_out: account.figure(place.coolant_out),
                    heat: account.figure(place.heat),
                    drop: place.pressure_drop.and_then(|drop| account.figure(drop)),
                    ..nothing(short(place.part), What::Element, depth)
                });
            }
            CoolantLeg::Split(split) => {
                let split = &path.splits[split];
                all.push(Passed { flow, ..nothing(short(split.part), What::Split, depth) });
                for branch in &split.branches {
                    let own = account.figure(branch.flow);
                    let name = short(branch.part).rsplit('.').next().unwrap_or_default();
                    all.push(Passed {
                        flow: own,
                        share: account.figure(branch.share),
                        ..nothing(name, What::Branch, depth + 1)
                    });
                    along(account, path, &branch.legs, own, depth + 2, all);
                }
                all.push(Passed {
                    flow,
                    coolant_out: account.figure(split.outlet),
                    ..nothing(short(split.part), What::Together, depth)
                });
            }
        }
    }
}
