//! What of a variant may be sized, from which series, and what may not and why.

mod conductors;
mod parts;

use core::f64::consts::PI;

use loadworthy_unit::plan::{Plan, Stage, Topology};
use loadworthy_unit::stock::{LegList, Stock};
use loadworthy_unit::{Dimension, DutyId, InputId, Solved, Variant};

use super::{Kind, series};
use crate::figure_text::written;
use crate::seats::{counts, is_divided};

/// Something of a variant that may be sized.
#[derive(Clone, Debug)]
pub struct Sizable {
    /// What it is.
    pub kind: Kind,
    /// Path of the part: a stage, a bank, a conductor, the loop.
    pub part: String,
    /// What of it: the switch positions, or the key.
    pub what: String,
    /// The values that are set together.
    pub inputs: Vec<InputId>,
    /// Paths of these values.
    pub paths: Vec<String>,
    /// What is described.
    pub described: f64,
    /// What kind of number it is.
    pub dimension: Dimension,
    /// The sizes, rising: a series, and what is described.
    pub sizes: Vec<f64>,
    /// Where the sizes are parts on offer: which.
    pub offered: Option<Offered>,
    /// Other values that follow from the size.
    pub followers: Vec<Follower>,
    /// Paths of parts whose failures it is likely to mend.
    pub near: Vec<String>,
    /// Paths of parts for want of whose numbers it is not judged whether less is enough, so that it stays as described.
    pub unmoved: Vec<String>,
}

/// Parts that are exchanged for one another, in step with the sizes.
#[derive(Clone, Debug)]
pub struct Offered {
    /// By what they are told larger from smaller.
    pub by: &'static str,
    /// Their names.
    pub names: Vec<String>,
    /// The place of what is described.
    pub described: usize,
    /// What is written for each.
    written: Vec<Vec<(String, String)>>,
}

/// A value that follows from a size.
#[derive(Clone, Debug)]
pub struct Follower {
    /// Its path.
    pub path: String,
    described: f64,
    dimension: Dimension,
    rule: Rule,
}

/// How a value follows from a size.
#[derive(Clone, Debug)]
enum Rule {
    /// With this power of the size.
    Power(i32),
    /// An outer diameter over a section of copper: the wall stays.
    Around,
    /// A list of all legs.
    Legs(LegList),
}

/// Something of a variant that may not be sized.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsizable {
    /// What it would be.
    pub kind: Kind,
    /// Path of the part.
    pub part: String,
    /// What of it; empty where it is the part.
    pub what: String,
    /// Paths of the values that may not be set, for no variant either that takes them from the same place.
    pub paths: Vec<String>,
    /// Why it may not.
    pub why: &'static str,
}

impl Sizable {
    /// Every path that a size may be written to.
    pub fn all_paths(&self) -> impl Iterator<Item = &String> {
        let followers = self.followers.iter().map(|follower| &follower.path);
        let offered =
            self.offered.iter().flat_map(|offered| &offered.written).flatten().map(|(path, _)| path);
        self.paths.iter().chain(followers).chain(offered)
    }

    /// What is written for a part on offer: each path with its value.
    #[must_use]
    pub fn exchanged(&self, name: &str) -> Vec<(String, String)> {
        let written = |offered: &Offered| {
            let place = offered.names.iter().position(|known| known == name)?;
            offered.written.get(place).cloned()
        };
        self.offered.as_ref().and_then(written).unwrap_or_default()
    }

    /// What is written for a size: each path with its value.
    #[must_use]
    pub fn settings(&self, size: f64) -> Vec<(String, String)> {
        let own = self.paths.iter().map(|path| (path.clone(), text(size, self.dimension)));
        let followers = self.followers.iter().map(|follower| {
            let by = size / self.described;
            let value = match &follower.rule {
                Rule::Power(power) => {
                    let each = if *power > 0 { by } else { 1.0 / by };
                    follower.described * (0..power.abs()).fold(1.0, |product, _| product * each)
                }
                Rule::Around => follower.described + copper_diameter(size) - copper_diameter(self.described),
                Rule::Legs(list) => return (follower.path.clone(), list.written(size as usize)),
            };
            (follower.path.clone(), text(value, follower.dimension))
        });
        own.chain(followers).collect()
    }

