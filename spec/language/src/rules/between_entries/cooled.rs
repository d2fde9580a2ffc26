//! Devices in parallel that stand on different coolant elements.

use indexmap::IndexMap;
use loadworthy_source::{Located, NodeId, Problem};

use super::super::Scope;
use crate::document::Description;
use crate::references::entries;
use crate::sections::cooling::CooledFaces;
use crate::sections::stages::{Stage, SwitchPosition};

/// Devices that stand on elements, by stage, switch position and the face that is cooled there.
type Counts<'d> = IndexMap<(&'d str, &'static str, &'static str), Count<'d>>;

/// How many devices of a position stand on elements.
struct Count<'d> {
    sum: u32,
    /// The last count that was stated.
    last: Located<u32>,
    fitted: &'d SwitchPosition,
}

impl Scope<'_> {
    /// Where the devices of a stage are shared out among elements, each of them stands on one.
    pub(super) fn cooled_devices(&mut self, description: &Description) {
        let (Some(cooling), Some(at)) = (description.cooling.read(), description.cooling.at()) else {
            return;
        };
        let mut counts = Counts::new();
        // Both are in the order of the text.
        let elements = cooling.elements.iter().flatten().zip(entries(self.tree, at, "elements"));
        for ((_, element), written) in elements {
            let keys = entries(self.tree, written.value, "cools");
            for ((part, faces), key) in element.cools.iter().flatten().zip(keys) {
                let Some(devices) = faces.devices else { continue };
                if description.magnetics.contains_key(part) {
                    self.devices_of_a_choke(part, devices, key.key);
                }
                let (stage, position) = part
                    .split_once('.')
                    .map_or((part.as_str(), None), |(stage, position)| (stage, Some(position)));
                if let Some(known) = description.stages.entry(stage) {
                    count(&mut counts, stage, known, position, faces, devices);
                }
            }
        }
        for ((stage, position, _), count) in counts {
            let parallel = count.fitted.parallel.map_or(1, |given| given.value);
            if count.sum != parallel {
                self.stand_nowhere(stage, position, parallel, &count);
            }
        }
    }

    fn devices_of_a_choke(&mut self, part: &str, devices: Located<u32>, key: NodeId) {
        let (at, also) = (self.tree.span(devices.at), self.tree.span(key));
        self.ledger.note("conflict", at, "devices", || {
            let message = format!("`{part}` is a magnetic component and has no devices");
            Problem::new("conflict", at, message, "devices of a stage")
                .with_also(also, "no stage")
                .with_way_out("leave out `devices`")
        });
    }

    fn stand_nowhere(&mut self, stage: &str, position: &str, parallel: u32, count: &Count<'_>) {
        let at = self.tree.span(count.last.at);
        let fitted = count.fitted;
        let also = fitted.parallel.map(|given| given.at).or(fitted.fitted.as_ref().map(|given| given.at));
        self.ledger.note("conflict", at, "devices", || {
            let (sum, verb) = (count.sum, if count.sum == 1 { "device stands" } else { "devices stand" });
            let message = format!(
                "{sum} {verb} on the elements that cool `{stage}.{position}`, which has {parallel} in parallel"
            );
            let way_out =
                "let `devices` add up to `parallel`, or leave it out where all of them stand on one element";
            let problem = Problem::new("conflict", at, message, "the last of them").with_way_out(way_out);
            match also {
                Some(also) => problem.with_also(self.tree.span(also), format!("{parallel} in parallel")),
                None => problem,
            }
        });
    }
}

/// Adds the devices of one element to those of the others that cool the same faces of the same positions.
fn count<'d>(
    counts: &mut Counts<'d>,
    stage: &'d str,
    known: &'d Stage,
    position: Option<&str>,
    faces: &CooledFaces,
    devices: Located<u32>,
) {
    let stated = [("face_a", faces.face_a.is_some()), ("face_b", faces.face_b.is_some())];
    let stated = stated.into_iter().filter(|(_, is)| *is).map(|(face, _)| face).collect::<Vec<_>>();
    let stated = if stated.is_empty() { vec![""] } else { stated };
    for (name, fitted) in known.positions() {
        let Some(fitted) = fitted.filter(|_| position.is_none_or(|position| position == name)) else {
            continue;
        };
        for &face in &stated {
            let count = counts.entry((stage, name, face)).or_insert(Count { sum: 0, last: devices, fitted });
            count.sum = count.sum.saturating_add(devices.value);
            count.last = devices;
        }
    }
}
