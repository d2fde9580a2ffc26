//! Flux in the cores of a solved lane, and what they carry at their temperature; nothing of the solution depends on it.

use loadworthy_physics::core_flux;
use loadworthy_physics::{Area, Current, FluxDensity, FluxLinkage, Inductance, Law, Temperature};

use crate::ids::FigureId;
use crate::plan::{Core, Magnetic, MagneticRole, Plan, Topology};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static TRANSFORMER_PEAK: Law = Law {
    name: "crest of the flux density in a transformer",
    formula: "B̂ = (1 + w)·L_m·Î_m/(N·A)",
    validity: "volt-seconds of the operating point; steps of load or input, until control has followed them, come on top",
    source: core_flux::LINKED_PEAK.source,
};
static TRIP_PEAK: Law = Law {
    name: "crest of the flux density where the stage is switched off",
    formula: "B̂ = (1 + t)·L·I_off/(N·A), of a softening choke (1 + t)·∫ L di/(N·A), to I_off of the latest unit and after its delay where that is known",
    validity: "inductance as stated until then: a core that saturates on the way lets more current through",
    source: core_flux::CHOKE_PEAK.source,
};
static SOFTENED_SHARE: Law = Law {
    name: "share of its inductance that a choke has lost",
    formula: "1 − L(Î)/L(0)",
    validity: core_flux::SOFTENED.validity,
    source: core_flux::SOFTENED.source,
};
static SOFT_PEAK: Law = Law {
    name: "crest of the flux density in a softening choke",
    formula: "B̂ = (1 + t)·∫ L di/(N·A) from 0 to Î",
    validity: core_flux::SOFTENED.validity,
    source: core_flux::SOFTENED.source,
};

/// Puts the flux of every core.
pub(crate) fn fluxes<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for stage in &plan.stages {
        for &place in &stage.magnetics {
            let magnetic = &plan.magnetics[place];
            saturation(&magnetic.core, pass);
            match (&stage.topology, magnetic.role) {
                (Topology::Chopper(chopper), _) => {
                    let (peak, ripple) = (chopper.figures.leg_peak, chopper.figures.ripple);
                    // The trip of each leg holds for itself.
                    let peak = magnetic.uneven.map_or(peak, |uneven| uneven.peak);
                    choke(&magnetic.core, peak, ripple, pass);
                }
                (Topology::Isolated(isolated), MagneticRole::OutputChoke) => {
                    let peak = magnetic.uneven.map_or(isolated.figures.choke_peak, |uneven| uneven.peak);
                    choke(&magnetic.core, peak, isolated.figures.ripple, pass);
                }
                (Topology::Isolated(isolated), _) => {
                    transformer(magnetic, isolated.figures.magnetising_peak, pass);
                }
                (Topology::Bridge(_), _) => {}
            }
        }
    }
}

fn saturation<const L: usize, T: Trace>(core: &Core, pass: &mut Pass<'_, L, T>) {
    let (now, fall) = (pass.figure(core.figures.temperature), pass.input(core.fall));
    let (curve, points) = &core.saturation;
    let all: [Operand; 3] = [(*curve).into(), core.figures.temperature.into(), core.fall.into()];
    let from = if points.len() > 1 { &all[..2] } else { &all[..] };
    pass.put(core.figures.saturation, &core_flux::SATURATION, from, |l| {
        core_flux::saturation_at(points, fall[l], Temperature::celsius(now[l])).si()
    });
}

/// Numbers of a core in all lanes.
struct Numbers<const L: usize> {
    henry: [f64; L],
    tolerance: [f64; L],
    turns: [f64; L],
    area: [f64; L],
}

impl<const L: usize> Numbers<L> {
    fn of<T: Trace>(core: &Core, pass: &Pass<'_, L, T>) -> Self {
        Self {
            henry: pass.input(core.inductance),
            tolerance: pass.input(core.tolerance),
            turns: pass.input(core.turns),
            area: pass.input(core.area),
        }
    }

    fn linked(&self, linkage: FluxLinkage, l: usize) -> FluxDensity {
        core_flux::linked_peak(linkage, self.turns[l], Area::new(self.area[l]))
    }
}

