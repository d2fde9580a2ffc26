//! Remarks that make a verdict an estimate; shared by the checks.

use core::fmt;

use loadworthy_physics::insulation::Certainty;
use loadworthy_physics::modulation::LEAST_CARRIER_RATIO;
use loadworthy_unit::device::VOLTAGE_REACH;
use loadworthy_unit::plan::{Chip, Isolated, IsolatedKind, Package, Plan, Role, Stage, Topology};
use loadworthy_unit::solver::bridge::modulation;
use loadworthy_unit::{Dimension, LaneId, LaneState, Solved};

use crate::figure_text::{percent, value};
use crate::seats::Seat;

/// Loop gain above which a solution counts as fragile.
const FRAGILE: f64 = 0.5;

/// Output frequency in Hz below which the case of a package follows the swing of its losses.
const CREEPING: f64 = 1.0;

/// Kelvins beyond the hottest or coldest on-state curve from which the continued line counts as an estimate.
const CURVE_REACH: f64 = 25.0;

/// Why a figure is less sure than it looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remark {
    /// The bridge works beyond the linear range of its modulation.
    Overmodulated {
        /// Modulation index over the linear limit.
        share: f64,
    },
    /// The carrier is too slow for the closed forms to be exact.
    SlowCarrier {
        /// Carrier frequency over output frequency.
        ratio: f64,
    },
    /// The output turns so slowly that the case swings as well.
    Creeping {
        /// Output frequency in Hz.
        frequency: f64,
    },
    /// Losses and temperatures feed each other strongly.
    Fragile {
        /// Loop gain; 1 would run away.
        gain: f64,
    },
    /// The junction is far from the temperatures of the on-state curves.
    FarFromCurves {
        /// Mean junction temperature in °C.
        junction: f64,
        /// The nearest temperature that a curve is stated at, in °C.
        nearest: f64,
    },
    /// Switching energies are stated at more than twice the voltage that is switched.
    EnergiesHeld {
        /// The voltage in V that they are stated at.
        stated: f64,
        /// The voltage in V that is switched.
        switched: f64,
    },
    /// The duty point ends before everything has settled.
    HeldContinuously {
        /// How long it lasts in s.
        lasts: f64,
    },
    /// It ends before everything has settled, and does not say what it starts from.
    FromNothing {
        /// How long it lasts in s.
        lasts: f64,
    },
    /// It ends before everything has settled, and nothing says how much heat this holds.
    HoldsNoHeat {
        /// How long it lasts in s.
        lasts: f64,
    },
    /// Plates are taken to warm at once.
    PlatesFollow,
    /// What is carried is the RMS value over a cycle.
    OverCycle {
        /// Time from one occurrence to the next in s.
        every: f64,
    },
    /// What is carried is the RMS value of rows of a mission.
    OverRows {
        /// Time constant in s with which those before fade.
        memory: f64,
    },
    /// A time after which a bus counts as discharged.
    StillCharged,
    /// Isolation is judged from what the description says of it.
    IsolationUnseen,
    /// Which text asks for it.
    AskedBy {
        /// The text, with what goes before it.
        text: &'static str,
    },
    /// A distance follows from a table whose cell or rule is not sure.
    CellFromMemory {
        /// How sure it is.
        certainty: Certainty,
    },
    /// Recurring peaks come too fast for the tables of distances.
    FastPeaks {
        /// Carrier frequency in Hz of the fastest stage on either side.
        carrier: f64,
    },
    /// The least that it can be.
    AtLeast,
    /// Only what a duty point turns off is counted.
    TripNotCounted,
    /// A bound that nothing damps.
    Undamped,
    /// A verdict on what a fuse does in a fault.
    FaultUntested,
    /// A rating does not say which surroundings it holds in.
    RatedAnywhere,
    /// A fuse carries more than its rated current for a while.
    AboveRated {
        /// The current in A.
        current: f64,
        /// How long it lasts in s.
        lasts: f64,
    },
    /// A fuse carries more than its rated current for less time than melts it.
    MeltsFromCold {
        /// How long it lasts in s.
        lasts: f64,
    },
    /// The same, after a load that has brought the fuse part of the way.
    MeltsAfter {
        /// How long it lasts in s.
        lasts: f64,
        /// The load before it in A.
        before: f64,
    },
    /// Banks that discharge through a fuse in the same fault melt it.
    BanksMelt {
        /// I²t that they send, in A²s.
        sent: f64,
        /// Bound of the peak that flows with the sources, in A.
        peak: f64,
    },
    /// What a fuse would let pass for good is bounded by something else.
    OverloadEnded {
        /// What the fuses alone would let pass, in A.
        by_fuses: f64,
        /// What bounds it.
        by: &'static str,
    },
    /// A fuse melts in an overload that it does not break.
    BreaksFrom {
        /// The least current that it breaks, in A.
        least: f64,
    },
    /// What a conductor with a rated current stands is reckoned from the temperature of its surroundings.
    AsWarmAsItsAir,
    /// Sources drive a fault through what no fuse is known to clear.
    FeedsUncleared,
    /// A bar rises further than the tables that its law was held against.
    RisesFar {
        /// Kelvins above the air.
        rise: f64,
    },
    /// The current of a choke comes to rest in each carrier period, which is counted.
    RunsEmpty,
    /// The current of an output choke would come to rest, which is not counted.
    WouldRunEmpty,
    /// The current of an output choke reverses in each period; what that does to the edges is not counted.
    Reverses,
    /// The turn-on of a main switch counts as hard for want of its output capacitance, or of that of the clamp switch.
    StartsHard,
    /// A difference between devices in parallel feeds itself strongly.
    Hogging {
        /// Gain of a difference back to itself; 1 would run away.
        gain: f64,
    },
    /// The loss of a core that carries direct flux is reckoned as if it did not.
    CoreBiased,
    /// A time for which a device stands a short circuit is taken to another voltage.
    WithstandScaled {
        /// The voltage in V that it is stated at.
        stated: f64,
        /// The highest one of the bus in V.
        bus: f64,
    },
    /// A machine says nothing of how fast it may turn.
    DutySpeedAlone,
    /// A skew of gate thresholds is left out for want of a figure.
    SkewNotCounted {
        /// The key that the device does not state.
        without: &'static str,
    },
}

