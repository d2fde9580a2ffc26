//! Names in what crosses from one domain to another: drivers, gate supplies, sensors, signals.

use loadworthy_source::Located;

use super::Look;
use super::known::Names;
use crate::sections::drivers::Driver;
use crate::sections::sensors::{Measurement, Signal};

impl Look<'_, '_> {
    pub(super) fn driver(&mut self, driver: &Driver) -> bool {
        let mut good = self.barrier(driver.crosses.as_ref());
        for driven in driver.drives.iter().flat_map(|drives| &drives.value) {
            good &= self.switch_position(driven.at, &driven.value);
        }
        self.leads_if(driver.controller.as_ref(), "controller", &[&self.description.controllers]) && good
    }

    pub(super) fn sensor(&mut self, sensor: &Measurement) -> bool {
        let mut good = self.barrier(sensor.crosses.as_ref()) & self.domain(sensor.domain.as_ref());
        for controller in sensor.read_by.iter().flat_map(|controllers| &controllers.value) {
            good &= self.leads(controller, "controller", &[&self.description.controllers]);
        }
        for measured in sensor.of.iter().flat_map(|of| &of.value) {
            good &= self.measured(measured);
        }
        good
    }

    pub(super) fn signal(&mut self, signal: &Signal) -> bool {
        let mut good = self.barrier(signal.crosses.as_ref());
        for domain in signal.joins.iter().flat_map(|joins| &joins.value) {
            good &= self.domain(Some(domain));
        }
        good
    }

    /// A barrier is a word of its own until the description states its isolation.
    pub(super) fn barrier(&mut self, name: Option<&Located<String>>) -> bool {
        self.barriers.is_none_or(|barriers| self.leads_if(name, "barrier", &[barriers]))
    }

    /// What is measured: a part by its name, or a phase or leg of a stage.
    fn measured(&mut self, name: &Located<String>) -> bool {
        const WHAT: &str = "stage, bus, source, branch, machine, magnetic component or coolant element";
        let all = self.description;
        if name.value == "cooling" {
            return true;
        }
        let stage = name.value.split_once('.').map(|(stage, _)| stage);
        if let Some((stage, place)) = name.value.split_once('.')
            && let Some(known) = all.stages.entry(stage)
        {
            let places = known.positions().into_iter().flat_map(|(position, _)| {
                let places = known.places(position);
                places.into_iter().flat_map(move |place| [format!("{position}.{place}"), place])
            });
            let mut places =
                places.chain(known.positions().into_iter().map(|(position, _)| position.to_owned()));
            if places.any(|one| one == place) {
                return true;
            }
            return self.no_place(name.at, None, || {
                let message =
                    format!("`{stage}` has no phase, leg or position {}", crate::quantity::shown(place));
                (message, "not a place of this stage", None)
            });
        }
        if let Some(stage) = stage {
            // What places a broken stage has is not known.
            return all.stages.contains_key(stage)
                || all.stages.void
                || self.no_entry(name.at, &name.value, "stage", "a phase, leg or position of a stage");
        }
        let elements = super::known::Written::under_path(self.tree, all.cooling.at(), "elements");
        let sections: [&dyn Names; 7] =
            [&all.stages, &all.buses, &all.sources, &all.branches, &all.machines, &all.magnetics, &elements];
        self.leads(name, WHAT, &sections)
    }
}
