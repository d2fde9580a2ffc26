//! What faults drive through a fuse: the most that it has to break, and the least that it has to melt from.

use loadworthy_physics::conductors::copper::growth;
use loadworthy_physics::{Capacitance, Inductance, Law, Resistance, Temperature, Voltage, fuse};

use super::{COLDEST, banks_from, inductance_of_banks, of_banks, of_discharge};
use crate::ids::InputId;
use crate::plan::{Drive, Fuse, Plan, Source};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::trace::{Operand, Trace};

static ACROSS: Law = Law {
    name: "highest voltage across an open fuse",
    formula: "V = the larger of `highest` of its bus and the highest open-circuit voltage that drives it",
    validity: "arc and inductance of the loop left to the fuse's own rating",
    source: "definition",
};

static OPEN_CIRCUIT: Law = Law {
    name: "voltage across an open fuse that its sources have without current",
    formula: "V = the largest open-circuit voltage that drives it",
    validity: "at least so much: what recovers or charges lifts the bus above it",
    source: "definition",
};

static HIGHEST: Law = Law {
    name: "highest prospective current",
    formula: "I = Σ(V_max/R_min)/Σ(1/R_min)/(1/Σ(1/R_min) + R_way) + Σ I_short; in the branch of a source, or from the high side of a boost or a buck, the larger of what drives it one way and the other; copper at −40 °C, the fuse itself left out",
    validity: "direct current, bolted fault right beside the fuse; discharge of banks by itself",
    source: "Ohm's law; IEC 61660-1",
};

static DELIVERED: Law = Law {
    name: "highest current that converters deliver into a fault",
    formula: "I = Σ of what bounds each converter: its late trip, of a chopper times its legs; the trip of the chokes at an output times their number",
    validity: "of a bus that converters alone feed; for as long as they go on, which their control may end at once; discharge of banks by itself",
    source: "definition of their trips",
};

static LOWEST: Law = Law {
    name: "lowest prospective current",
    formula: "I = V_min/(R_max + R_way), of several sources the weakest by itself; copper of the way and of the way back, where one is described, at 150 °C, the fuse and the longest unfused branch behind it counted; other sources at their strongest hold up the bus before that branch",
    validity: "direct current, bolted fault at the far end; arcs leave less",
    source: "Ohm's law; IEC 61660-1",
};

static BANKS: Law = Law {
    name: "I²t that banks send through a fuse",
    formula: "I²t = C·V²/(2·(R_bank + R_way)), of several banks the lesser of that of all together, C = ΣC_k and 1/R_bank = Σ1/R_k, and (Σ √(I²t of each alone))²; copper at −40 °C, the fuse itself left out",
    validity: "whole discharge from the highest voltage, capacitances at the upper end of their tolerance; of unlike banks a bound without their inductance",
    source: loadworthy_physics::fuse::BANKS_LET_THROUGH.source,
};

static SURGE: Law = Law {
    name: "highest prospective current with the discharge of banks",
    formula: "I = I_sources + peak of the discharge, where its I²t reaches the melting I²t of the fuse; else I_sources: the banks are empty before it melts",
    validity: "a bound: peaks of both at once, inductance of the way left out, that of the banks left out where it is not stated",
    source: loadworthy_physics::fuse::CAPACITOR_PEAK.source,
};

/// Hottest copper that a fault current meets, in °C.
const HOTTEST: f64 = 150.0;

/// Faults of one fuse.
struct Faults<'p, const L: usize> {
    plan: &'p Plan,
    fuse: &'p Fuse,
    /// What each input is in each lane.
    inputs: &'p [[f64; L]],
    /// How much more or less copper resists at its coldest and at its hottest than as stated.
    coldest: [f64; L],
    hottest: [f64; L],
}

/// Puts what faults drive through a fuse.
pub(super) fn faults<const L: usize, T: Trace>(plan: &Plan, fuse: &Fuse, pass: &mut Pass<'_, L, T>) {
    let inputs = pass.inputs;
    let air = pass.input(plan.conductors[fuse.conductor].surroundings);
    let shares = |celsius: f64| -> [f64; L] {
        core::array::from_fn(|l| growth(Temperature::celsius(celsius)) / growth(Temperature::celsius(air[l])))
    };
    let faults = Faults { plan, fuse, inputs, coldest: shares(COLDEST), hottest: shares(HOTTEST) };
    let mut from: Vec<Operand> = Vec::new();
    let across = faults.across(&mut from, pass);
    let peaks = faults.peaks(&across, &mut from, pass);
    let (highest, sides) = faults.highest(&mut from, pass);
    faults.time_constant(&highest, &mut from, pass);
    faults.with_banks((&highest, &sides, &peaks), &mut from, pass);
    faults.lowest(&mut from, pass);
}