    /// The place of what is described.
    #[must_use]
    pub fn start(&self) -> usize {
        if let Some(offered) = &self.offered {
            return offered.described;
        }
        let enough = self.sizes.partition_point(|&size| size < self.described * (1.0 - 1e-9));
        enough.min(self.sizes.len().saturating_sub(1))
    }
}

/// Diameter of the circle that a stranded conductor fills to three quarters, as its temperature is reckoned.
fn copper_diameter(section: f64) -> f64 {
    libm::sqrt(4.0 * section / (PI * 0.75))
}

/// A value as it is written: counts as whole numbers, everything else with its unit.
fn text(value: f64, dimension: Dimension) -> String {
    match dimension {
        // No prefix, and no digit that a rating has not.
        Dimension::SquaredCurrentTime => format!("{value:.3e} A^2 s"),
        Dimension::Area => written(value, dimension).replace('²', "^2"),
        _ => written(value, dimension),
    }
}

/// What of a variant may be sized, in the order of the objectives, and what may not.
#[must_use]
pub fn of_variant(variant: &Variant, stock: &Stock<'_>) -> (Vec<Sizable>, Vec<Unsizable>) {
    let solved = Solved::new(variant);
    let mut found = Found { variant, solved, stock, sizable: Vec::new(), unsizable: Vec::new() };
    for stage in &variant.plan.stages {
        found.legs(stage);
    }
    for stage in &variant.plan.stages {
        found.devices(&variant.plan, stage);
    }
    for bank in &variant.plan.banks {
        let part = variant.path(bank.part).to_owned();
        found.put(Kind::Banks, part, "capacitors in parallel", vec![bank.parts], series::capacitors);
    }
    found.parts();
    found.conductors();
    found.fuses();
    found.flow();
    (found.sizable, found.unsizable)
}

struct Found<'u> {
    variant: &'u Variant,
    solved: Solved<'u>,
    stock: &'u Stock<'u>,
    sizable: Vec<Sizable>,
    unsizable: Vec<Unsizable>,
}

