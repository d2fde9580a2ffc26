//! One step of time, of lanes side by side that do not touch one another.
//!
//! Over a step each element and each plate relaxes exponentially towards what its heat at the end of the step would
//! hold it at. That is one linear system, with the structure of the settled one: chips reduce to what their case sees,
//! packages to what their plate sees, and one sweep along the coolant gives every temperature. Exact for constant loss
//! and for a step of any length, and stable whatever the step.

use std::sync::Arc;

use loadworthy_physics::{Time, transient};

use crate::over_time::driven::Driven;
use crate::over_time::layout::Layout;
use crate::over_time::state::State;
use crate::plan::{CoolantPath, Package, Plan, Step};
use crate::solver::{Reduced, two_faces};

/// Sweeps after which packages between two places are taken as they are.
const MOST_SWEEPS: usize = 60;
/// Plates between two sweeps agree within this many kelvin.
const AGREED: f64 = 1e-6;

/// Room to step in, taken once for a plan.
pub(crate) struct Stepper<'p, const N: usize> {
    pub(crate) plan: &'p Plan,
    pub(crate) layout: Arc<Layout>,
    /// Length of the step that what is kept and added belongs to, in s.
    length: f64,
    /// For each element of the layout what it keeps over the step, and what a kelvin of its chip's settled rise adds.
    elements: Vec<(f64, f64)>,
    /// The latter for all elements of each kind.
    adds: Vec<f64>,
    chips: Vec<Chip<N>>,
    packages: Vec<Reduced<N>>,
    /// What each place keeps of its temperature over the step.
    keeps: Vec<[f64; N]>,
    /// Temperature that each place offers to its faces, in °C, and the one before.
    plates: Vec<[f64; N]>,
    plates_before: Vec<[f64; N]>,
    forks: Vec<([f64; N], [f64; N])>,
    /// Mean junction temperature of each chip at the end of the step, in °C.
    pub(crate) junctions: Vec<[f64; N]>,
}

/// A chip in a step.
#[derive(Clone, Copy)]
struct Chip<const N: usize> {
    /// What it keeps of its rise, in K, and what its loss adds, in K/W.
    kept: [f64; N],
    adds: [f64; N],
    /// By how much more its loss counts, as it grows with what it adds itself.
    grows: [f64; N],
}

impl<'p, const N: usize> Stepper<'p, N> {
    /// For a plan, of which `layout` is.
    pub(crate) fn new(plan: &'p Plan, layout: Arc<Layout>) -> Self {
        let unknown = [f64::NAN; N];
        let places = layout.capacities.len();
        Self {
            plan,
            length: f64::NAN,
            elements: vec![(0.0, 0.0); layout.elements.len()],
            adds: vec![0.0; layout.kinds.len()],
            chips: vec![Chip { kept: unknown, adds: unknown, grows: unknown }; plan.chips.len()],
            packages: vec![Reduced::default(); plan.packages.len()],
            keeps: vec![unknown; places],
            plates: vec![unknown; places],
            plates_before: vec![unknown; places],
            forks: vec![(unknown, unknown); layout.shares.len()],
            junctions: vec![unknown; plan.chips.len()],
            layout,
        }
    }

    /// Begins with lanes: what their places offer is a first guess for packages between two of them.
    pub(crate) fn begin(&mut self, driven: &Driven<N>) {
        for (plate, place) in self.plates.iter_mut().zip(&driven.places) {
            *plate = place.settled;
        }
    }

    /// Steps a state on by `length` in s.
    pub(crate) fn step(&mut self, driven: &Driven<N>, state: &mut State<N>, length: f64) {
        if length.to_bits() != self.length.to_bits() {
            self.lasts(length);
        }
        self.chips(driven, state);
        for (reduced, (package, faces)) in
            self.packages.iter_mut().zip(self.plan.packages.iter().zip(&driven.faces))
        {
            *reduced = self::reduced(package, faces, &self.chips, driven);
        }
        if let Some(path) = &self.plan.coolant {
            for (keeps, place) in self.keeps.iter_mut().zip(&driven.places) {
                *keeps = place.keeps(length);
            }
            self.sweeps(path, driven, state);
        }
        for package in 0..self.plan.packages.len() {
            self.junctions_of(package, driven);
        }
        for (chip, &seat) in self.layout.chips.iter().enumerate() {
            let ((constant, per_kelvin), to_case) = (&driven.lines[chip], &driven.to_case[chip]);
            let junction = &self.junctions[chip];
            let settled: [f64; N] =
                core::array::from_fn(|n| to_case[n] * (constant[n] + per_kelvin[n] * junction[n]));
            let elements = &self.elements[self.layout.kinds[seat.kind].clone()];
            for (rise, (keeps, adds)) in state.rises[seat.first..].iter_mut().zip(elements) {
                for n in 0..N {
                    rise[n] = keeps * rise[n] + adds * settled[n];
                }
            }
        }
        state.plates.copy_from_slice(&self.plates);
    }

