//! Names in duty points and in the isolation.

use loadworthy_source::NodeId;

use super::cooling::names;
use super::known::{Names, Written};
use super::{Look, entries};
use crate::sections::duty::DutyPoint;
use crate::sections::missions::Mission;

impl Look<'_, '_> {
    pub(super) fn duty_point(&mut self, node: NodeId, point: &DutyPoint) -> bool {
        let all = self.description;
        let mut good = true;
        let consumers: &[&dyn Names] = &[&all.machines, &all.loads];
        let groups: [(&str, &'static str, &[&dyn Names]); 3] = [
            ("sources", "source", &[&all.sources]),
            ("buses", "bus", &[&all.buses]),
            ("loads", "machine or load", consumers),
        ];
        for (key, what, sections) in groups {
            for entry in entries(self.tree, node, key) {
                good &= self.leads_from(entry.key, self.tree.key_text(entry.key), what, sections);
            }
        }
        self.leads_if(point.starts_from.as_ref(), "duty point", &[&all.duty]) && good
    }

    pub(super) fn mission(&mut self, mission: &Mission) -> bool {
        let all = self.description;
        let steps = mission.steps.iter().flat_map(|steps| &steps.value).map(|step| &step.duty);
        let mut good = true;
        for duty in steps.chain(&mission.duty).chain(&mission.starts_from) {
            good &= self.leads(duty, "duty point", &[&all.duty]);
        }
        good
    }

    /// The domains of each barrier, read from the tree: the slips of a broken section are said as well.
    pub(super) fn isolation(&mut self, node: NodeId) -> bool {
        let tree = self.tree;
        let known = Written::under(tree, node, "domains");
        let mut good = true;
        for barrier in entries(tree, node, "barriers") {
            let mut domains = Vec::new();
            names(tree, tree.value_at(barrier.value, &["between"]), &mut domains);
            for (domain, at) in domains {
                // A switch position stands for the circuit of its gate.
                good &= if domain.contains('.') {
                    self.switch_position(at, domain)
                } else {
                    self.leads_from(at, domain, "domain", &[&known])
                };
            }
        }
        good
    }
}
