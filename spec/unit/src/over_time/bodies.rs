//! Conductors, windings and cores of a lane, while it lasts.
//!
//! Each is followed by itself: its current and what heats it stand still, and so does what it gives its heat to. A plate
//! counts as hot as it gets in the lane, and between two occurrences as hot as it is there.

use loadworthy_physics::conductors::warming;
use loadworthy_physics::wound_bodies::{self, Body, Case, MOST, Over};
use loadworthy_physics::{Area, Resistance, Temperature, Time, Volume};

use crate::ids::{FigureId, InputId};
use crate::over_time::course::raise;
use crate::plan::{self, Conductor, ConductorHeat, CoreCapacity, Magnetic, Plan, WindingCapacity};
use crate::solver::{Block, uneven_rise};
use crate::trace::Operand;

/// Parts of a duty point in which windings and cores are looked at.
pub(crate) const PARTS: usize = 16;
/// Steps of one length after a load has ended, and how often that doubles.
const STEPS_ALIKE: u32 = 4;
const DOUBLINGS: u32 = 8;
/// Temperature in °C of a winding whose resistance is one of service.
const IN_SERVICE: f64 = 100.0;

/// Temperatures of one moment in °C, or the highest of some time.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Warmth {
    /// Of each conductor of the plan; not a number where it is not judged by its temperature.
    pub(crate) conductors: Vec<f64>,
    /// Mean of each winding, then the core, of each magnetic component.
    pub(crate) wound: Vec<[f64; MOST]>,
}

/// Where a lane is solved, and how hot each place of the coolant path gets in it.
#[derive(Clone, Copy)]
pub(crate) struct Lasting<'b, const L: usize> {
    pub(crate) block: &'b Block<L>,
    pub(crate) lane: usize,
    pub(crate) plates: &'b [f64],
    /// Time in s.
    pub(crate) lasts: f64,
}

impl<const L: usize> Lasting<'_, L> {
    fn figure(&self, id: FigureId) -> f64 {
        self.block.figures[id.index()][self.lane]
    }

    fn input(&self, id: InputId) -> f64 {
        self.block.inputs[id.index()][self.lane]
    }

    fn value(&self, operand: Operand) -> f64 {
        match operand {
            Operand::Figure(id) => self.figure(id),
            Operand::Input(id) => self.input(id),
            Operand::Curve(_) => f64::NAN,
        }
    }

    /// How a conductor warms: what flows in and out, and where it settles.
    fn balance(&self, conductor: &Conductor, heat: &ConductorHeat) -> (plan::Balance, f64) {
        let amps = self.figure(heat.figures.heating_current);
        let balance = heat.balance(conductor, amps, |operand| self.value(operand));
        let settled = self.figure(heat.figures.temperature);
        match heat.pad_place().and_then(|place| self.plates.get(place)) {
            Some(&plate) => {
                let balance = balance.before(plate);
                let settled = balance.settled();
                (balance, settled)
            }
            None => (balance, settled),
        }
    }

    /// Windings and core of a component as bodies on a case.
    fn wound(&self, magnetic: &Magnetic) -> ([Body; MOST], usize, Case) {
        let mut bodies = [Body::default(); MOST];
        let count = (magnetic.windings.len() + 1).min(MOST);
        for (winding, body) in magnetic.windings.iter().zip(&mut bodies) {
            let Some(warms) = &winding.warms else { continue };
            let (loss, per_kelvin) = (self.figure(winding.loss), self.figure(warms.loss_per_kelvin));
            let below =
                if per_kelvin == 0.0 { 0.0 } else { per_kelvin * self.figure(winding.mean_temperature) };
            let at = winding.stated_at.map_or(IN_SERVICE, |at| self.input(at));
            let capacity = warms.capacity.map_or(0.0, |capacity| match capacity {
                WindingCapacity::Stated(input) => self.input(input),
                WindingCapacity::Section(area) => {
                    let ohms = Resistance::new(self.input(winding.resistance));
                    let area = Area::new(self.input(area));
                    warming::of_winding(area, ohms, Temperature::celsius(at)).si()
                }
            });
            *body =
                Body { constant: loss - below, per_kelvin, to_case: self.input(winding.to_case), capacity };
        }
        let core = &magnetic.core;
        bodies[count - 1] = Body {
            constant: self.figure(core.figures.loss),
            per_kelvin: 0.0,
            to_case: self.input(core.to_case),
            capacity: core.capacity.map_or(0.0, |capacity| match capacity {
                CoreCapacity::Stated(input) => self.input(input),
                CoreCapacity::Volume(input) => {
                    wound_bodies::core_capacity(Volume::new(self.input(input))).si()
                }
            }),
        };
        let behind = magnetic.place.and_then(|place| self.plates.get(place)).copied();
        let reference = behind.unwrap_or_else(|| self.input(magnetic.heat.air));
        (bodies, count, Case { reference, resistance: self.value(magnetic.heat.case_here()) })
    }
}

