//! What stands across a position while it turns off, once currents and bus voltages are solved: it changes nothing of them.

use loadworthy_physics::{
    Capacitance, Current, Inductance, Law, Temperature, Time, Voltage, blocking, turn_off,
};

use crate::plan::{ChipKind, Plan, TurnOff};
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static CURRENT: Law = Law {
    name: "largest current that a position turns off",
    formula: "I = max(n·I_max, I_trip)",
    validity: "all devices of a position turn off at once; a trip with its tolerance, and with what its delay adds where that is stated",
    source: "definition",
};

static VOLTAGE: Law = Law {
    name: "voltage while the current falls",
    formula: "V = V_bus,max + L_σ·0.8·I/t_f",
    validity: "straight fall, t_f from 90 to 10 %, a gate that holds the slope; forward recovery of the diode left out",
    source: turn_off::PLATEAU.source,
};

static UNDAMPED: Law = Law {
    name: "voltage of an undamped turn-off",
    formula: "V = V_bus,max + 2·L_σ·0.8·I/t_f·sin(min(ω·t_r, π)/2), ω = 1/√(L_σ·n·C_oss), t_r = t_f/0.8",
    validity: turn_off::UNDAMPED.validity,
    source: turn_off::UNDAMPED.source,
};

/// Puts the figures of every kind of position that turns off.
pub(crate) fn settle<const L: usize, T: Trace>(plan: &Plan, pass: &mut Pass<'_, L, T>) {
    for turn_off in &plan.turn_offs {
        inductance(plan, turn_off, pass);
        current(plan, turn_off, pass);
        voltages(plan, turn_off, pass);
    }
}

fn inductance<const L: usize, T: Trace>(plan: &Plan, of: &TurnOff, pass: &mut Pass<'_, L, T>) {
    let bus = plan.stages[of.stage].withstands[of.withstand].bus;
    let banks = bus.map_or(&[][..], |bus| &plan.buses[bus].ripple.banks);
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(of.bars.into());
        from.extend(of.no_bank.map(Operand::Input));
        for &bank in banks {
            let bank = &plan.banks[bank];
            from.extend([bank.path_inductance, bank.each.inductance, bank.parts].map(Operand::Input));
        }
        from.extend(of.packages.iter().flat_map(|&(henry, count)| [henry, count]).map(Operand::Input));
    }
    let inputs = pass.inputs;
    pass.put(of.figures.inductance, &turn_off::LOOP, &from, |l| {
        let input = |id: crate::ids::InputId| inputs[id.index()][l];
        let beside = banks.iter().map(|&bank| {
            let bank = &plan.banks[bank];
            1.0 / (input(bank.path_inductance) + input(bank.each.inductance) / input(bank.parts))
        });
        let beside = if of.no_bank.is_some() { f64::NAN } else { beside.sum() };
        let packages = of.packages.iter().map(|&(henry, count)| input(henry) / input(count)).sum();
        turn_off::loop_of(Inductance::new(input(of.bars)), beside, Inductance::new(packages)).si()
    });
}

fn current<const L: usize, T: Trace>(plan: &Plan, of: &TurnOff, pass: &mut Pass<'_, L, T>) {
    let stage = &plan.stages[of.stage];
    let seat = stage.withstands[of.withstand].seat;
    let parallel = stage.seats[seat].parallel;
    let chips = || {
        let own = stage.positions.iter().filter(|position| position.seat == seat);
        own.flat_map(|position| &plan.chips[position.chips.clone()])
            .filter(|chip| chip.kind != ChipKind::Diode)
            .map(|chip| chip.figures.judged_crest())
    };
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend(chips().map(Operand::Figure));
        from.push(parallel.into());
        from.extend(of.tripped.map(Operand::Figure).or(of.trip.map(Operand::Input)));
    }
    let count = pass.input(parallel);
    let trip = match (of.tripped, of.trip) {
        (Some(tripped), _) => pass.figure(tripped),
        (None, Some(trip)) => pass.input(trip),
        (None, None) => [0.0; L],
    };
    let mut crest = [0.0; L];
    for figure in chips() {
        let amps = pass.figure(figure);
        for l in 0..L {
            // What is missing stays missing.
            crest[l] =
                if crest[l] >= amps[l].abs() || f64::is_nan(crest[l]) { crest[l] } else { amps[l].abs() };
        }
    }
    pass.put(of.figures.current, &CURRENT, &from, |l| {
        let normal = count[l] * crest[l];
        if trip[l] > normal || trip[l].is_nan() { trip[l] } else { normal }
    });
}

fn voltages<const L: usize, T: Trace>(plan: &Plan, of: &TurnOff, pass: &mut Pass<'_, L, T>) {
    let stage = &plan.stages[of.stage];
    let withstand = &stage.withstands[of.withstand];
    let parallel = stage.seats[withstand.seat].parallel;
    let figures = &of.figures;
    let (henry, amps) = (pass.figure(figures.inductance), pass.figure(figures.current));
    let (fall, farad, count) = (pass.input(of.fall), pass.input(of.capacitance), pass.input(parallel));
    if let Some(bus) = withstand.bus {
        let bus = plan.buses[bus].highest_voltage;
        let volts = pass.figure(bus);
        let from: [Operand; 6] = [
            bus.into(),
            figures.inductance.into(),
            figures.current.into(),
            of.fall.into(),
            of.capacitance.into(),
            parallel.into(),
        ];
        pass.put(figures.plateau, &VOLTAGE, &from[..4], |l| {
            let added =
                turn_off::plateau(Inductance::new(henry[l]), Current::new(amps[l]), Time::new(fall[l]));
            volts[l] + added.si()
        });
        pass.put(figures.undamped, &UNDAMPED, &from, |l| {
            let capacitance = Capacitance::new(count[l] * farad[l]);
            let (henry, fall) = (Inductance::new(henry[l]), Time::new(fall[l]));
            volts[l] + turn_off::undamped(henry, capacitance, Current::new(amps[l]), fall).si()
        });
    }
    let (rated, growth) = (pass.input(withstand.blocking), pass.input(of.per_kelvin));
    let coldest = pass.input(of.coldest);
    let from: [Operand; 3] = [withstand.blocking.into(), of.per_kelvin.into(), of.coldest.into()];
    pass.put(figures.blocks, &blocking::IN_THE_COLD, &from, |l| {
        let coldest = Temperature::celsius(coldest[l]);
        blocking::in_the_cold(Voltage::new(rated[l]), growth[l], coldest).si()
    });
}
