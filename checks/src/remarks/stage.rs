//! What makes the figures of a stage an estimate: how it is modulated, how fast it turns, whether its chokes run empty.

use loadworthy_physics::junction_ripple::LEAST_FREQUENCY;
use loadworthy_physics::modulation::LEAST_CARRIER_RATIO;
use loadworthy_unit::plan::{ChipKind, Isolated, IsolatedKind, Role, Stage, Topology};
use loadworthy_unit::solver::bridge::modulation;
use loadworthy_unit::{LaneId, Solved};

use super::Remark;
use crate::seats::Seat;

/// Share of a ripple by which a valley may lie below zero and still count as none.
const ROUNDING: f64 = 1e-9;

/// What makes the figures of a stage an estimate in a lane.
#[must_use]
pub fn of_stage(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let bridge = match &stage.topology {
        Topology::Bridge(bridge) => bridge,
        Topology::Isolated(isolated) => {
            return runs_empty(stage, isolated, solved, lane).into_iter().collect();
        }
        Topology::Chopper(_) => return remarks,
    };
    if let (Some(index), Some(code)) =
        (solved.figure(bridge.figures.modulation_index, lane), solved.input(bridge.inputs.modulation, lane))
    {
        let share = index / modulation(code).linear_limit();
        if share > 1.0 + crate::verdict::EQUAL_WITHIN {
            remarks.push(Remark::Overmodulated { share });
        }
    }
    if let (Some(carrier), Some(frequency)) =
        (solved.input(stage.carrier, lane), solved.figure(bridge.figures.frequency, lane))
    {
        let ratio = carrier / frequency;
        if 0.0 < frequency && frequency < LEAST_FREQUENCY.si() {
            remarks.push(Remark::Creeping { frequency });
        }
        if frequency > 0.0 && ratio < LEAST_CARRIER_RATIO {
            remarks.push(Remark::SlowCarrier { ratio });
        }
    }
    remarks
}

/// Whether what windings, cores and banks carry of a stage reads high, as its output choke would rest in each period.
pub(crate) fn of_choke(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let Topology::Isolated(isolated) = &stage.topology else { return None };
    runs_empty(stage, isolated, solved, lane).filter(|remark| *remark == Remark::WouldRunEmpty)
}

/// The valley of an output choke's current below zero, where the formulas of a stage with a transformer end.
fn runs_empty(stage: &Stage, isolated: &Isolated, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let [_, to] = stage.ports.as_slice() else { return None };
    let load = solved.figure(to.current, lane)?;
    let each = if isolated.kind == IsolatedKind::CurrentDoubler { 0.5 * load } else { load };
    let ripple = solved.figure(isolated.figures.ripple, lane)?;
    if each >= 0.5 * ripple {
        return None;
    }
    let mut rectifiers = stage
        .positions
        .iter()
        .filter(|position| matches!(position.role, Role::Rectifier | Role::Forward | Role::Freewheel));
    let has_diode = rectifiers.any(|position| position.gate.is_none());
    if !has_diode {
        return Some(Remark::Reverses);
    }
    // What is counted as resting begins at no current at all.
    let valley = solved.figure(isolated.figures.choke_peak, lane)? - ripple;
    Some(if valley < -ROUNDING * ripple { Remark::WouldRunEmpty } else { Remark::RunsEmpty })
}

/// Whether a turn-on of the main switch counts as hard although its node may swing.
pub(crate) fn of_turn_on(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let Topology::Isolated(isolated) = &seat.stage.topology else { return None };
    let unknown = isolated.inputs.output_capacitance.iter().any(|&id| solved.input(id, lane) == Some(0.0));
    (seat.position.role == Role::Main && unknown).then_some(Remark::StartsHard)
}

/// Whether a transistor may never be fully on, where its losses are those of one that is.
pub(crate) fn of_gate(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    if seat.chip.kind == ChipKind::Diode {
        return None;
    }
    let plan = &solved.variant.plan;
    let drive = plan.gate_drives.iter().find(|drive| {
        let stage = &plan.stages[drive.stage];
        let is_its = |&position: &usize| core::ptr::eq(&raw const stage.positions[position], seat.position);
        drive.positions.iter().any(is_its)
    })?;
    let [needs, gets] = [drive.figures.linear_level, drive.figures.lowest];
    (solved.figure(needs, lane)? > solved.figure(gets, lane)?).then_some(Remark::NeverFull)
}
