//! The heat of a bridge in time's double: each thermal node relaxes to the mean of its neighbours, the losses follow.

use crate::waveform::{Task, Turn};

/// How the chips of a bridge reach the coolant.
pub(crate) struct Heat {
    pub(crate) inlet: f64,
    /// Heat-capacity rate of the flow.
    pub(crate) rate: f64,
    /// Resistance from junction to case: transistor, diode.
    pub(crate) to_case: [f64; 2],
    /// Positions that share a case.
    pub(crate) packages: Vec<Vec<usize>>,
    /// How many of each package stand in parallel.
    pub(crate) count: f64,
    /// Faces of each package: resistance, place of the path.
    pub(crate) faces: Vec<(f64, usize)>,
    /// Places of the path: share of its own warming, resistance of its plate, heat that others bring there.
    pub(crate) places: Vec<(f64, f64, f64)>,
}

/// Heat-capacity rate of water with half glycol, litres a minute at a temperature.
pub(crate) fn glycol(litres: f64, t: f64) -> f64 {
    (1081.08 - 0.338_15 * t - 2.4319e-3 * t * t) * (3203.37 + 3.862_12 * t) * litres / 60_000.0
}

/// A unit that has settled.
pub(crate) struct Settled {
    pub(crate) turn: Turn,
    pub(crate) link: f64,
    pub(crate) index: f64,
    pub(crate) junctions: [[f64; 2]; 6],
    pub(crate) cases: Vec<Vec<f64>>,
    pub(crate) outlet: f64,
}

/// Relaxes each node to the mean of its neighbours until losses and temperatures hold together.
#[expect(
    clippy::needless_range_loop,
    reason = "a chip is one place in several arrays, and its number says so"
)]
pub(crate) fn settle(task: &Task, heat: &Heat, open: f64, inner: f64) -> Settled {
    let chips = if task.sheet.is_mosfet { 1 } else { 2 };
    let mut junctions = [[heat.inlet + 30.0; 2]; 6];
    let mut cases = vec![vec![heat.inlet; heat.faces.len()]; heat.packages.len()];
    let mut link = open;
    let mut end = None;
    for _ in 0..9 {
        let (turn, index) = task.run(link, &junctions);
        let loss = |position: usize, chip: usize| {
            let shares = &turn.shares[position];
            if chips == 1 { shares[0].loss() + shares[1].loss() } else { shares[chip].loss() }
        };
        let switching: f64 =
            turn.shares.iter().flatten().map(|share| share.switching).sum::<f64>() * task.parallel;
        link = open - inner * (turn.dc + switching / link);
        let mut outlet = heat.inlet;
        for _ in 0..400 {
            // Heat that each place takes, from the cases as they stand.
            let mut offered = Vec::new();
            outlet = heat.inlet;
            for (place, &(share, plate, others)) in heat.places.iter().enumerate() {
                let mut taken = others;
                for (package, positions) in heat.packages.iter().enumerate() {
                    for (face, &(_, at)) in heat.faces.iter().enumerate() {
                        let half = if heat.faces.len() == 2 { 2.0 } else { 1.0 };
                        if at == place {
                            for &position in positions {
                                for chip in 0..chips {
                                    let way = half * heat.to_case[chip];
                                    taken +=
                                        heat.count * (junctions[position][chip] - cases[package][face]) / way;
                                }
                            }
                        }
                    }
                }
                offered.push(outlet + share * taken / heat.rate + plate * taken);
                outlet += taken / heat.rate;
            }
            for (package, positions) in heat.packages.iter().enumerate() {
                let half = if heat.faces.len() == 2 { 2.0 } else { 1.0 };
                for &position in positions {
                    for chip in 0..chips {
                        let way = heat.to_case[chip] * half;
                        let from = cases[package].iter().map(|case| case / way).sum::<f64>();
                        junctions[position][chip] =
                            (loss(position, chip) + from) / (cases[package].len() as f64 / way);
                    }
                }
                for (face, &(resistance, place)) in heat.faces.iter().enumerate() {
                    let (mut sum, mut of) = (offered[place] / resistance, 1.0 / resistance);
                    for &position in positions {
                        for chip in 0..chips {
                            let way = heat.to_case[chip] * half;
                            sum += junctions[position][chip] / way;
                            of += 1.0 / way;
                        }
                    }
                    cases[package][face] = sum / of;
                }
            }
        }
        end = Some(Settled { turn, link, index, junctions, cases: cases.clone(), outlet });
    }
    end.unwrap_or_else(|| unreachable!("settling takes its rounds"))
}