impl fmt::Display for Remark {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Overmodulated { share } => write!(
                out,
                "estimate, reads high: modulation index {} beyond the linear range, where crests are clipped",
                percent(share - 1.0)
            ),
            Self::SlowCarrier { ratio } => write!(
                out,
                "estimate: {} carrier periods in one of the output, fewer than the {LEAST_CARRIER_RATIO} that the closed forms want",
                value(ratio, Dimension::Ratio)
            ),
            Self::Creeping { frequency } => write!(
                out,
                "estimate that reads low: at {} the case swings as well, which is not counted; judge 0 Hz beside it",
                value(frequency, Dimension::Frequency)
            ),
            Self::Fragile { gain } => write!(
                out,
                "fragile: loop gain {} from loss over temperature back to loss; 1 would run away",
                value(gain, Dimension::Ratio)
            ),
            Self::FarFromCurves { junction, nearest } => write!(
                out,
                "estimate: on-state curves continued from {} to {}",
                value(nearest, Dimension::Temperature),
                value(junction, Dimension::Temperature)
            ),
            Self::EnergiesHeld { stated, switched } => write!(
                out,
                "reads high: at {} switching energies count as at half the {} that they are stated at",
                value(switched, Dimension::Voltage),
                value(stated, Dimension::Voltage)
            ),
            Self::HeldContinuously { lasts } => write!(
                out,
                "if held continuously: the duty point lasts {}",
                value(lasts, Dimension::Time)
            ),
            Self::FromNothing { lasts } => write!(
                out,
                "if held continuously: the duty point lasts {}, and does not say what it `starts_from`",
                value(lasts, Dimension::Time)
            ),
            Self::HoldsNoHeat { lasts } => write!(
                out,
                "if held continuously: the duty point lasts {}, and no `heat_capacity` is stated",
                value(lasts, Dimension::Time)
            ),
            Self::PlatesFollow => out.write_str(
                "reads high while plates warm: no `heat_capacity` is stated for the plate, which is taken to follow at once",
            ),
            Self::OverCycle { every } => write!(
                out,
                "estimate: RMS over a cycle of {}, right for what takes minutes to warm through",
                value(every, Dimension::Time)
            ),
            Self::OverRows { memory } => write!(
                out,
                "estimate: RMS with the rows before, which fade with {}",
                value(memory, Dimension::Time)
            ),
            Self::IsolationUnseen => out.write_str(
                "a sketch shows no layout, no path in plastic, no workmanship: qualified people test the isolation before power",
            ),
            Self::AskedBy { text } => out.write_str(text),
            Self::CellFromMemory { certainty } => write!(
                out,
                "a cell of the table or the rule of its use is {certainty}: look it up in the edition of IEC 60664-1 in force"
            ),
            Self::FastPeaks { carrier } => write!(
                out,
                "peaks recur at {}: above some 30 kHz they may ask for more distance (IEC 60664-4), which is not reckoned",
                value(carrier, Dimension::Frequency)
            ),
            Self::StillCharged => out.write_str(
                "no proof that the bus is discharged: qualified people verify that before anyone works on it",
            ),
            Self::AtLeast => {
                out.write_str("at least this: its ripple, which adds to it, is not known in this duty point")
            }
            Self::TripNotCounted => {
                out.write_str("reads low where protection switches off: no `trip` is stated, and only duty points are counted")
            }
            Self::Undamped => {
                out.write_str("a bound: the loop rings undamped; what damping there is leaves less")
            }
            Self::FaultUntested => out.write_str(
                "no proof that a fault is cleared: arc, inductance and what banks add are left to the fuse's maker, to tests and to qualified people",
            ),
            Self::RatedAnywhere => {
                out.write_str("estimate: the rated current does not say how hot the surroundings may be")
            }
            Self::AboveRated { current, lasts } => write!(
                out,
                "estimate: {} for {} is above the rated current, and the time-current curve is not read",
                value(current, Dimension::Current),
                value(lasts, Dimension::Time)
            ),
            Self::MeltsFromCold { lasts } => write!(
                out,
                "more than it carries for good for {}, by the time-current curve, which is one from cold: reads low where it carried something before, which `starts_from` would say",
                value(lasts, Dimension::Time)
            ),
            Self::MeltsAfter { lasts, before } => write!(
                out,
                "more than it carries for good for {}, by the time-current curve: after {} as much as a larger current from cold",
                value(lasts, Dimension::Time),
                value(before, Dimension::Current)
            ),
            Self::BanksMelt { sent, peak } => write!(
                out,
                "banks send {} through it in the same fault, which melts it: up to {} flow meanwhile, less by the inductance of bars and cables; whether it ends that is for its maker to say",
                value(sent, Dimension::SquaredCurrentTime),
                value(peak, Dimension::Current)
            ),
            Self::OverloadEnded { by_fuses, by } => write!(
                out,
                "{by} ends what its fuse alone would let pass for good, as much as {}",
                value(by_fuses, Dimension::Current)
            ),
            Self::BreaksFrom { least } => write!(
                out,
                "the fuse breaks from {} up: an overload below that melts it and has to be broken by something else",
                value(least, Dimension::Current)
            ),
            Self::AsWarmAsItsAir => out.write_str(
                "reads high: a conductor that states a rated current counts as warm as the surroundings of that rating, and its copper is hotter",
            ),
            Self::FeedsUncleared => out.write_str(
                "reads low: another source at the bus, in whose branch no fuse stands, drives the same fault and is not counted",
            ),
            Self::RisesFar { rise } => write!(
                out,
                "estimate: {} above the air, and tables of bars end at 100 K",
                crate::figure_text::kelvins(rise)
            ),
            Self::RunsEmpty => out.write_str(
                "discontinuous: the current of the choke rests in each carrier period, and the diode sets the duty",
            ),
            Self::WouldRunEmpty => out.write_str(
                "estimate, reads high: behind diodes the current of the output choke would rest in each period, which asks for less duty and less current",
            ),
            Self::Reverses => out.write_str(
                "estimate: the current of the output choke reverses in each period, and rectifiers that then still conduct switch it off hard, which is not counted",
            ),
            Self::StartsHard => out.write_str(
                "reads high: the turn-on of the main switch counts as hard, as output_capacitance of main or clamp is not stated",
            ),
            Self::Hogging { gain } => write!(
                out,
                "fragile sharing: gain {} from a difference between the devices over their temperatures back to it; 1 would run away",
                value(gain, Dimension::Ratio)
            ),
            Self::CoreBiased => {
                out.write_str("may read low: direct flux in the core, which is not counted, can double its loss")
            }
            Self::WithstandScaled { stated, bus } => write!(
                out,
                "estimate: what the device stands at {} is taken to {} by its energy",
                value(stated, Dimension::Voltage),
                value(bus, Dimension::Voltage)
            ),
            Self::DutySpeedAlone => out.write_str(
                "reads low where it may turn faster: no `highest_speed` is stated, and only the speed of the duty point is counted",
            ),
            Self::SkewNotCounted { without } => write!(
                out,
                "reads low at the edges: a skew of the gate thresholds is not counted, as {without} is not stated"
            ),
        }
    }
}

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
        if 0.0 < frequency && frequency < CREEPING {
            remarks.push(Remark::Creeping { frequency });
        }
        if frequency > 0.0 && ratio < LEAST_CARRIER_RATIO {
            remarks.push(Remark::SlowCarrier { ratio });
        }
    }
    remarks
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
    Some(if has_diode { Remark::WouldRunEmpty } else { Remark::Reverses })
}

