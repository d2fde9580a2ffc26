//! What buses and loads need of voltage, and how far a bus dips as its load comes at once. Reckoned once after everything is
//! solved.

use loadworthy_physics::load_step::{self, FED_DIP, HELD_DIP};
use loadworthy_physics::{Current, Law, Time};

use crate::plan::{Arriving, Dip, Plan};
use crate::solver::pass::Pass;
use crate::solver::{damping, laws};
use crate::trace::{Operand, Trace};

static LOAD_STEP: Law = Law {
    name: "current that comes as all of the load of a bus switches on at once",
    formula: "ΔI = Σ max(P_k, 0)/V_lowest of all that hangs on it",
    validity: "what holds its power takes the most at the lowest voltage that the bus may have; from rest",
    source: "definition",
};

static MOST: Law = Law {
    name: "most that a stage gives to the bus that it holds",
    formula: "I = n·I_trip of its n chokes, of the unit that trips early",
    validity: "reads high by half the ripple of the chokes, at whose crest they trip",
    source: "definition of their trips",
};

static BOTTOM: Law = Law {
    name: "lowest voltage of a bus in its dip",
    formula: "V = V_0 − ΔV, V_0 what holds it without a load: V + R·I behind batteries",
    validity: "from rest to all that the duty point asks",
    source: "definition",
};

static BOTTOM_AT_LOAD: Law = Law {
    name: "lowest voltage at a load as its bus dips",
    formula: "V = V_bus,dip − (V_bus − V_load)·V_load/V_lowest: the drop on the way at the current that it takes at its lowest voltage",
    validity: "from rest to all that the duty point asks; a load that holds its power",
    source: "Ohm's law",
};

/// Every bus and every load that states what it needs.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for arriving in &plan.arriving {
        let lowest = pass.input(arriving.lowest);
        pass.put(arriving.needed, &laws::STATED, &[arriving.lowest.into()], |l| lowest[l]);
        if let (Some(dip), Some(bus)) =
            (arriving.dip.as_ref().filter(|dip| dip.no_bank.is_none()), arriving.bus)
        {
            dips(plan, arriving, dip, bus, pass);
        }
    }
}

fn dips<const L: usize, T: Trace>(
    plan: &Plan,
    arriving: &Arriving,
    dip: &Dip,
    place: usize,
    pass: &mut Pass<'_, L, T>,
) {
    let bus = &plan.buses[place];
    let lowest = pass.input(arriving.lowest);
    let mut watts = [0.0; L];
    for &one in &bus.drawn {
        let drawn = pass.operand(one);
        for l in 0..L {
            // What is missing stays missing.
            watts[l] += if drawn[l] < 0.0 { 0.0 } else { drawn[l] };
        }
    }
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(arriving.lowest.into());
        from.extend(&bus.drawn);
    }
    let step = pass.put(dip.step, &LOAD_STEP, &from, |l| watts[l] / lowest[l]);
    if let Some(gives) = &dip.gives {
        let (level, chokes) = (pass.operand(gives.level), pass.input(gives.chokes));
        pass.put(gives.most, &MOST, &[gives.level, gives.chokes.into()], |l| level[l] * chokes[l]);
    }
    let banks = damping::banks(plan, place, pass);
    from.clear();
    if T::LISTENS {
        from.push(dip.step.into());
        from.extend(damping::of_banks(plan, place));
    }
    let held = pass.figure(bus.voltage);
    let Some(response) = dip.response else {
        let fed = bus.sources.iter().map(|&own| (own, plan.sources[own].resistance));
        let feed = damping::feed(plan, fed, pass);
        if T::LISTENS {
            for &own in &bus.sources {
                let source = &plan.sources[own];
                from.extend([source.inductance, source.resistance].map(Operand::Input));
                from.extend(source.line.iter().map(|&line| Operand::Input(line)));
            }
        }
        let depth = pass.put(dip.depth, &FED_DIP, &from, |l| {
            load_step::fed_dip(Current::new(step[l]), feed[l], banks[l]).si()
        });
        let drawn = pass.figure(bus.current);
        let rest: &[Operand] = &[bus.voltage.into(), bus.current.into(), dip.depth.into()];
        // Without a load nothing drops in the resistance.
        let of_bus = core::array::from_fn(|l| held[l] + feed[l].resistance.si() * drawn[l] - depth[l]);
        bottom(arriving, dip, (rest, of_bus), &held, pass);
        return;
    };
    let time = pass.input(response);
    if T::LISTENS {
        from.push(response.into());
    }
    let depth = pass.put(dip.depth, &HELD_DIP, &from, |l| {
        load_step::held_dip(Current::new(step[l]), banks[l], Time::new(time[l])).si()
    });
    let of_bus = core::array::from_fn(|l| held[l] - depth[l]);
    bottom(arriving, dip, (&[bus.voltage.into(), dip.depth.into()], of_bus), &held, pass);
}

/// The lowest voltage of a bus, or what of it arrives at a load.
fn bottom<const L: usize, T: Trace>(
    arriving: &Arriving,
    dip: &Dip,
    (from, of_bus): (&[Operand], [f64; L]),
    held: &[f64; L],
    pass: &mut Pass<'_, L, T>,
) {
    if !arriving.is_load {
        pass.put(dip.bottom, &BOTTOM, from, |l| of_bus[l]);
        return;
    }
    let (arrives, lowest) = (pass.figure(arriving.voltage), pass.input(arriving.lowest));
    let mut all: Vec<Operand> = Vec::new();
    if T::LISTENS {
        all.extend(from);
        all.extend([Operand::Figure(arriving.voltage), Operand::Input(arriving.lowest)]);
    }
    // What holds its power takes more the less arrives.
    pass.put(dip.bottom, &BOTTOM_AT_LOAD, &all, |l| {
        of_bus[l] - (held[l] - arrives[l]) * arrives[l] / lowest[l]
    });
}
