//! Where the energy of a mission went.

use loadworthy_unit::mission::{Chunk, Rows};
use loadworthy_unit::plan::{Bus, Conductor, Plan, Port};
use loadworthy_unit::{FigureId, InputId, PartId, Variant};

/// What flowed over a mission through something at the border of the unit, one way and the other, in J.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Through {
    /// The source, bus, machine or load.
    pub part: PartId,
    /// What it gave to the unit.
    pub given: f64,
    /// What it took from it.
    pub taken: f64,
}

/// What stages lost, by what it was lost to, in J.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Kinds {
    /// On-state of transistors and diodes, dead times of body diodes included.
    pub conduction: f64,
    /// Edges, recovery included.
    pub switching: f64,
    /// Windings of chokes and transformers.
    pub windings: f64,
    /// Their cores.
    pub cores: f64,
}

/// Energies in J, in the order of the plan. Rows are steady states: what charges a capacitor from one to the next is in none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Energies {
    /// Of each source, at its terminals.
    pub sources: Vec<Through>,
    /// Of each bus that no source in the description feeds and no stage holds: what is drawn from it enters there.
    pub feeds: Vec<Through>,
    /// Of each machine; of one that has no entry by the stage that feeds it.
    pub machines: Vec<Through>,
    /// Of each load.
    pub loads: Vec<Through>,
    /// Lost in each source, before its terminals.
    pub source_losses: Vec<(PartId, f64)>,
    /// Lost in each stage.
    pub stage_losses: Vec<(PartId, f64)>,
    /// Lost in each conductor.
    pub conductor_losses: Vec<(PartId, f64)>,
    /// Lost in conductors beyond that, of ripple, skin effect and copper warmer than the air, as far as it is known: no source gives
    /// it in the solution.
    pub beyond_drawn: f64,
    /// What all stages lost, by kind.
    pub kinds: Kinds,
    /// Lost in everything that the coolant takes heat from; what those parts store on the way is part of it.
    pub coolant: f64,
    /// Rows that the sums are over: those with a solution of which all powers are known.
    pub rows: usize,
    /// How long these last together, in s.
    pub lasts: f64,
}

impl Energies {
    /// Nothing yet.
    #[must_use]
    pub fn none(variant: &Variant) -> Self {
        let plan = &variant.plan;
        let through = |part: PartId| Through { part, given: 0.0, taken: 0.0 };
        let machine = |(part, _)| through(part);
        Self {
            sources: plan.sources.iter().map(|source| through(source.part)).collect(),
            feeds: feeds(plan).map(|bus| through(bus.part)).collect(),
            machines: machines(plan).map(machine).collect(),
            loads: plan.loads.iter().map(|load| through(load.part)).collect(),
            source_losses: plan.sources.iter().map(|source| (source.part, 0.0)).collect(),
            stage_losses: plan.stages.iter().map(|stage| (stage.part, 0.0)).collect(),
            conductor_losses: carrying(plan).map(|conductor| (conductor.part, 0.0)).collect(),
            ..Self::default()
        }
    }

    /// What entered the unit: from sources, and from machines and loads that gave something back.
    #[must_use]
    pub fn entered(&self) -> f64 {
        self.border().map(|through| through.given).sum()
    }

    /// What left it: to machines and loads, and to sources that took something back.
    #[must_use]
    pub fn left(&self) -> f64 {
        self.border().map(|through| through.taken).sum()
    }

    /// What stages and conductors lost.
    #[must_use]
    pub fn lost(&self) -> f64 {
        self.stage_losses.iter().chain(&self.conductor_losses).map(|(_, lost)| lost).sum()
    }

    /// What entered and neither left nor was lost, as a share of what entered; rounding alone leaves something. Not a number
    /// where a term of it is not known.
    #[must_use]
    pub fn open(&self) -> f64 {
        let entered = self.entered();
        let open = (entered - self.left() - self.lost()).abs();
        if entered > 0.0 { open / entered } else { open }
    }

    fn border(&self) -> impl Iterator<Item = &Through> {
        self.sources.iter().chain(&self.feeds).chain(&self.machines).chain(&self.loads)
    }