impl Warmth {
    /// Everything settled.
    pub(crate) fn settled<const L: usize>(plan: &Plan, block: &Block<L>, lane: usize) -> Self {
        let figure = |id: FigureId| block.figures[id.index()][lane];
        let conductor =
            |one: &Conductor| one.heat.as_ref().map_or(f64::NAN, |heat| figure(heat.figures.temperature));
        let wound = |magnetic: &Magnetic| {
            let mut all = [0.0; MOST];
            let means = magnetic.windings.iter().map(|winding| winding.mean_temperature);
            let core = core::iter::once(magnetic.core.figures.temperature);
            all.iter_mut().zip(means.chain(core)).for_each(|(to, from)| *to = figure(from));
            all
        };
        Self {
            conductors: plan.conductors.iter().map(conductor).collect(),
            wound: plan.magnetics.iter().map(wound).collect(),
        }
    }

    /// The hotter of two, body by body; what is not known of one is not known.
    pub(crate) fn or_hotter(mut self, other: &Self) -> Self {
        self.rise_to(other);
        self
    }

    /// Nothing known.
    pub(crate) fn unknown(plan: &Plan) -> Self {
        Self {
            conductors: vec![f64::NAN; plan.conductors.len()],
            wound: vec![[f64::NAN; MOST]; plan.magnetics.len()],
        }
    }

    /// All temperatures, in a fixed order.
    pub(crate) fn all(&self) -> impl Iterator<Item = &f64> {
        self.conductors.iter().chain(self.wound.iter().flatten())
    }

    pub(crate) fn all_mut(&mut self) -> impl Iterator<Item = &mut f64> {
        self.conductors.iter_mut().chain(self.wound.iter_mut().flatten())
    }

    /// Rises to what is hotter in another, body by body.
    pub(crate) fn rise_to(&mut self, other: &Self) {
        let hotter = |own: &mut f64, its: f64| *own = if its > *own || its.is_nan() { its } else { *own };
        self.conductors.iter_mut().zip(&other.conductors).for_each(|(own, &its)| hotter(own, its));
        let own = self.wound.iter_mut().flatten();
        own.zip(other.wound.iter().flatten()).for_each(|(own, &its)| hotter(own, its));
    }

    /// Warms for a time, and raises `hottest` to what is met on the way, this moment included. `parts` are those in which
    /// windings and cores are looked at.
    pub(crate) fn warm<const L: usize>(
        &mut self,
        plan: &Plan,
        on: Lasting<'_, L>,
        parts: usize,
        hottest: &mut Self,
    ) {
        hottest.clone_from(self);
        for (k, conductor) in plan.conductors.iter().enumerate() {
            let Some(heat) = &conductor.heat else { continue };
            let now = &mut self.conductors[k];
            *now = if heat.holds_heat() {
                let (balance, settles) = on.balance(conductor, heat);
                balance.after(balance.no_colder(*now), settles, on.lasts)
            } else {
                on.figure(heat.figures.temperature)
            };
        }
        let part = Time::new(on.lasts / parts as f64);
        for (k, magnetic) in plan.magnetics.iter().enumerate() {
            let (bodies, count, case) = on.wound(magnetic);
            let over = Over::new(&bodies[..count], case, part);
            let (now, most) = (&mut self.wound[k], &mut hottest.wound[k]);
            for _ in 0..parts {
                *now = over.step(now);
                raise(most, now);
            }
        }
        hottest.rise_to(self);
    }