/// Whether a turn-on of the main switch counts as hard although its node may swing.
pub(crate) fn of_turn_on(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let Topology::Isolated(isolated) = &seat.stage.topology else { return None };
    let unknown = isolated.inputs.output_capacitance.iter().any(|&id| solved.input(id, lane) == Some(0.0));
    (seat.position.role == Role::Main && unknown).then_some(Remark::StartsHard)
}

/// What makes the loss of a chip an estimate in a lane.
#[must_use]
pub fn of_chip(chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let (low, high) = chip.curve_span()?;
    let junction = solved.figure(chip.figures.mean_junction_temperature, lane)?;
    let nearest = junction.clamp(low, high);
    ((junction - nearest).abs() > CURVE_REACH).then_some(Remark::FarFromCurves { junction, nearest })
}

/// Whether energies of a chip are held at half the voltage that they are stated at.
pub(crate) fn of_energies(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let switched = solved.figure(seat.stage.switched(seat.position)?, lane)?;
    let mut held = seat.chip.edges_stated_at().filter(|&(loss, stated)| {
        switched < VOLTAGE_REACH.0 * stated && solved.figure(loss, lane).is_some_and(|loss| loss > 0.0)
    });
    held.next().map(|(_, stated)| Remark::EnergiesHeld { stated, switched })
}