    /// Adds the rows of a chunk. One whose powers are not known is left out, as is one without a solution; what is known of
    /// no row leaves its sum unknown.
    pub(super) fn add(&mut self, variant: &Variant, chunk: &Chunk<'_>, rows: &Rows) {
        let plan = &variant.plan;
        let powers: Vec<FigureId> = if plan.sources.is_empty() {
            plan.stages.iter().map(|stage| stage.figures.loss).collect()
        } else {
            plan.sources.iter().map(|source| source.power).collect()
        };
        let is_known = |row: usize| {
            chunk.is_solved(row) && powers.iter().all(|&power| chunk.raw(power, row).is_finite())
        };
        for (row, &lasts) in rows.lasts.iter().enumerate().filter(|&(row, _)| is_known(row)) {
            self.rows += 1;
            self.lasts += lasts;
            let energy = |id: FigureId| chunk.raw(id, row) * lasts;
            let times = |id: FigureId, count: InputId| energy(id) * chunk.input(count, row);
            let given = plan.sources.iter().map(|source| source.power);
            let given = given.chain(feeds(plan).map(|bus| bus.power));
            for (through, power) in self.sources.iter_mut().chain(&mut self.feeds).zip(given) {
                through.gives(energy(power));
            }
            let taken = machines(plan).map(|(_, output)| output);
            let taken = taken.chain(plan.loads.iter().map(|load| load.port.power));
            for (through, power) in self.machines.iter_mut().chain(&mut self.loads).zip(taken) {
                through.gives(-energy(power));
            }
            let lost = plan.sources.iter().map(|source| source.loss);
            let lost = lost.chain(plan.stages.iter().map(|stage| stage.figures.loss));
            let lost = lost.chain(carrying(plan).map(|conductor| conductor.loss));
            self.losses_mut().zip(lost).for_each(|(sum, loss)| *sum += energy(loss));
            let beyond = plan.conductors.iter().filter_map(|conductor| {
                let beyond = energy(conductor.heating_loss?) - energy(conductor.loss);
                beyond.is_finite().then_some(beyond)
            });
            self.beyond_drawn += beyond.sum::<f64>();
            self.kinds.add(plan, times);
            if let Some(path) = &plan.coolant {
                self.coolant += energy(path.heat);
            }
        }
    }

    /// Losses of sources, stages and conductors.
    fn losses_mut(&mut self) -> impl Iterator<Item = &mut f64> {
        let all = self.source_losses.iter_mut().chain(&mut self.stage_losses);
        all.chain(&mut self.conductor_losses).map(|(_, lost)| lost)
    }

    /// Adds what came later.
    pub(super) fn then(&mut self, later: &Self) {
        let own = self.sources.iter_mut().chain(&mut self.feeds);
        let own = own.chain(&mut self.machines).chain(&mut self.loads);
        for (own, its) in own.zip(later.border()) {
            own.given += its.given;
            own.taken += its.taken;
        }
        let its = later.source_losses.iter().chain(&later.stage_losses).chain(&later.conductor_losses);
        self.losses_mut().zip(its).for_each(|(own, (_, its))| *own += its);
        self.kinds.conduction += later.kinds.conduction;
        self.kinds.switching += later.kinds.switching;
        self.kinds.windings += later.kinds.windings;
        self.kinds.cores += later.kinds.cores;
        self.beyond_drawn += later.beyond_drawn;
        self.coolant += later.coolant;
        self.rows += later.rows;
        self.lasts += later.lasts;
    }
}

impl Through {
    /// Adds what it gives, or takes where that is below zero; what is not known leaves both unknown.
    fn gives(&mut self, energy: f64) {
        if energy < 0.0 {
            self.taken -= energy;
        } else {
            self.given += energy;
            self.taken += 0.0 * energy;
        }
    }
}

impl Kinds {
    /// Adds what is lost in a row; `times` is the energy of a figure times a count.
    fn add(&mut self, plan: &Plan, times: impl Fn(FigureId, InputId) -> f64) {
        for package in &plan.packages {
            for chip in package.chips.iter().map(|&chip| &plan.chips[chip]) {
                self.conduction += times(chip.figures.conduction_loss, package.count);
                self.switching += times(chip.figures.switching_loss, package.count);
                if let Some(body) = &chip.body_diode {
                    self.conduction += times(body.loss, package.count);
                    self.switching += times(body.recovery_loss, package.count);
                }
            }
        }
        for magnetic in &plan.magnetics {
            for winding in &magnetic.windings {
                self.windings += times(winding.loss, magnetic.count);
            }
            self.cores += times(magnetic.core.figures.loss, magnetic.count);
        }
    }
}

/// Buses that no source feeds and no stage holds, from which something is drawn.
fn feeds(plan: &Plan) -> impl Iterator<Item = &Bus> {
    plan.buses
        .iter()
        .enumerate()
        .filter(|(place, bus)| bus.sources.is_empty() && enters(plan, *place))
        .map(|(_, bus)| bus)
}

fn enters(plan: &Plan, bus: usize) -> bool {
    let here = |port: &Port| port.bus == Some(bus);
    let mut stages = plan.stages.iter();
    let held = stages.any(|stage| stage.led_by.and_then(|port| stage.ports.get(port)).is_some_and(here));
    let mut all =
        plan.stages.iter().flat_map(|stage| &stage.ports).chain(plan.loads.iter().map(|load| &load.port));
    !held && all.any(here)
}

/// Conductors that carry something in service, or of which that is not known.
fn carrying(plan: &Plan) -> impl Iterator<Item = &Conductor> {
    plan.conductors.iter().filter(|conductor| conductor.carries.is_some() || conductor.unknown.is_some())
}

/// What each bridge gives to its machine.
fn machines(plan: &Plan) -> impl Iterator<Item = (PartId, FigureId)> {
    plan.stages.iter().filter_map(|stage| {
        let bridge = stage.bridge()?;
        Some((bridge.machine.unwrap_or(stage.part), bridge.figures.output_power))
    })
}