impl Found<'_> {
    fn stated(&self, input: InputId) -> f64 {
        self.variant.tables.stated(input, DutyId::new(0)).value
    }

    fn path(&self, input: InputId) -> String {
        self.variant.tables.input_of(input).path.clone()
    }

    /// Adds something that may be sized, where it is described.
    fn put(
        &mut self,
        kind: Kind,
        part: String,
        what: &str,
        inputs: Vec<InputId>,
        sizes: impl Fn(f64) -> Vec<f64>,
    ) -> Option<&mut Sizable> {
        let values = inputs.iter().map(|&input| self.stated(input));
        let described = values.fold(f64::NAN, f64::max);
        let all_known = inputs.iter().all(|&input| self.stated(input) > 0.0);
        let paths: Vec<String> = inputs.iter().map(|&input| self.path(input)).collect();
        if !all_known {
            let (what, why) = (what.to_owned(), "its size is not stated");
            self.unsizable.push(Unsizable { kind, part, what, paths, why });
            return None;
        }
        if let Some(twin) = self.twin(kind, &inputs) {
            let own = &mut self.sizable[twin];
            own.inputs.extend(inputs);
            own.paths.extend(paths);
            if own.part == part {
                own.what = format!("{} and {what}", own.what);
            } else {
                own.near.push(part);
            }
            return Some(own);
        }
        let dimension = self.variant.tables.input_of(*inputs.first()?).dimension;
        let near = vec![part.clone()];
        let mut sizes = sizes(described);
        // What is described is there to be had, whether it is of the series or not.
        let place = sizes.partition_point(|&size| size < described * (1.0 - 1e-9));
        if sizes.get(place).is_none_or(|&size| size > described * (1.0 + 1e-9)) {
            sizes.insert(place, described);
        }
        self.sizable.push(Sizable {
            kind,
            part,
            what: what.to_owned(),
            inputs,
            paths,
            described,
            dimension,
            sizes,
            offered: None,
            followers: Vec::new(),
            near,
            unmoved: Vec::new(),
        });
        self.sizable.last_mut()
    }

    /// What was found already and stands in the same place of the text, as an entry does that is an alias of another: one size.
    fn twin(&self, kind: Kind, inputs: &[InputId]) -> Option<usize> {
        let place = |&input: &InputId| {
            let origin = self.variant.tables.stated(input, DutyId::new(0)).origin;
            origin.is_written().then(|| origin.node()).flatten()
        };
        let own: Vec<_> = inputs.iter().map(place).collect::<Option<_>>()?;
        let is_twin = |one: &Sizable| {
            let same = |places: &[InputId]| places.iter().map(place).eq(own.iter().map(|&at| Some(at)));
            one.kind == kind && !own.is_empty() && one.inputs.chunks(own.len()).any(same)
        };
        self.sizable.iter().position(is_twin)
    }

    /// Interleaved legs of a boost or a buck, with the lists that name all of them.
    fn legs(&mut self, stage: &Stage) {
        let Topology::Chopper(chopper) = &stage.topology else { return };
        let part = self.variant.path(stage.part).to_owned();
        let count = self.stated(chopper.inputs.legs);
        let lists = self.stock.legs(&part).map(|names| {
            names.all.clone().filter(|list| {
                u32::try_from(list.count).is_ok_and(|own| (f64::from(own) - count).abs() < 0.5)
            })
        });
        let Some(lists) = lists.collect::<Option<Vec<_>>>() else {
            self.unsizable.push(Unsizable {
                kind: Kind::Legs,
                part,
                what: "legs".to_owned(),
                paths: vec![self.path(chopper.inputs.legs)],
                why: "gate supplies or others name its legs one by one",
            });
            return;
        };
        if let Some(own) = self.put(Kind::Legs, part, "legs", vec![chopper.inputs.legs], series::legs) {
            let follower = |list: LegList| Follower {
                path: list.path.clone(),
                described: count,
                dimension: Dimension::Ratio,
                rule: Rule::Legs(list),
            };
            own.followers.extend(lists.into_iter().map(follower));
        }
    }

    /// Devices in parallel: one size for all positions that a package serves.
    fn devices(&mut self, plan: &Plan, stage: &Stage) {
        let part = self.variant.path(stage.part).to_owned();
        let mut seen: Vec<InputId> = Vec::new();
        for kind in 0..stage.seats.len() {
            let together = counts(plan, stage, &[kind]);
            if together.iter().any(|(input, _)| seen.contains(input)) {
                continue;
            }
            seen.extend(together.iter().map(|&(input, _)| input));
            let names: Vec<&str> = together.iter().map(|&(_, name)| name).collect();
            let what = names.join(" and ");
            let inputs = together.iter().map(|&(input, _)| input).collect::<Vec<_>>();
            if together.iter().any(|(input, _)| {
                stage
                    .seats
                    .iter()
                    .position(|seat| seat.parallel == *input)
                    .is_some_and(|kind| is_divided(plan, stage, kind))
            }) {
                self.unsizable.push(Unsizable {
                    kind: Kind::Devices,
                    part: part.clone(),
                    what,
                    paths: inputs.iter().map(|&input| self.path(input)).collect(),
                    why: "elements of the coolant loop state how many of them they take",
                });
            } else {
                self.put(Kind::Devices, part.clone(), &what, inputs, series::devices);
            }
        }
    }

    fn flow(&mut self) {
        let Some(path) = &self.variant.plan.coolant else { return };
        let part = self.variant.path(path.part).to_owned();
        let not = |paths, why| Unsizable {
            kind: Kind::Flow,
            part: part.clone(),
            what: "flow".to_owned(),
            paths,
            why,
        };
        if path.pump.is_some() {
            self.unsizable.push(not(Vec::new(), "follows from the curve of the pump"));
        } else if self.variant.tables.input_of(path.flow).values.len() > 1 {
            let paths = vec![self.path(path.flow)];
            self.unsizable.push(not(paths, "each duty point states its own"));
        } else {
            // Film of coolant and plate hang on the flow; a resistance from case to coolant does not say so.
            let plan = &self.variant.plan;
            let bare = path.places.iter().filter(|place| {
                let mut faces = place.faces.iter().map(|&(of, face)| &plan.packages[of].faces[face]);
                let mut wound = place.magnetics.iter().map(|&own| &plan.magnetics[own].heat);
                place.plate.is_none()
                    && (faces.any(|face| face.at_flow.is_none()) || wound.any(|heat| heat.at_flow.is_none()))
            });
            let unmoved: Vec<String> = bare.map(|place| self.variant.path(place.part).to_owned()).collect();
            let flows =
                |described| if unmoved.is_empty() { series::flows(described) } else { vec![described] };
            if let Some(flow) = self.put(Kind::Flow, part, "flow", vec![path.flow], flows) {
                flow.unmoved = unmoved;
            }
        }
    }
}