    /// What is kept and added over a step.
    fn lasts(&mut self, length: f64) {
        self.length = length;
        for (out, element) in self.elements.iter_mut().zip(&self.layout.elements) {
            let keeps = transient::remains(Time::new(length), Time::new(element.time_constant));
            *out = (keeps, (1.0 - keeps) * element.share);
        }
        for (adds, kind) in self.adds.iter_mut().zip(&self.layout.kinds) {
            *adds = self.elements[kind.clone()].iter().map(|(_, adds)| adds).sum();
        }
    }

    /// What each chip keeps of its rise, and what its loss adds.
    fn chips(&mut self, driven: &Driven<N>, state: &State<N>) {
        for (chip, &seat) in self.layout.chips.iter().enumerate() {
            let elements = &self.elements[self.layout.kinds[seat.kind].clone()];
            let mut kept = [0.0; N];
            for (rise, (keeps, _)) in state.rises[seat.first..].iter().zip(elements) {
                for n in 0..N {
                    kept[n] += keeps * rise[n];
                }
            }
            let (to_case, per_kelvin) = (&driven.to_case[chip], &driven.lines[chip].1);
            let adds: [f64; N] = core::array::from_fn(|n| self.adds[seat.kind] * to_case[n]);
            let grows = core::array::from_fn(|n| 1.0 / (1.0 - adds[n] * per_kelvin[n]));
            self.chips[chip] = Chip { kept, adds, grows };
        }
    }

    /// Along the coolant, until packages between two places agree with both. A lane that does is left as it is.
    fn sweeps(&mut self, path: &CoolantPath, driven: &Driven<N>, state: &State<N>) {
        self.plates_before.copy_from_slice(&self.plates);
        let mut is_open = [true; N];
        for _ in 0..MOST_SWEEPS {
            self.sweep(path, driven, state);
            if !self.layout.spans_places {
                return;
            }
            let mut moves = [false; N];
            for (now, before) in self.plates.iter_mut().zip(&mut self.plates_before) {
                for n in 0..N {
                    if is_open[n] {
                        moves[n] |= (now[n] - before[n]).abs() > AGREED;
                        before[n] = now[n];
                    } else {
                        now[n] = before[n];
                    }
                }
            }
            is_open = moves;
            if is_open == [false; N] {
                return;
            }
        }
    }

    /// Once along the coolant.
    fn sweep(&mut self, path: &CoolantPath, driven: &Driven<N>, state: &State<N>) {
        let mut coolant = driven.inlet;
        for &step in path.steps() {
            match step {
                Step::Visit(here) => self.visit(path, here, &mut coolant, driven, state),
                Step::Fork(split) => self.forks[split] = (coolant, [0.0; N]),
                Step::Enter(split, _) => coolant = self.forks[split].0,
                Step::Leave(split, branch) => {
                    let share = &driven.shares[self.layout.shares[split] + branch];
                    for n in 0..N {
                        self.forks[split].1[n] += share[n] * coolant[n];
                    }
                }
                Step::Join(split) => coolant = self.forks[split].1,
            }
        }
    }

    fn visit(
        &mut self,
        path: &CoolantPath,
        here: usize,
        coolant: &mut [f64; N],
        driven: &Driven<N>,
        state: &State<N>,
    ) {
        let place = &driven.places[here];
        let (mut constant, mut per_kelvin) = (place.other_heat, [0.0; N]);
        for &(package, face) in &path.places[here].faces {
            let count = &driven.counts[package];
            let (cold, warm) = self.face_line(package, face, here, driven);
            for n in 0..N {
                constant[n] += count[n] * cold[n];
                per_kelvin[n] += count[n] * warm[n];
            }
        }
        for n in 0..N {
            let (resistance, entering, keeps) = (place.to_coolant[n], coolant[n], self.keeps[here][n]);
            let held = (1.0 - keeps) * (entering + resistance * constant[n]) + keeps * state.plates[here][n];
            let plate = held / (1.0 - (1.0 - keeps) * resistance * per_kelvin[n]);
            self.plates[here][n] = plate;
            let into_coolant = if place.capacity[n] > 0.0 {
                (plate - entering) / resistance
            } else {
                constant[n] + per_kelvin[n] * plate
            };
            coolant[n] = entering + into_coolant / place.rate[n];
        }
    }

