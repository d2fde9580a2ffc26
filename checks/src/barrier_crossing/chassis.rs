//! Circuits that stand on the chassis though their voltage hurts, and devices on metal that nobody describes.

use std::sync::Arc;

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{BuiltInto, Domain, Form, Isolation};
use loadworthy_unit::{Dimension, PartId, Solved};

use super::strays;
use super::tell::listed;
use super::{EARTHED, NO_METAL};
use crate::check::Told;
use crate::collect::{Subject, Verdicts, structural};
use crate::figure_text::value;
use crate::isolation::{Classes, largest_stated};
use crate::remarks::Remark;
use crate::tell::part_at;
use crate::verdict::Grade;

/// The most that a circuit comes to, where it is known.
pub(super) fn largest(solved: &Solved<'_>, isolation: &Isolation, place: usize) -> Option<f64> {
    let voltage = isolation.domain(place).voltage;
    let lanes = solved.variant.lane_ids().filter_map(|lane| solved.figure(voltage, lane));
    lanes.reduce(f64::max).or_else(|| largest_stated(solved, isolation, place).ok())
}

/// Whether a pole of it, or the middle, stands on the chassis with a direct voltage that hurts.
pub(super) fn is_earthed(
    solved: &Solved<'_>,
    isolation: &Isolation,
    (place, domain): (usize, &Domain),
) -> bool {
    domain.is_earthed && largest(solved, isolation, place).is_some_and(|volts| volts > HARMLESS.si())
}

pub(super) fn judge(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes, out: &mut Verdicts) {
    for (place, domain) in isolation.domains().filter(|(_, domain)| domain.is_earthed) {
        if strays::is_told(solved, isolation, place) {
            continue;
        }
        // That a person can touch it is told with it.
        let is_touched = classes.missing(place).is_none()
            && classes.hurts(place)
            && domain.form == (Form::Circuit { touchable: true });
        let earthed = !is_touched && is_earthed(solved, isolation, (place, domain));
        // In plants one pole is earthed on purpose, and what protects is that a fault is cut off.
        let is_plant = matches!(isolation.built_into, Some(BuiltInto::Other));
        let grade = if is_plant { Grade::Minor } else { Grade::Major };
        put(solved, (domain.part, EARTHED), !earthed, grade, None, out);
    }
    let loose: Vec<PartId> =
        isolation.without_metal.iter().filter(|(_, of)| classes.hurts(*of)).map(|(part, _)| *part).collect();
    if !isolation.without_metal.is_empty() {
        let holds = loose.is_empty();
        put(solved, (isolation.part, NO_METAL), holds, Grade::Major, Some(loose).filter(|_| !holds), out);
    }
}

fn put(
    solved: &Solved<'_>,
    (part, defect): (PartId, &'static str),
    holds: bool,
    grade: Grade,
    names: Option<Vec<PartId>>,
    out: &mut Verdicts,
) {
    let subject = Subject { part, defect, lane: None, kin: None };
    let remarks = if holds { Vec::new() } else { vec![Remark::IsolationUnseen] };
    out.put_naming(solved, subject, structural(Ok(holds), grade), remarks, names.map(Arc::new));
}

/// A circuit on the chassis, in words.
pub(super) fn earthed(solved: &Solved<'_>, isolation: &Isolation, part: PartId) -> Option<Told> {
    let (place, domain) = isolation.domains().find(|(_, domain)| domain.part == part)?;
    let volts = value(largest(solved, isolation, place)?, Dimension::Voltage);
    let saying = format!("`{}` stands on the chassis, and comes to {volts}", domain.name);
    let label = format!("joined to the chassis, and up to {volts}");
    let facts = vec![
        "nothing isolates it from the chassis: whoever touches a pole and the chassis closes the circuit"
            .to_owned(),
        "a first fault is a short circuit, and no isolation is left to watch".to_owned(),
        "harmless: up to 60 V direct (ISO 6469-3)".to_owned(),
    ];
    let way = "let it float and watch its isolation; where the standard of the machine earths a pole, a permit with its clause says so";
    let at = part_at(solved, part, label);
    Some(Told { facts, no_proposal: Some(way.to_owned()), ..Told::new(saying, at) })
}

/// Devices and windings on metal that is no domain, in words.
pub(super) fn without_metal(solved: &Solved<'_>, isolation: &Isolation) -> Option<Told> {
    let names: Vec<&str> =
        isolation.without_metal.iter().map(|(part, _)| solved.variant.path(*part)).collect();
    let stand = if names.len() == 1 { "stands" } else { "stand" };
    let saying = format!("{} {stand} on cooled metal, and no domain is that metal", listed(&names));
    let first = isolation.without_metal.first()?.0;
    let at = part_at(solved, first, "cooled, and on what potential?".to_owned());
    let facts = vec![
        format!("on cooled metal: {}", listed(&names)),
        "no domain is of `kind: metal`: what lies between the coolant and these circuits is not described"
            .to_owned(),
    ];
    let way = "describe the metal as a domain of `kind: metal`, say whether it is `bonded`, and list what stands on it in a barrier";
    Some(Told { facts, no_proposal: Some(way.to_owned()), ..Told::new(saying, at) })
}
