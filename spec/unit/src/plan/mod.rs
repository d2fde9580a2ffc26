//! The plan of a variant: what the solver works through, in order, with dense numbers in place of names.
//!
//! Built once from the graphs. Everything that a duty point or a trial may change is an input of a lane; what only
//! another description can change (curves, the order of the coolant path, which chips share a case) stands here.

mod arriving;
mod bank;
mod barrier;
mod bootstrap;
mod chip;
mod coasting;
mod conductor_balance;
mod conductor_heat;
mod control;
mod coolant;
mod damping;
mod dead_time;
mod density;
mod divider;
mod frame;
mod fuse;
mod gate_drive;
mod gates;
mod isolation;
mod jumping;
mod lost;
mod magnetic;
mod opening;
mod overload;
mod passage;
mod power;
mod shared_return;
mod stage;
mod stored;
mod trips;
mod turn_off;
mod unused;
mod withstand;

pub use arriving::{Arriving, Dip, Gives};
pub use bank::{Bank, BankFigures, CapacitorInputs, Life, Ripple, RippleFigures, RippleTerm, Synchronised};
pub(crate) use barrier::GROUPS;
pub use barrier::{Barrier, BarrierFigures};
pub use bootstrap::{Bootstrap, BootstrapFigures};
pub use chip::{
    BodyDiode, Chip, ChipFigures, ChipInputs, ChipKind, Energies, Face, GateResistors, Package,
    SharingFigures, SharingInputs, ThresholdInputs, UnevenChip,
};
pub use coasting::{Coasting, CoastingBus, PhaseShort, Rectified, RectifyingSeat, ShortedSeat};
pub(crate) use conductor_balance::Balance;
pub(crate) use conductor_heat::Crowds;
pub use conductor_heat::{Body, ConductorHeat, ConductorHeatFigures, Pad, Section};
pub use control::{
    Coil, Commanded, Control, Controller, Driver, DriverMisfit, ExchangedDrivers, Quantity, Sensor,
};
pub use coolant::{
    AtFlow, Branch as CoolantBranch, CoolantPath, Leg as CoolantLeg, Place, Plate, Pump, PumpPressure,
    Row as CoolantRow, Split, Step,
};
pub use damping::{Damping, Fed};
pub use dead_time::{DeadTime, Handover};
pub use density::{Copper, Density};
pub use divider::Divider;
pub use frame::Frame;
pub use fuse::{
    Delivered, Drive, Emptied, Fuse, FuseFigures, Protected, Protection, Reached, Stands, SurgeFigures,
    TimeCurrent,
};
pub use gate_drive::{Channel, GateDrive, GateDriveFigures, GateFeed, GateInputs, Rails};
pub use gates::{
    Exchanged, GateNode, GateSupply, GateTransformer, Misfit, RailSplit, RailsThrough, Splitter,
};
pub use isolation::{
    BuiltInto, Crossing, Domain, Form, Impulse, Isolation, Joins, Leakage, Lifted, May, Merged, Pair, Pole,
    PoleCapacitor, Span, Stress, Unread,
};
pub use jumping::{Jumping, Rider, Through};
pub use lost::Lost;
pub use magnetic::{
    Core, CoreCapacity, CoreFigures, Magnetic, MagneticHeat, MagneticRole, Material, UnevenLeg, Winding,
    WindingCapacity, WindingWarms, WoundForm, WoundOf,
};
pub use opening::{Circuit, Lead, OnePole, Opening};
pub use overload::{Apart, Bound, Ends, LATEST, Melted, Overload};
pub use passage::{LeastFlow, Passage, RowFigures, Wall};
pub use power::{
    Breaks, Bus, Conductor, Load, Loop, Opens, Outlets, Port, RatedSection, Source, SourceLimit, SourceLimits,
};
pub use shared_return::{SharedReturn, Swing, Switching};
pub use stage::{
    Bridge, BridgeFigures, BridgeInputs, Chopper, ChopperFigures, ChopperInputs, ChopperKind, Isolated,
    IsolatedFigures, IsolatedInputs, IsolatedKind, MachineConstants, Position, PowerCycling, Role, Seat,
    Side, Stage, StageFigures, Topology,
};
pub use stored::{
    ActiveDischarge, Equalising, Making, ParallelPack, Paralleling, Precharge, Stored, StoredFigures,
};
pub use trips::{Acting, CurrentTrip, LeftFlowing, LeftTurning, LossOfLoad, TrippedSeat, VoltageTrip};
pub use turn_off::{TurnOff, TurnOffFigures};
pub use unused::{Declared, Unused, WhyUnused};
pub use withstand::Withstand;