    /// Heat that a face sends to its place: at 0 °C of the place, and for each kelvin more.
    fn face_line(
        &self,
        package: usize,
        face: usize,
        here: usize,
        driven: &Driven<N>,
    ) -> ([f64; N], [f64; N]) {
        let reduced = &self.packages[package];
        let [one, other] = driven.faces[package];
        let faces = match self.plan.packages[package].faces.as_slice() {
            [_] => return (reduced.sources, reduced.conductance),
            faces @ [_, _] => faces,
            _ => return ([f64::NAN; N], [f64::NAN; N]),
        };
        let beyond = faces[1 - face].place;
        let together = beyond == Some(here);
        let (mut constant, mut per_kelvin) = ([0.0; N], [0.0; N]);
        for n in 0..N {
            let mut behind = [0.0; 2];
            if !together {
                behind[1 - face] = beyond.map_or(f64::NAN, |place| self.plates_before[place][n]);
            }
            let (_, cold, _) = two_faces(reduced, n, [one[n], other[n]], behind);
            behind[face] += 1.0;
            if together {
                behind[1 - face] += 1.0;
            }
            let (_, warm, _) = two_faces(reduced, n, [one[n], other[n]], behind);
            (constant[n], per_kelvin[n]) = (cold[face], warm[face] - cold[face]);
        }
        (constant, per_kelvin)
    }

    /// Junction temperatures of a package at the end of the step.
    fn junctions_of(&mut self, package: usize, driven: &Driven<N>) {
        let of = &self.plan.packages[package];
        let (reduced, [one, other]) = (&self.packages[package], &driven.faces[package]);
        let behind = |face: usize| {
            let place = of.faces.get(face).and_then(|face| face.place);
            place.map_or([f64::NAN; N], |place| self.plates[place])
        };
        let case: [f64; N] = match of.faces.len() {
            1 => {
                let plate = behind(0);
                core::array::from_fn(|n| {
                    plate[n] + one[n] * (reduced.sources[n] + reduced.conductance[n] * plate[n])
                })
            }
            2 => {
                let plates = [behind(0), behind(1)];
                core::array::from_fn(|n| {
                    let plates = [plates[0][n], plates[1][n]];
                    let (cases, _, _) = two_faces(reduced, n, [one[n], other[n]], plates);
                    0.5 * (cases[0] + cases[1])
                })
            }
            _ => [f64::NAN; N],
        };
        for &chip in &of.chips {
            let (constant, Chip { kept, adds, grows }) = (&driven.lines[chip].0, &self.chips[chip]);
            let junction = &mut self.junctions[chip];
            for n in 0..N {
                junction[n] = (case[n] + kept[n] + adds[n] * constant[n]) * grows[n];
            }
        }
    }
}

/// Chips and case of a package, reduced to its faces; as in the solver, with what the chips keep.
fn reduced<const N: usize>(
    package: &Package,
    faces: &[[f64; N]; 2],
    chips: &[Chip<N>],
    driven: &Driven<N>,
) -> Reduced<N> {
    let mut out = Reduced::default();
    let is_single = package.faces.len() == 1;
    for &chip in &package.chips {
        let ((constant, per_kelvin), to_case) = (&driven.lines[chip], &driven.to_case[chip]);
        let Chip { kept, grows, .. } = &chips[chip];
        for n in 0..N {
            let source = (constant[n] + per_kelvin[n] * kept[n]) * grows[n];
            if is_single {
                out.sources[n] += source;
                out.conductance[n] += per_kelvin[n] * grows[n];
            } else {
                let to_face = 0.5 / to_case[n];
                out.sources[n] += 0.5 * source;
                out.across[n] += 0.25 * per_kelvin[n] * grows[n] + 0.5 * to_face;
                out.conductance[n] += to_face;
            }
        }
    }
    if is_single {
        for n in 0..N {
            let stiffness = 1.0 - faces[0][n] * out.conductance[n];
            out.sources[n] /= stiffness;
            out.conductance[n] /= stiffness;
        }
    }
    out
}