/// The current at which the stage of a choke is off: of a unit that trips late, and after its delay where that is known.
fn switched_off<const L: usize, T: Trace>(core: &Core, pass: &Pass<'_, L, T>) -> Option<(Operand, [f64; L])> {
    let stated = core.trip?;
    Some(match core.late_trip {
        None => (stated.into(), pass.input(stated)),
        Some((latest, None)) => (latest.into(), pass.figure(latest)),
        Some((_, Some(turned_off))) => (turned_off.into(), pass.figure(turned_off)),
    })
}

fn choke<const L: usize, T: Trace>(core: &Core, peak: FigureId, ripple: FigureId, pass: &mut Pass<'_, L, T>) {
    let numbers = Numbers::of(core, pass);
    let (amps, swing) = (pass.figure(peak), pass.figure(ripple));
    let mut from: [Operand; 6] = [
        core.inductance.into(),
        core.tolerance.into(),
        peak.into(),
        ripple.into(),
        core.turns.into(),
        core.area.into(),
    ];
    let figures = &core.figures;
    let trip = switched_off(core, pass);
    if let Some((curve, points)) = &core.softening {
        from[0] = (*curve).into();
        let at = |amps: f64| core_flux::softened(points, Current::new(amps));
        pass.put(figures.flux_density, &SOFT_PEAK, &from, |l| {
            numbers.linked(at(amps[l]).1 * (1.0 + numbers.tolerance[l]), l).si()
        });
        if let Some(softened) = figures.softened {
            pass.put(softened, &SOFTENED_SHARE, &[(*curve).into(), peak.into()], |l| {
                let whole = points.first().map_or(f64::NAN, |point| point.1.si());
                1.0 - at(amps[l]).0.si() / whole
            });
        }
        if let (Some(out), Some((trip, current))) = (figures.trip_flux_density, trip) {
            (from[2], from[3]) = (trip, trip);
            pass.put(out, &TRIP_PEAK, &from, |l| {
                numbers.linked(at(current[l]).1 * (1.0 + numbers.tolerance[l]), l).si()
            });
        }
        return;
    }
    if let Some(energy) = figures.energy {
        pass.put(energy, &laws::CHOKE_ENERGY, &from[..3], |l| {
            0.5 * numbers.henry[l] * (1.0 + numbers.tolerance[l]) * amps[l] * amps[l]
        });
    }
    // A triangle from zero to zero swings by all of its crest; so does one that just touches zero.
    let rests = |l: usize| amps[l] <= swing[l] && swing[l] <= amps[l];
    let law = if rests(0) { &core_flux::RESTING_CHOKE_PEAK } else { &core_flux::CHOKE_PEAK };
    pass.put(figures.flux_density, law, &from, |l| {
        let (henry, tolerance) = (Inductance::new(numbers.henry[l]), numbers.tolerance[l]);
        let (turns, area) = (numbers.turns[l], Area::new(numbers.area[l]));
        let (crest, mean) = (Current::new(amps[l]), Current::new(amps[l] - 0.5 * swing[l]));
        if rests(l) {
            core_flux::resting_choke_peak(henry, tolerance, crest, turns, area).si()
        } else {
            core_flux::choke_peak(henry, tolerance, mean, crest, turns, area).si()
        }
    });
    if let (Some(out), Some((trip, current))) = (figures.trip_flux_density, trip) {
        (from[2], from[3]) = (trip, trip);
        pass.put(out, &TRIP_PEAK, &from, |l| {
            let linkage = Inductance::new(numbers.henry[l]) * Current::new(current[l]);
            numbers.linked(linkage * (1.0 + numbers.tolerance[l]), l).si()
        });
    }
}

fn transformer<const L: usize, T: Trace>(magnetic: &Magnetic, peak: FigureId, pass: &mut Pass<'_, L, T>) {
    let core = &magnetic.core;
    let numbers = Numbers::of(core, pass);
    let (amps, walking) = (pass.figure(peak), pass.input(core.walking));
    let from: &[Operand] =
        &[core.inductance.into(), peak.into(), core.walking.into(), core.turns.into(), core.area.into()];
    pass.put(core.figures.flux_density, &TRANSFORMER_PEAK, from, |l| {
        let linkage = Inductance::new(numbers.henry[l]) * Current::new(amps[l]);
        numbers.linked(linkage * (1.0 + walking[l]), l).si()
    });
}
