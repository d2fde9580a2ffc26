//! Remarks that make a verdict an estimate; shared by the checks.

mod heat;
mod stage;
mod words;

use loadworthy_physics::insulation::Certainty;

pub(crate) use heat::of_energies;
pub use heat::{of_body, of_chip, of_course, of_feedback, of_heat};
pub use stage::of_stage;
pub(crate) use stage::{of_choke, of_gate, of_turn_on};

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
        /// Whether the source does not state it.
        assumed: bool,
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
    /// Its gate stays below what its channel needs at the crest of its current, and it is solved as fully on.
    NeverFull,
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
    /// A word that could not be read is taken for the one that was clearly meant.
    Meant,
    /// A skew of gate thresholds is left out for want of a figure.
    SkewNotCounted {
        /// The key that the device does not state.
        without: &'static str,
    },
}
