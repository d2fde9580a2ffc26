//! What the coolant passes, in the order of flow, with what the duty point makes of it.

use std::collections::BTreeSet;

use loadworthy_checks::figure_text::value;
use loadworthy_checks::high_places;
use loadworthy_unit::Dimension;
use loadworthy_unit::plan::{CoolantLeg, CoolantPath, Place};

use crate::show::balance::Account;

use super::super::used::{Used, Uses};

/// Something that the coolant passes.
#[derive(Clone, Debug)]
pub(crate) struct Station<'u> {
    pub(crate) name: &'u str,
    /// The branch that it stands in, with its flow and share; empty on the path itself.
    pub(crate) branch: String,
    /// What it cools.
    pub(crate) cools: Vec<&'u str>,
    pub(crate) heat: Option<f64>,
    pub(crate) flow: Option<f64>,
    pub(crate) coolant_in: Option<f64>,
    pub(crate) coolant_out: Option<f64>,
    /// Heights where the coolant enters and leaves.
    pub(crate) heights: [Option<f64>; 2],
    pub(crate) is_vented: bool,
    /// Ends of it at which air gathers, as the unit is described.
    pub(crate) traps: [bool; 2],
    /// Of what it cools, what is nearest to its temperature limit.
    pub(crate) hottest: Option<Used>,
    /// What is said of the element itself.
    pub(crate) used: Option<Used>,
}

/// All stations; nothing where no coolant is described.
pub(crate) fn stations<'u>(account: &Account<'_, 'u>, uses: &Uses<'u>) -> Vec<Station<'u>> {
    let Some(path) = &account.solved.variant.plan.coolant else { return Vec::new() };
    let traps: BTreeSet<(usize, usize)> =
        high_places::traps(account.solved, path, account.lane).into_iter().collect();
    let mut walk = Walk { account, uses, path, traps, all: Vec::new() };
    walk.along(&path.legs, "");
    walk.all
}

struct Walk<'w, 's, 'u> {
    account: &'w Account<'s, 'u>,
    uses: &'w Uses<'u>,
    path: &'u CoolantPath,
    traps: BTreeSet<(usize, usize)>,
    all: Vec<Station<'u>>,
}

impl<'u> Walk<'_, '_, 'u> {
    fn along(&mut self, legs: &'u [CoolantLeg], branch: &str) {
        for leg in legs {
            match *leg {
                CoolantLeg::Place(place) => {
                    let station = self.station(place, branch);
                    self.all.push(station);
                }
                CoolantLeg::Split(split) => {
                    for own in &self.path.splits[split].branches {
                        let name = self.account.solved.variant.path(own.part);
                        let name = name.rsplit('.').next().unwrap_or(name);
                        let mut says = name.to_owned();
                        if let Some(flow) = self.account.figure(own.flow) {
                            says.push_str(&format!(" {}", value(flow, Dimension::VolumeFlow)));
                        }
                        self.along(&own.legs, &says);
                    }
                }
            }
        }
    }

    fn station(&self, number: usize, branch: &str) -> Station<'u> {
        let (account, variant) = (self.account, self.account.solved.variant);
        let place: &'u Place = &self.path.places[number];
        let plan = &variant.plan;
        let mut cools: Vec<&'u str> = Vec::new();
        let mut parts: Vec<&'u str> = Vec::new();
        for (package, _) in &place.faces {
            let package = &plan.packages[*package];
            cools.push(variant.path(plan.stages[package.stage].part));
            parts.extend(package.chips.iter().map(|chip| variant.path(plan.chips[*chip].part)));
        }
        for magnetic in &place.magnetics {
            let path = variant.path(plan.magnetics[*magnetic].part);
            cools.push(path.rsplit('.').next().unwrap_or(path));
            parts.push(path);
        }
        for conductor in &place.pads {
            let path = variant.path(plan.conductors[*conductor].part);
            cools.push(path);
            parts.push(path);
        }
        let mut known = BTreeSet::new();
        cools.retain(|name| known.insert(*name));
        let worst = parts.iter().filter_map(|path| self.uses.hottest(path));
        let hottest = worst.reduce(|one, other| if other.is_worse_than(one) { other } else { one }).cloned();
        let input = |id| account.solved.input(id, account.lane);
        Station {
            name: variant.path(place.part).trim_start_matches("cooling."),
            branch: branch.to_owned(),
            cools,
            heat: account.figure(place.heat),
            flow: account.figure(place.flow),
            coolant_in: account.figure(place.coolant_in),
            coolant_out: account.figure(place.coolant_out),
            heights: place.elevation.map(input),
            is_vented: input(place.vented).is_some_and(|vented| vented > 0.5),
            traps: [0, 1].map(|end| self.traps.contains(&(number, end))),
            hottest,
            used: self.uses.path(variant.path(place.part)).cloned(),
        }
    }
}
