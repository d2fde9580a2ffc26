//! Outputs that feed several gates on one rail, wherever the inductance between their sources is stated.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;

use crate::build::bank::shared;
use crate::build::gate_sheet::GateSheet;
use crate::build::{Build, assumed};
use crate::plan::{GateNode, Role, SharedReturn, Swing, Switching};
use crate::solver::Late;

/// Adds every output that states the inductance and feeds two gates or more on one rail.
pub(crate) fn join(build: &mut Build<'_>) {
    for supply in 0..build.plan.gate_supplies.len() {
        if let Some(shared) = shared_return(build, supply) {
            build.plan.shared_returns.push(shared);
        }
    }
}

fn shared_return(build: &mut Build<'_>, supply: usize) -> Option<SharedReturn> {
    let (name, entry) = build.description.gate_supplies.get_index(supply)?;
    let read = entry.read()?;
    let given = read.common_inductance.as_ref()?;
    let of = &build.plan.gate_supplies[supply];
    let part = of.part;
    let mut gates: Vec<(usize, usize)> = of.alone().collect();
    gates.sort_unstable();
    gates.dedup();
    let node =
        |&(stage, position): &(usize, usize)| build.plan.stages[stage].positions[position].gate.as_ref();
    let first = gates.first().and_then(node)?;
    // What stands on several potentials shares no return.
    let is_one = matches!(first, GateNode::Rail(_)) && gates.iter().all(|gate| node(gate) == Some(first));
    if !is_one || gates.len() < 2 {
        return None;
    }
    let kinds = kinds(build, &gates);
    if kinds.is_empty() {
        return None;
    }
    let inductance = build.stated(Some(given), None, |henry| henry.si());
    let inductance = build.tables.input(
        format!("gate_supplies.{name}.common_inductance"),
        Dimension::Inductance,
        inductance,
    );
    let inductance = build.tables.read_by(Late::Gates, inductance);
    let swing = match (&read.on, &read.off) {
        (Some(on), Some(off)) => {
            let mut volts = |key: &str, given| {
                let stated =
                    build.stated(Some(given), None, |volts: &loadworthy_physics::Voltage| volts.si());
                let path = format!("gate_supplies.{name}.{key}");
                shared(build, &path, &path, Dimension::Voltage, stated)
            };
            Swing::Stated(volts("drive_on", on), volts("drive_off", off))
        }
        _ => Swing::Assumed(build.tables.input(
            format!("gate_supplies.{name}.drive_on"),
            Dimension::Voltage,
            assumed(&defaults::GATE_SWING, entry.key),
        )),
    };
    let switches = kinds.into_iter().map(|(stage, seat)| switching(build, stage, seat)).collect();
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Voltage);
    Some(SharedReturn {
        part,
        supply,
        inductance,
        switches,
        swing,
        voltage: figure("shared_return_voltage"),
        swing_figure: figure("gate_swing"),
    })
}

/// Kinds of position that turn a current off against a bus; what rectifies turns off as its leakage lets it.
fn kinds(build: &Build<'_>, gates: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let mut kinds = Vec::new();
    for &(stage, position) in gates {
        let position = &build.plan.stages[stage].positions[position];
        let turns_off = matches!(position.role, Role::LowSide | Role::BridgeLow | Role::Main);
        if turns_off && !kinds.contains(&(stage, position.seat)) {
            kinds.push((stage, position.seat));
        }
    }
    kinds
}

fn switching(build: &mut Build<'_>, stage: usize, seat: usize) -> Switching {
    let withstands = &build.plan.stages[stage].withstands;
    let is_own = |of: &&crate::plan::TurnOff| of.stage == stage && withstands[of.withstand].seat == seat;
    let turn_off = build.plan.turn_offs.iter().find(is_own);
    let (current, known) = (turn_off.map(|of| of.figures.current), turn_off.map(|of| of.fall));
    let fall = known.unwrap_or_else(|| GateSheet::of(build, stage, seat).current_fall(build));
    Switching { stage, seat, current, fall }
}