/// Everything that the solver works through.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Direct-voltage buses.
    pub buses: Vec<Bus>,
    /// Sources.
    pub sources: Vec<Source>,
    /// Conductors that carry direct current between sources, buses, stages and loads.
    pub conductors: Vec<Conductor>,
    /// Capacitor banks across buses.
    pub banks: Vec<Bank>,
    /// Buses that swing against the inductance of their batteries.
    pub damping: Vec<Damping>,
    /// Buses and loads that state the lowest voltage they work at.
    pub arriving: Vec<Arriving>,
    /// Buses with machines that may turn while nothing controls them.
    pub coasting: Vec<CoastingBus>,
    /// Overvoltage trips of buses that state one or may be lifted.
    pub voltage_trips: Vec<VoltageTrip>,
    /// Buses that machines lift once what takes their power opens.
    pub losses_of_load: Vec<LossOfLoad>,
    /// Overcurrent trips of stages.
    pub current_trips: Vec<CurrentTrip>,
    /// Bridges and choppers that state no such trip where control is described, with what would state it.
    pub untripped: Vec<(crate::ids::PartId, crate::ids::InputId)>,
    /// The charge of buses that have a bank or a discharge.
    pub stored: Vec<Stored>,
    /// Whether every capacitor could be read.
    pub capacitors_read: bool,
    /// Entries that could not be read, in the order of the sections.
    pub lost: Vec<Lost>,
    /// Banks that do not say on which bus they stand, with what would say it.
    pub adrift: Vec<(crate::ids::PartId, crate::ids::InputId)>,
    /// Branches through which buses are charged.
    pub precharges: Vec<Precharge>,
    /// Batteries side by side on one bus, which contactors close on one another.
    pub parallelings: Vec<Paralleling>,
    /// Branches that close a contactor between a source and a bus, which none leads around, with the bus in the plan; and those
    /// around such a contactor that lead through nothing.
    pub closed_unprecharged: Vec<(crate::ids::PartId, usize)>,
    /// The section of branches, where several of them lack the same: a fuse, or a pre-charge.
    pub branches: Option<crate::ids::InputId>,
    /// Those of them that lead around a contactor through something, and through no resistor.
    pub unlimited: Vec<crate::ids::PartId>,
    /// Branches from a source that is live by itself which no contactor parts from it, with the bus in the plan.
    pub unparted: Vec<(crate::ids::PartId, usize)>,
    /// Sources of which contactors open one pole alone.
    pub one_pole: Vec<OnePole>,
    /// Fuses in branches between a node and a bus.
    pub fuses: Vec<Fuse>,
    /// Conductors that no fuse protects from the banks of their bus.
    pub emptied: Vec<Emptied>,
    /// Fuses and contactors of branches.
    pub openings: Vec<Opening>,
    /// Branches that lead through other conductors.
    pub leads: Vec<Lead>,
    /// Conductors on whose way a fuse stands.
    pub overloads: Vec<Overload>,
    /// Fuses in branches between a node and a bus, with what else ends an overload through each.
    pub melted: Vec<Melted>,
    /// Branches that name the fuse which protects them, and those of sources that need one, have none and name none.
    pub protections: Vec<Protection>,
    /// Batteries that no branch leads from, each with what would have to state one, and branches of other sources of which
    /// nobody knows what they drive into a short circuit.
    pub bare_sources: Vec<(crate::ids::PartId, crate::ids::InputId)>,
    /// Fuses, as conductors, of which nothing says what they carry.
    pub fuses_apart: Vec<usize>,
    /// Kinds of switch position that turn a current off between the rails of a bus.
    pub turn_offs: Vec<TurnOff>,
    /// Machines that state what their windings stand to the frame.
    pub frames: Vec<Frame>,
    /// Converters, in the order of the description.
    pub stages: Vec<Stage>,
    /// Stages and buses in the order in which their power is known: what hangs on a bus, the bus, the stage that holds it.
    pub(crate) order: Vec<Reckoned>,
    /// Ports of all stages and loads.
    pub(crate) ports: usize,
    /// Stages that close a loop of buses: how they divide is not stated.
    pub loops: Vec<Loop>,
    /// Direct-current loads.
    pub loads: Vec<Load>,
    /// The coolant loop, if one is described.
    pub coolant: Option<CoolantPath>,
    /// Packages, in the order of the stages.
    pub packages: Vec<Package>,
    /// Chips, those of a package side by side.
    pub chips: Vec<Chip>,
    /// Chokes and transformers that stages use.
    pub magnetics: Vec<Magnetic>,
    /// Windings of all of them, and those of which it is known what they are wound of.
    pub(crate) windings: (usize, usize),
    /// What feeds the gate drivers.
    pub gate_supplies: Vec<GateSupply>,
    /// What keeps negative rails apart.
    pub rail_splits: Vec<RailSplit>,
    /// Stages without a transformer between negative rails of two names.
    pub rails_through: Vec<RailsThrough>,
    /// Transformers that these are windings of.
    pub gate_transformers: Vec<GateTransformer>,
    /// Drivers that were exchanged, as far as what else is stated of both tells: they drive no gate that anyone knows of.
    pub exchanged_drivers: Vec<ExchangedDrivers>,
    /// Gates with what drives them, where a description says more of it than which output feeds what.
    pub gate_drives: Vec<GateDrive>,
    /// Outputs with the gates that they feed.
    pub gate_feeds: Vec<GateFeed>,
    /// Outputs of which it is stated how much inductance lies between the sources that they feed.
    pub shared_returns: Vec<SharedReturn>,
    /// Legs whose two switches must not conduct together.
    pub dead_times: Vec<DeadTime>,
    /// Trips that state how soon gates are off, and what that takes at least.
    pub acting: Vec<Acting>,
    /// High gates that live on a capacitor.
    pub bootstraps: Vec<Bootstrap>,
    /// What commands, drives and measures.
    pub control: Option<Control>,
    /// How long each duty point lasts, where one says what it starts from and is followed over time.
    pub duration: Option<Duration>,
    /// The section of gate supplies as a number: 0 where it is stated; none where no position has a gate.
    pub gates_fed: Option<crate::ids::InputId>,
    /// Domains, what stands between them and what joins them, where the description states its isolation.
    pub isolation: Option<Isolation>,
    /// Whether buses, controllers or sensors say in which domain they stand, or what feeds a controller, while no section says
    /// what stands between domains.
    pub isolation_left_out: bool,
    /// What is stated and used by nothing.
    pub unused: Vec<Unused>,
}

/// How long a duty point lasts and how often it recurs; missing where it goes on, or does not recur.
#[derive(Clone, Copy, Debug)]
pub struct Duration {
    /// From its beginning to its end.
    pub lasts: crate::ids::InputId,
    /// From one beginning to the next.
    pub every: crate::ids::InputId,
}

/// What the power balance reckons, one after another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Reckoned {
    /// A load, in the plan.
    Load(usize),
    /// A stage, in the plan.
    Stage(usize),
    /// A bus, in the plan.
    Bus(usize),
}
