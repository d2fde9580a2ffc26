//! The balance as JSON.

use loadworthy_checks::corner;
use loadworthy_unit::{Dimension, LaneState};
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::balance::{Account, Line, Manner, Passed, Sum, passed};
use crate::show::terminal::CAUTION;
use crate::show::why;

use super::{Quantity, quantity, text};

#[derive(Serialize)]
struct Balance<'d> {
    form: &'static str,
    version: u32,
    program: &'static str,
    exit: u8,
    caution: &'static str,
    file: &'d str,
    problems: usize,
    balances: Vec<One<'d>>,
}

#[derive(Serialize)]
struct One<'u> {
    variant: Option<&'u str>,
    duty_point: &'u str,
    /// The corner in which most is lost, where there are several.
    corner: Option<String>,
    corners: usize,
    state: &'static str,
    /// From the sources down; each stands below the last one of less depth.
    flows: Vec<Flow<'u>>,
    sum: Summed,
    coolant: Vec<Element<'u>>,
    missing: Vec<String>,
}

#[derive(Serialize)]
struct Flow<'u> {
    kind: &'static str,
    part: &'u str,
    depth: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    branch: Option<&'u str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    leads_back_to: Option<&'u str>,
    /// Of a source: whether it balances or gives a stated share.
    #[serde(skip_serializing_if = "Option::is_none")]
    manner: Option<&'static str>,
    voltage: Option<Quantity>,
    current: Option<Quantity>,
    /// What enters the unit or the stage here.
    power_in: Option<Quantity>,
    /// What leaves it here.
    power_out: Option<Quantity>,
    loss: Option<Quantity>,
    /// Of a source: what is lost before its terminals.
    loss_inside: Option<Quantity>,
    efficiency: Option<Quantity>,
}

#[derive(Serialize)]
struct Summed {
    power_in: Option<Quantity>,
    power_out: Option<Quantity>,
    losses: Option<Quantity>,
    residual: Option<Quantity>,
    residual_share: Option<Quantity>,
    adds_up: bool,
    efficiency: Option<Quantity>,
    inside_sources: Option<Quantity>,
    to_coolant: Option<Quantity>,
    to_air: Option<Quantity>,
}

#[derive(Serialize)]
struct Element<'u> {
    what: &'static str,
    part: &'u str,
    depth: usize,
    flow: Option<Quantity>,
    flow_share: Option<Quantity>,
    coolant_in: Option<Quantity>,
    coolant_out: Option<Quantity>,
    heat: Option<Quantity>,
    pressure_drop: Option<Quantity>,
}

/// All accounts.
pub(crate) fn balance(described: &Described, accounts: &[Account<'_, '_>], outcome: Outcome) -> String {
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
    text(&Balance {
        form: "loadworthy-balance",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: exit.number(),
        caution: CAUTION,
        file: &described.name,
        problems: described.problems.len(),
        balances: accounts.iter().map(|account| one(described, account)).collect(),
    })
}

fn one<'u>(described: &Described, account: &Account<'_, 'u>) -> One<'u> {
    let variant = account.solved.variant;
    let (state, is_solved) = match account.state() {
        LaneState::Solved { .. } => ("solved", true),
        LaneState::NoSolution { .. } => ("no solution", false),
        LaneState::Undecided { .. } => ("undecided", false),
    };
    let elements = if is_solved { passed(account) } else { Vec::new() };
    One {
        variant: variant.name.as_deref(),
        duty_point: &variant.duty_of(account.lane).name,
        corner: corner::short(variant.lane(account.lane)),
        corners: account.corners,
        state,
        flows: account.lines.iter().map(flow).collect(),
        sum: summed(&account.sum),
        coolant: elements.iter().map(element).collect(),
        missing: account
            .missing
            .iter()
            .map(|cause| why::missing(described, variant, account.lane, *cause))
            .collect(),
    }
}

fn amount(value: Option<f64>, dimension: Dimension) -> Option<Quantity> {
    value.and_then(|value| quantity(value, dimension))
}

fn flow<'u>(line: &Line<'u>) -> Flow<'u> {
    let power = |value| amount(value, Dimension::Power);
    let is_wire = line.kind.word() == "conductor";
    Flow {
        kind: line.kind.word(),
        part: line.part,
        depth: line.depth,
        branch: line.of.filter(|_| is_wire),
        leads_back_to: line.of.filter(|_| !is_wire),
        manner: line.manner.map(|manner| match manner {
            Manner::Balances => "balances",
            Manner::Share => "share",
        }),
        voltage: amount(line.voltage, Dimension::Voltage),
        current: amount(line.current, Dimension::Current),
        power_in: power(line.into),
        power_out: power(line.out),
        loss: power(line.loss),
        loss_inside: power(line.inside),
        efficiency: amount(line.efficiency, Dimension::Ratio),
    }
}

fn summed(sum: &Sum) -> Summed {
    let power = |value| amount(value, Dimension::Power);
    Summed {
        power_in: power(sum.into),
        power_out: power(sum.out),
        losses: power(sum.losses),
        residual: power(sum.residual()),
        residual_share: amount(sum.residual_share(), Dimension::Ratio),
        adds_up: sum.closes(),
        efficiency: amount(sum.efficiency(), Dimension::Ratio),
        inside_sources: power(sum.inside_sources),
        to_coolant: power(sum.to_coolant),
        to_air: power(sum.to_air),
    }
}

fn element<'u>(one: &Passed<'u>) -> Element<'u> {
    Element {
        what: one.what.word(),
        part: one.part,
        depth: one.depth,
        flow: amount(one.flow, Dimension::VolumeFlow),
        flow_share: amount(one.share, Dimension::Ratio),
        coolant_in: amount(one.coolant_in, Dimension::Temperature),
        coolant_out: amount(one.coolant_out, Dimension::Temperature),
        heat: amount(one.heat, Dimension::Power),
        pressure_drop: amount(one.drop, Dimension::Pressure),
    }
}
