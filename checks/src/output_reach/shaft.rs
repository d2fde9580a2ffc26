//! Whether a machine can be given the torque that is asked of its shaft.
//!
//! Below a certain speed the current alone decides; above it the field is weakened until the phase voltage is what the bus
//! leaves. From some torque on no current does that.

use core::f64::consts::TAU;

use loadworthy_physics::machine::{self, Machine, Reached};
use loadworthy_physics::{
    AngularSpeed, FluxLinkage, Frequency, Inductance, Resistance, Time, Torque, Voltage, pole_voltage,
};
use loadworthy_unit::plan::{Bridge, MachineConstants, Stage};
use loadworthy_unit::solver::bridge::modulation;
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{OUT_OF_REACH, supply};
use crate::check::Told;
use crate::collect::{Subject, Verdicts};
use crate::figure_text::{percent, value};
use crate::review::Place;
use crate::tell::{part_at, place};
use crate::verdict::{Fault, Grade, Outcome, Verdict};

/// What a lane asks of a shaft beyond what the voltage gives.
pub(super) struct Beyond<'v> {
    constants: &'v MachineConstants,
    torque: f64,
    speed: f64,
    /// Voltage of the bus, or the highest that it could have.
    volts: f64,
    /// Crest of the phase voltage that it leaves.
    available: f64,
    /// Largest share of the torque that can be had.
    share: f64,
}

/// Puts the failure, where the torque is out of reach; whether it is.
pub(super) fn judge(
    stage: &Stage,
    bridge: &Bridge,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) -> bool {
    let Some(beyond) = beyond(stage, bridge, solved, lane) else { return false };
    let subject = Subject { part: stage.part, defect: OUT_OF_REACH, lane: Some(lane), kin: None };
    let fault = Fault::Unsolved { largest_share: beyond.share };
    out.put(solved, subject, Outcome::Fails { fault, grade: Grade::Major }, Vec::new());
    true
}

/// The torque that a lane asks for and cannot have; nothing where it can, and where that is not known.
pub(super) fn beyond<'v>(
    stage: &'v Stage,
    bridge: &'v Bridge,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Beyond<'v>> {
    let constants = bridge.inputs.constants.as_ref()?;
    if solved.figure(constants.d_current, lane).is_some() {
        return None;
    }
    let torque = solved.figure(constants.torque_asked, lane)?;
    let input = |id| solved.input(id, lane);
    let speed = input(constants.speed)?;
    let volts = supply::highest(supply::bus_of(stage, solved)?, stage, TAU * speed * torque, solved, lane)?;
    let share = input(constants.field_weakening)?;
    let limit = modulation(input(bridge.inputs.modulation)?).linear_limit();
    let (dead, carrier) = (Time::new(input(stage.dead_time)?), Frequency::new(input(stage.carrier)?));
    let lost = pole_voltage::dead_time_drop(Voltage::new(volts), dead, carrier).si();
    let available = 0.5 * share * limit * volts - lost;
    let stated = Machine {
        pole_pairs: input(constants.pole_pairs)?,
        flux_linkage: FluxLinkage::new(input(constants.flux_linkage)?),
        resistance: Resistance::new(input(bridge.inputs.phase_resistance)?),
        direct_inductance: Inductance::new(input(constants.d)?),
        quadrature_inductance: Inductance::new(input(constants.q)?),
    };
    let turning = AngularSpeed::new(TAU * speed);
    let point = machine::solve(&stated, Torque::new(torque), turning, Voltage::new(available));
    (point.reached == Reached::OutOfReach).then_some(Beyond {
        constants,
        torque,
        speed,
        volts,
        available,
        share: point.torque_share,
    })
}

pub(super) fn told(stage: &Stage, bridge: &Bridge, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let beyond = beyond(stage, bridge, solved, lane)?;
    let constants = beyond.constants;
    let part = solved.variant.path(stage.part);
    let torque = value(beyond.torque, Dimension::Torque);
    let speed = value(beyond.speed, Dimension::Speed);
    let volts = value(beyond.volts, Dimension::Voltage);
    let crest = value(beyond.available, Dimension::Voltage);
    let left = if beyond.share > 0.0 {
        format!("at most {} of it", percent(beyond.share))
    } else {
        "not even the idle machine is held".to_owned()
    };
    let saying =
        format!("`{part}` cannot give {torque} at {speed}: {left} within the voltage that {volts} leave");
    let asked = solved.input(constants.torque, lane).map_or(constants.shaft_power, |_| constants.torque);
    let label = format!("{torque} asked: {left}");
    let at = place(solved, asked, lane, label.clone()).unwrap_or_else(|| part_at(solved, stage.part, label));
    let mut because: Vec<Place> = Vec::new();
    because.extend(place(solved, constants.speed, lane, format!("at {speed}")));
    let bus = supply::bus_of(stage, solved);
    because.extend(bus.and_then(|bus| supply::leaves(bus, solved, lane)));
    let share = solved.input(constants.field_weakening, lane)?;
    let weakened =
        format!("the field is weakened at {} of the linear limit: {crest} in each phase", percent(share));
    because.extend(place(solved, constants.field_weakening, lane, weakened));
    let worked = vec![
        format!(
            "available phase voltage = {crest}, crest: k_fw·M_lin·V_dc/2 less the dead time, with V_dc {volts}"
        ),
        format!(
            "torque within it = {} at most: {}",
            value(beyond.share * beyond.torque, Dimension::Torque),
            machine::FIELD_WEAKENING.formula
        ),
    ];
    Some(Told { because, worked, ..Told::new(saying, at) })
}
