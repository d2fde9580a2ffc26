//! The balance as JSON.

use loadworthy_checks::corner;
use loadworthy_unit::{Dimension, LaneState};
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::balance::{Account, Line, Manner, Passed, Sum, passed};
use crate::show::terminal::CAUTION;
use crate::show::why;

use super::{Quantity, quantity, text};

#[derive(Serialize, JsonSchema)]
pub(super) struct Balance<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The program and its version.
    program: &'static str,
    /// The exit code of the run.
    exit: u8,
    /// What no output of this program is.
    caution: &'static str,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// How many problems the description has; with any, not all of it was read.
    problems: usize,
    /// One for each duty point of each variant.
    balances: Vec<One<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct One<'u> {
    /// The variant; null where the unit has no named variants.
    variant: Option<&'u str>,
    /// The duty point.
    duty_point: &'u str,
    /// The corner in which most is lost, where there are several.
    corner: Option<String>,
    /// How many corners the duty point has.
    corners: usize,
    /// `solved`, `no solution` or `undecided`.
    state: &'static str,
    /// From the sources down; each stands below the last one of less depth.
    flows: Vec<Flow<'u>>,
    /// All of it together.
    sum: Summed,
    /// The coolant from inlet to outlet.
    coolant: Vec<Element<'u>>,
    /// What is not known, and why.
    missing: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct Flow<'u> {
    /// What kind of part it is.
    kind: &'static str,
    /// The path of the part.
    part: &'u str,
    /// How deep it stands below those before it.
    depth: usize,
    /// Of a conductor: the branch that it is of.
    #[serde(skip_serializing_if = "Option::is_none")]
    branch: Option<&'u str>,
    /// The bus that it leads back to, where that stands above.
    #[serde(skip_serializing_if = "Option::is_none")]
    leads_back_to: Option<&'u str>,
    /// Of a source: whether it balances or gives a stated share.
    #[serde(skip_serializing_if = "Option::is_none")]
    manner: Option<&'static str>,
    /// Voltage there.
    voltage: Option<Quantity>,
    /// Current there.
    current: Option<Quantity>,
    /// What enters the unit or the stage here.
    power_in: Option<Quantity>,
    /// What leaves it here.
    power_out: Option<Quantity>,
    /// What is lost here.
    loss: Option<Quantity>,
    /// Of a source: what is lost before its terminals.
    loss_inside: Option<Quantity>,
    /// What leaves of what enters.
    efficiency: Option<Quantity>,
}

#[derive(Serialize, JsonSchema)]
struct Summed {
    /// What enters the unit.
    power_in: Option<Quantity>,
    /// What leaves it.
    power_out: Option<Quantity>,
    /// What is lost in it.
    losses: Option<Quantity>,
    /// What is left over between them.
    residual: Option<Quantity>,
    /// The same as a share of what enters.
    residual_share: Option<Quantity>,
    /// Whether nothing is left over.
    adds_up: bool,
    /// What leaves of what enters.
    efficiency: Option<Quantity>,
    /// What sources lose before their terminals.
    inside_sources: Option<Quantity>,
    /// What conductors lose of ripple, skin effect and copper warmer than the air, beyond the loss of each flow, as far as it is
    /// known; left out as the two that follow.
    conductors: Option<Quantity>,
    /// What capacitors lose of their ripple, as far as it is known; drawn from no bus, so neither in the losses nor in what
    /// is left over.
    capacitors: Option<Quantity>,
    /// What discharge resistors lose at the voltage of their bus; left out likewise.
    discharge_resistors: Option<Quantity>,
    /// Heat to the coolant.
    to_coolant: Option<Quantity>,
    /// Heat to the air.
    to_air: Option<Quantity>,
}

#[derive(Serialize, JsonSchema)]
struct Element<'u> {
    /// What it is.
    what: &'static str,
    /// The path of the part.
    part: &'u str,
    /// How deep it stands below those before it.
    depth: usize,
    /// Volume flow.
    flow: Option<Quantity>,
    /// Its share of the whole flow.
    flow_share: Option<Quantity>,
    /// Coolant temperature before it.
    coolant_in: Option<Quantity>,
    /// Coolant temperature behind it.
    coolant_out: Option<Quantity>,
    /// Heat that it gives the coolant.
    heat: Option<Quantity>,
    /// Pressure that is lost along it.
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
        conductors: power(sum.conductors),
        capacitors: power(sum.capacitors),
        discharge_resistors: power(sum.resistors),
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