impl<const L: usize> Faults<'_, L> {
    fn input(&self, id: InputId, l: usize) -> f64 {
        self.inputs[id.index()][l]
    }

    fn way(&self, line: &[InputId], shares: &[f64; L], l: usize) -> f64 {
        line.iter().map(|&ohms| self.input(ohms, l)).sum::<f64>() * shares[l]
    }

    fn cold(&self, line: &[InputId], l: usize) -> f64 {
        self.way(line, &self.coldest, l)
    }

    fn hot(&self, line: &[InputId], l: usize) -> f64 {
        self.way(line, &self.hottest, l)
    }

    fn air(&self) -> Operand {
        self.plan.conductors[self.fuse.conductor].surroundings.into()
    }

    /// Between the banks and the fuse: they stand at the bus, before a fuse of a load, behind one that sources at its node drive.
    fn bank_line(&self) -> &[InputId] {
        if self.fuse.from_node { &self.fuse.after } else { &self.fuse.before }
    }

    /// Voltage across the open fuse.
    fn across<T: Trace>(&self, from: &mut Vec<Operand>, pass: &mut Pass<'_, L, T>) -> [f64; L] {
        let (fuse, figures) = (self.fuse, &self.fuse.figures);
        let all = |l: usize| fuse.across.iter().map(move |&volts| self.input(volts, l));
        if T::LISTENS {
            from.extend(fuse.across.iter().map(|&volts| Operand::Input(volts)));
        }
        let across = pass.put(figures.highest_voltage, &ACROSS, from, |l| {
            all(l).fold(if fuse.across.is_empty() { f64::NAN } else { 0.0 }, |most, volts| {
                // What is missing stays missing.
                if most.is_nan() || volts <= most { most } else { volts }
            })
        });
        if let Some(open_circuit) = figures.open_circuit {
            if T::LISTENS {
                from.retain(
                    |volts| matches!(volts, Operand::Input(volts) if self.input(*volts, 0).is_finite()),
                );
            }
            pass.put(open_circuit, &OPEN_CIRCUIT, from, |l| {
                all(l).fold(f64::NAN, |most, volts| if volts > most || most.is_nan() { volts } else { most })
            });
        }
        across
    }

    /// Peak of what banks discharge through it, where they melt it.
    fn peaks<T: Trace>(
        &self,
        across: &[f64; L],
        from: &mut Vec<Operand>,
        pass: &mut Pass<'_, L, T>,
    ) -> [f64; L] {
        let Some(surge) = self.fuse.surge else { return [0.0; L] };
        let (plan, banks, figures) = (self.plan, &self.fuse.banks, &self.fuse.figures);
        if T::LISTENS {
            from.clear();
            from.push(figures.highest_voltage.into());
            banks_from(plan, banks, from);
            from.extend(self.bank_line().iter().map(|&ohms| Operand::Input(ohms)));
            from.push(self.air());
        }
        let sent = pass.put(surge.let_through, &BANKS, from, |l| {
            of_discharge(plan, banks, across[l], self.cold(self.bank_line(), l), |id| self.input(id, l))
        });
        core::array::from_fn(|l| {
            let melting = self.input(self.fuse.melting, l);
            if sent[l] < melting {
                return 0.0;
            }
            let (farads, ohms) = of_banks(plan, banks, |id| self.input(id, l));
            let path = Resistance::new(ohms + self.cold(self.bank_line(), l));
            let henry = Inductance::new(inductance_of_banks(plan, banks, |id| self.input(id, l)));
            let peak =
                fuse::capacitor_peak(Capacitance::new(farads), Voltage::new(across[l]), path, henry).si();
            // Not known where it is not known whether it melts.
            if melting.is_nan() { melting } else { peak }
        })
    }

    /// The highest prospective current, and what drives the fuse with the banks and against them.
    fn highest<T: Trace>(
        &self,
        from: &mut Vec<Operand>,
        pass: &mut Pass<'_, L, T>,
    ) -> ([f64; L], [(f64, f64); L]) {
        let fuse = self.fuse;
        if T::LISTENS {
            from.clear();
            from.extend(fuse.drives.iter().chain(&fuse.others).flat_map(|drive| of_drive(drive, false)));
            from.extend(fuse.before.iter().chain(&fuse.after).map(|&ohms| Operand::Input(ohms)));
            from.push(self.air());
        }
        let mut law = &HIGHEST;
        if let Some(delivered) = &fuse.delivered {
            law = &DELIVERED;
            if T::LISTENS {
                delivered.from(self.plan, from);
            }
        }
        let mut sides = [(0.0, 0.0); L];
        let highest = pass.put(fuse.figures.highest_fault, law, from, |l| {
            if let Some(delivered) = &fuse.delivered {
                let amps = delivered.highest(self.plan, |operand| match operand {
                    Operand::Input(id) => self.input(id, l),
                    Operand::Figure(_) | Operand::Curve(_) => f64::NAN,
                });
                sides[l] = (amps, 0.0);
                return amps;
            }
            if fuse.drives.is_empty() {
                return f64::NAN;
            }
            let drives = |drives: &[Drive], before: &[InputId]| {
                let (conducts, over, short) = self.strongest(drives.iter(), l);
                let resistive = if conducts == 0.0 {
                    0.0
                } else {
                    over / conducts / (1.0 / conducts + self.cold(before, l))
                };
                resistive + short
            };
            let ahead = drives(&fuse.drives, &fuse.before);
            let back = drives(&fuse.others, &fuse.after);
            sides[l] = if fuse.from_node { (back, ahead) } else { (ahead, back) };
            if back > ahead || back.is_nan() { back } else { ahead }
        });
        (highest, sides)
    }

    /// Conductance of sources at their strongest, what they drive into a short circuit through it, and what others add to it.
    fn strongest<'d>(&self, drives: impl Iterator<Item = &'d Drive>, l: usize) -> (f64, f64, f64) {
        let (mut conducts, mut over, mut short) = (0.0, 0.0, 0.0);
        for drive in drives {
            match drive.short_circuit {
                Some((highest, _)) => short += self.input(highest, l),
                None => {
                    let ohms = self.input(drive.resistance.0, l) + self.cold(&drive.line, l);
                    over += self.input(drive.voltage.0, l) / ohms;
                    conducts += 1.0 / ohms;
                }
            }
        }
        (conducts, over, short)
    }

    /// Time constant of the fault: of one source alone, or the slowest of several.
    fn time_constant<T: Trace>(
        &self,
        highest: &[f64; L],
        from: &mut Vec<Operand>,
        pass: &mut Pass<'_, L, T>,
    ) {
        let (fuse, figures) = (self.fuse, &self.fuse.figures);
        let Some(constant) = figures.fault_constant else { return };
        let source = |drive: &Drive| &self.plan.sources[drive.place];
        if let ([drive], []) = (fuse.drives.as_slice(), fuse.others.as_slice())
            && drive.short_circuit.is_none()
        {
            let henry = source(drive).inductance;
            let from: [Operand; 3] = [henry.into(), figures.highest_fault.into(), drive.voltage.0.into()];
            pass.put(constant, &laws::FAULT_CONSTANT, &from, |l| {
                self.input(henry, l) * highest[l] / self.input(drive.voltage.0, l)
            });
            return;
        }
        let each = || fuse.drives.iter().chain(&fuse.others).map(|drive| (drive, source(drive)));
        if T::LISTENS {
            from.clear();
            for (drive, source) in each() {
                from.push(source.inductance.into());
                from.extend(of_drive(drive, false));
            }
        }
        pass.put(constant, &laws::SLOWEST_FAULT, from, |l| {
            let of = |(drive, source): (&Drive, &Source)| {
                let henry = self.input(source.inductance, l);
                match drive.short_circuit {
                    Some((highest, _)) => henry * self.input(highest, l) / self.input(drive.voltage.0, l),
                    None => henry / (self.input(drive.resistance.0, l) + self.cold(&drive.line, l)),
                }
            };
            each().map(of).fold(0.0, |most, own| if own > most || own.is_nan() { own } else { most })
        });
    }

    /// The highest prospective current with the discharge of banks.
    fn with_banks<T: Trace>(
        &self,
        (highest, sides, peaks): (&[f64; L], &[(f64, f64); L], &[f64; L]),
        from: &mut Vec<Operand>,
        pass: &mut Pass<'_, L, T>,
    ) {
        let (fuse, figures) = (self.fuse, &self.fuse.figures);
        let Some(surge) = fuse.surge else { return };
        if T::LISTENS {
            from.clear();
            let sent: [Operand; 4] = [
                figures.highest_fault.into(),
                surge.let_through.into(),
                fuse.melting.into(),
                figures.highest_voltage.into(),
            ];
            from.extend(sent);
            banks_from(self.plan, &fuse.banks, from);
            // Inductances count where they are stated.
            let banks = fuse.banks.iter().map(|&bank| &self.plan.banks[bank]);
            let henries = banks.flat_map(|bank| [bank.each.inductance, bank.path_inductance]);
            from.extend(henries.filter(|&id| self.input(id, 0).is_finite()).map(Operand::from));
        }
        pass.put(surge.current, &SURGE, from, |l| {
            let with_banks = sides[l].0 + peaks[l];
            if with_banks > highest[l] || with_banks.is_nan() { with_banks } else { highest[l] }
        });
    }

    /// The lowest prospective current: of several sources the weakest by itself.
    fn lowest<T: Trace>(&self, from: &mut Vec<Operand>, pass: &mut Pass<'_, L, T>) {
        let fuse = self.fuse;
        let own = self.plan.conductors[fuse.conductor].resistance;
        if T::LISTENS {
            from.clear();
            from.extend(fuse.drives.iter().flat_map(|drive| of_drive(drive, true)));
            from.extend(fuse.others.iter().flat_map(|drive| of_drive(drive, false)));
            let lines = fuse.own_line.iter().chain(&fuse.own_back).chain(&fuse.longest_behind);
            from.extend(lines.map(|&ohms| Operand::Input(ohms)));
            from.push(own.into());
            from.push(self.air());
        }
        pass.put(fuse.figures.lowest_fault, &LOWEST, from, |l| {
            let behind = self.hot(&fuse.longest_behind, l);
            let own = self.hot(&fuse.own_line, l) + self.hot(&fuse.own_back, l) + self.input(own, l);
            let each = fuse.drives.iter().map(|drive| match drive.short_circuit {
                Some((_, lowest)) => self.input(lowest, l),
                None => {
                    let line = self.hot(&drive.line, l) + self.hot(&drive.back, l);
                    let ohms = self.input(drive.resistance.1, l) + line + own;
                    let volts = self.input(drive.voltage.1, l);
                    if fuse.others.is_empty() || behind == 0.0 {
                        volts / (ohms + behind)
                    } else {
                        self.held_up((volts, ohms), behind, l)
                    }
                }
            });
            let least = each.fold(
                f64::INFINITY,
                |least, amps| {
                    if least.is_nan() || amps >= least { least } else { amps }
                },
            );
            if least.is_finite() { least } else { f64::NAN }
        });
    }

    /// What is left of the current of a source where others raise the bus before the branch in which the fault is.
    fn held_up(&self, (volts, ohms): (f64, f64), behind: f64, l: usize) -> f64 {
        let left = |(conducts, over, short): (f64, f64, f64)| {
            let bus = (volts / ohms + over + short) / (1.0 / ohms + conducts + 1.0 / behind);
            let amps = (volts - bus) / ohms;
            if amps < 0.0 { 0.0 } else { amps }
        };
        let others = &self.fuse.others;
        let all = left(self.strongest(others.iter(), l));
        // Diodes block where the bus stays above what is behind them.
        let blocked = left(self.strongest(others.iter().filter(|drive| !drive.is_beyond), l));
        if all.is_nan() || all <= blocked { all } else { blocked }
    }
}

/// What a source contributes to a prospective current: the highest, or the lowest.
fn of_drive(drive: &Drive, is_lowest: bool) -> impl Iterator<Item = Operand> + '_ {
    let own = match (drive.short_circuit, is_lowest) {
        (Some((highest, _)), false) => vec![highest],
        (Some((_, lowest)), true) => vec![lowest],
        (None, false) => vec![drive.voltage.0, drive.resistance.0],
        (None, true) => vec![drive.voltage.1, drive.resistance.1],
    };
    let (line, back): (&[InputId], &[InputId]) = match drive.short_circuit {
        Some(_) => (&[], &[]),
        None => (&drive.line, if is_lowest { &drive.back } else { &[] }),
    };
    own.into_iter().chain(line.iter().chain(back).copied()).map(Operand::Input)
}