/// What makes the highest junction temperature of a chip an estimate, where its duty point ends before everything has
/// settled.
#[must_use]
pub fn of_course(stage: &Stage, chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let lasts = solved.variant.duty_of(lane).lasts?;
    if !solved.is_followed(lane) {
        return Some(Remark::FromNothing { lasts });
    }
    (!holds_heat(stage, chip, &solved.variant.plan)).then_some(Remark::PlatesFollow)
}

/// Whether every plate that a chip of a stage stands on states its heat capacity.
fn holds_heat(stage: &Stage, chip: &Chip, plan: &Plan) -> bool {
    let Some(path) = &plan.coolant else { return true };
    let of_chip = |package: &&Package| package.chips.iter().any(|&k| plan.chips[k].part == chip.part);
    let packages = plan.packages[stage.packages.clone()].iter();
    let faces = packages.filter(of_chip).flat_map(|package| &package.faces);
    let mut plates = faces.filter_map(|face| path.places[face.place?].plate.as_ref());
    plates.all(|plate| plate.heat_capacity.is_some())
}

/// What makes the highest temperature of a conductor, a winding or a core read high in a lane that was followed: nothing
/// says how much heat it holds, or the plate that it stands on is taken to follow at once.
#[must_use]
pub fn of_body(holds_heat: bool, place: Option<usize>, lasts: f64, solved: &Solved<'_>) -> Option<Remark> {
    if !holds_heat {
        return Some(Remark::HoldsNoHeat { lasts });
    }
    let plate = solved.variant.plan.coolant.as_ref()?.places.get(place?)?.plate.as_ref()?;
    plate.heat_capacity.is_none().then_some(Remark::PlatesFollow)
}

/// What makes the settled temperatures of a lane an estimate.
#[must_use]
pub fn of_heat(solved: &Solved<'_>, lane: LaneId) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = of_feedback(solved, lane).into_iter().collect();
    if let Some(lasts) = solved.variant.duty_of(lane).lasts {
        remarks.push(Remark::HeldContinuously { lasts });
    }
    remarks
}

/// What makes temperatures that losses and heat feed an estimate.
#[must_use]
pub fn of_feedback(solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    match solved.state(lane) {
        LaneState::Solved { loop_gain } if loop_gain > FRAGILE => Some(Remark::Fragile { gain: loop_gain }),
        _ => None,
    }
}