    /// Raises `hottest` to what windings and cores come to after the load has ended: the heat of one runs into another. Looked
    /// at in steps that grow, since that is soon over.
    pub(crate) fn runs_on<const L: usize>(&self, plan: &Plan, off: Lasting<'_, L>, hottest: &mut Self) {
        let shortest = off.lasts / f64::from(STEPS_ALIKE * ((1 << DOUBLINGS) - 1));
        for (k, magnetic) in plan.magnetics.iter().enumerate() {
            let (bodies, count, case) = off.wound(magnetic);
            let (mut now, most) = (self.wound[k], &mut hottest.wound[k]);
            let mut over = Over::new(&bodies[..count], case, Time::new(shortest));
            for _ in 0..DOUBLINGS {
                for _ in 0..STEPS_ALIKE {
                    now = over.step(&now);
                    raise(most, &now);
                }
                over = over.twice();
            }
        }
    }

    /// What a cycle of one lane, and then another, begins with once it returns to that.
    pub(crate) fn returning<const L: usize>(plan: &Plan, on: Lasting<'_, L>, off: Lasting<'_, L>) -> Self {
        let conductor = |conductor: &Conductor| {
            let Some(heat) = &conductor.heat else { return f64::NAN };
            if !heat.holds_heat() {
                return off.figure(heat.figures.temperature);
            }
            let (heats, settles) = on.balance(conductor, heat);
            let (rests, cools) = off.balance(conductor, heat);
            let least = if heats.coldest() < rests.coldest() { heats.coldest() } else { rests.coldest() };
            let cycle = |begins: Temperature| {
                let hot = heats.after(heats.no_colder(begins.in_celsius()), settles, on.lasts);
                Temperature::celsius(rests.after(rests.no_colder(hot), cools, off.lasts))
            };
            warming::returning(Temperature::celsius(least), cycle).in_celsius()
        };
        let wound = |magnetic: &Magnetic| {
            let over = |lasting: Lasting<'_, L>| {
                let (bodies, count, case) = lasting.wound(magnetic);
                Over::new(&bodies[..count], case, Time::new(lasting.lasts))
            };
            let (heats, rests) = (over(on), over(off));
            rests.beside(&heats.returning(&rests))
        };
        Self {
            conductors: plan.conductors.iter().map(conductor).collect(),
            wound: plan.magnetics.iter().map(wound).collect(),
        }
    }

    /// Writes the highest temperatures of a lane: these, or the settled ones where there are none.
    pub(crate) fn fill<const L: usize>(of: Option<&Self>, plan: &Plan, block: &mut Block<L>, lane: usize) {
        for (k, conductor) in plan.conductors.iter().enumerate() {
            let Some(figures) = conductor.heat.as_ref().map(|heat| &heat.figures) else { continue };
            let Some(hottest) = figures.hottest else { return };
            let settled = block.figures[figures.temperature.index()][lane];
            block.figures[hottest.index()][lane] = of.map_or(settled, |of| of.conductors[k]);
        }
        for (k, magnetic) in plan.magnetics.iter().enumerate() {
            for (place, winding) in magnetic.windings.iter().enumerate().take(MOST - 1) {
                let Some(warms) = &winding.warms else { return };
                let input = |id: InputId| block.inputs[id.index()][lane];
                let loss = block.figures[winding.loss.index()][lane];
                // In the leg that carries most as far above the others as once that has settled.
                let uneven = magnetic
                    .uneven
                    .map_or(0.0, |uneven| uneven_rise(input(winding.to_case), loss, input(uneven.share)));
                let hotter = input(winding.hot_spot) + uneven;
                let found = of.map(|of| of.wound[k][place] + hotter);
                let settled = block.figures[winding.temperature.index()][lane];
                block.figures[warms.hottest.index()][lane] = found.unwrap_or(settled);
            }
            let core = &magnetic.core.figures;
            let Some(hottest) = core.hottest else { return };
            let place = magnetic.windings.len().min(MOST - 1);
            let settled = block.figures[core.temperature.index()][lane];
            block.figures[hottest.index()][lane] = of.map_or(settled, |of| of.wound[k][place]);
        }
    }
}
