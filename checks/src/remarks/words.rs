//! Remarks in words.

use core::fmt;

use loadworthy_physics::modulation::LEAST_CARRIER_RATIO;
use loadworthy_unit::Dimension;

use super::Remark;
use crate::figure_text::{percent, value};

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
                "estimate that reads low: at {} the case swings as well, which is not counted; a junction that holds does so at 0 Hz as well",
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
            Self::Meant => out.write_str("found with the words that the problems say to write"),
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
            Self::OverRows { memory, assumed } => write!(
                out,
                "estimate: RMS with the rows before, which fade with {}{}",
                value(memory, Dimension::Time),
                if assumed { ", assumed as its `memory` is not stated" } else { "" }
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
            Self::NeverFull => out.write_str(
                "reads low: its gate may stay below what its channel needs at the crest of its current, and it is solved as fully on",
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
