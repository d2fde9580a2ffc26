//! Does any core saturate, tolerance and temperature counted?
//!
//! The crest of the flux density stands against what the material carries at the temperature that was solved for the core;
//! so does the flux at the current at which the stage is switched off. A core that saturates softly has no edge: there the
//! share of its inductance counts that is left at the crest.

use loadworthy_unit::plan::{CurrentTrip, Magnetic, MagneticRole, Stage};
use loadworthy_unit::{Cause, Dimension, Edit, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Change, Check, Failure, Family, Proposal, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, unless_more};
use crate::figure_text::{comparison, percent, value, written};
use crate::remarks;
use crate::review::Place;
use crate::steps::{as_written, family, scaled};
use crate::tell::{above, demand, in_its_choke, part_at, policy_place};
use crate::verdict::{Grade, Missing, Outcome};
use crate::wound::{all, everywhere, of, stands};

/// Share of the saturation that the crest of the flux density may use.
pub(crate) static CORE_FLUX: PolicyItem = PolicyItem {
    name: "core_flux",
    help: "Share of the saturation flux density at the core's temperature that the crest may reach",
    form: PolicyForm::UseAtMost { default: 0.85, usual: (0.7, 0.95) },
    since: 2026,
};

/// Share of its inductance that a softly saturating choke may lose.
pub(crate) static SOFTENING: PolicyItem = PolicyItem {
    name: "softening",
    help: "Share of its inductance that a softly saturating choke may have lost at the crest of its current",
    form: PolicyForm::UseAtMost { default: 0.5, usual: (0.3, 0.7) },
    since: 2026,
};

const SATURATES: &str = "saturates";
const SATURATES_BEFORE_TRIP: &str = "saturates-before-trip";
const SOFTENS: &str = "softens";

/// Multiples of the core's section that are tried.
const MORE_SECTION: [f64; 8] = [1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5, 3.0];
/// Turns more, as shares, at the same inductance.
const MORE_TURNS: [f64; 7] = [0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5];
/// Shares of the current at which the stage is switched off.
const LOWER_TRIP: [f64; 6] = [0.95, 0.9, 0.85, 0.8, 0.7, 0.6];

static ABOUT: About = About {
    name: "core-saturation",
    former_names: &[],
    question: "Does each core carry its flux at its temperature, tolerance, ripple and trip level counted?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (SATURATES, "the crest of the flux density exceeds what the policy leaves of the saturation"),
        (
            SATURATES_BEFORE_TRIP,
            "the core saturates below the current at which the latest unit has switched its stage off",
        ),
        (SOFTENS, "the inductance at the crest of the current has fallen further than the policy allows"),
    ],
    policy: &[&CORE_FLUX, &SOFTENING],
    since: 2026,
};

/// The check.
pub(crate) struct CoreSaturation;

impl Check for CoreSaturation {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for (stage, magnetic) in all(&solved.variant.plan) {
            for lane in solved.variant.lane_ids() {
                judge((stage, magnetic), solved, lane, out);
            }
            // How far the current may rise nobody knows then.
            let unstated = magnetic.core.unstated_trip.filter(|_| !magnetic.core.saturation.1.is_empty());
            if let Some(trip) = unstated {
                let subject =
                    Subject { part: magnetic.part, defect: SATURATES_BEFORE_TRIP, lane: None, kin: None };
                let missing = vec![Missing::Cause(Cause::Input(trip))];
                out.put(solved, subject, Outcome::NotJudged(missing), Vec::new());
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let (stage, magnetic) = of(&solved.variant.plan, failure.worst.part)?;
        told(stage, magnetic, failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let (Some(lane), Some((_, magnetic))) =
            (failure.worst.lane(), of(&solved.variant.plan, failure.worst.part))
        else {
            return Vec::new();
        };
        let mut families = Vec::new();
        if let (SATURATES_BEFORE_TRIP, Some(trip)) = (failure.worst.defect, magnetic.core.trip) {
            let inputs = everywhere(solved, trip);
            let ladder = scaled("trip", &inputs, Dimension::Current, &LOWER_TRIP, solved, lane);
            families.push(family("trip down to", ladder));
        }
        if failure.worst.defect == SOFTENS {
            return families;
        }
        if magnetic.role != MagneticRole::Transformer && magnetic.core.softening.is_none() {
            families.push(more_turns(magnetic, solved, lane));
        }
        families.push(more_section(magnetic, solved, lane));
        families
    }
}

fn judge((stage, magnetic): (&Stage, &Magnetic), solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let unsure = || remarks::of_choke(stage, solved, lane).into_iter().collect::<Vec<_>>();
    let core = &magnetic.core;
    let figures = &core.figures;
    let subject = |defect| Subject { part: magnetic.part, defect, lane: Some(lane), kin: None };
    let limit = Limit::Figure(figures.saturation);
    let flux = Dimension::FluxDensity;
    // A softening core is described by how it softens; where it states a saturation as well, both count.
    if core.softening.is_none() || !core.saturation.1.is_empty() {
        let crest = compare(solved, lane, (figures.flux_density, flux), limit, Some(&CORE_FLUX));
        out.put(solved, subject(SATURATES), outcome(crest, Grade::Major), unsure());
        if let Some(at_trip) = figures.trip_flux_density {
            let at_trip = compare(solved, lane, (at_trip, flux), limit, None);
            let latest = core.late_trip.filter(|(_, turned_off)| turned_off.is_none());
            let delay = latest.and_then(|(latest, _)| CurrentTrip::lacks_delay(&solved.variant.plan, latest));
            let outcome = unless_more(outcome(at_trip, Grade::Major), delay);
            out.put(solved, subject(SATURATES_BEFORE_TRIP), outcome, Vec::new());
        }
    }
    if let Some(softened) = figures.softened {
        let lost = (softened, Dimension::Ratio);
        let lost = compare(solved, lane, lost, Limit::Law(1.0), Some(&SOFTENING));
        out.put(solved, subject(SOFTENS), outcome(lost, Grade::Major), unsure());
    }
}

fn told(stage: &Stage, magnetic: &Magnetic, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, failure.worst.lane()?);
    let compared = failure.worst.comparison()?;
    let part = variant.path(magnetic.part);
    let carried = comparison(compared).carried;
    let core = &magnetic.core;
    let amps = |figure| solved.figure(figure, lane).map(|amps| value(amps, Dimension::Current));
    let saying = match failure.worst.defect {
        SOFTENS => format!(
            "`{part}` has lost {} of its inductance at the crest of its current, more than the {} that the policy allows",
            percent(compared.carried_value),
            percent(compared.allowed)
        ),
        SATURATES_BEFORE_TRIP => {
            format!(
                "the core of `{part}` would reach {carried} before its stage is switched off, {}",
                above(compared, "its saturation")
            )
        }
        _ => format!("the core of `{part}` reaches {carried}, {}", above(compared, "its saturation")),
    };
    let crest = crest_of(stage, magnetic);
    let label = match (magnetic.role, crest.and_then(amps)) {
        (MagneticRole::Transformer, Some(amps)) => format!("{amps} magnetise it at the crest"),
        (_, Some(amps)) => format!("{amps} pass its winding at the crest"),
        (_, None) => "its core".to_owned(),
    };
    let at = part_at(solved, magnetic.part, label);
    let mut because: Vec<Place> = demand(stage, solved, lane).into_iter().collect();
    because.extend(in_its_choke(magnetic, solved, lane));
    let trip = core.trip.filter(|_| failure.worst.defect == SATURATES_BEFORE_TRIP);
    because.extend(trip.and_then(|trip| {
        let off = core.late_trip.map(|(latest, turned_off)| turned_off.unwrap_or(latest)).and_then(amps);
        let most = off.map_or_else(String::new, |off| format!(", {off} at most until it is off"));
        stands(solved, trip, lane, |amps| {
            format!("switched off at {}{most}", value(amps, Dimension::Current))
        })
    }));
    because.extend(stands(solved, core.tolerance, lane, |share| {
        format!("{} more inductance than stated", percent(share))
    }));
    let curve = if failure.worst.defect == SOFTENS {
        core.softening.as_ref().map(|(curve, _)| (*curve, "how it softens".to_owned()))
    } else {
        let now = solved.figure(core.figures.temperature, lane);
        now.map(|now| (core.saturation.0, format!("the core is at {}", value(now, Dimension::Temperature))))
    };
    because.extend(curve.and_then(|(curve, label)| {
        Some(Place { node: variant.tables.curve_of(curve).origin.node()?, label })
    }));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let no_proposal = (failure.worst.defect == SOFTENS).then(|| {
        "another curve is another core: more turns of a larger one, or more legs that share the current"
            .to_owned()
    });
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}

/// The figure of the current whose crest magnetises a core.
fn crest_of(stage: &Stage, magnetic: &Magnetic) -> Option<loadworthy_unit::FigureId> {
    use loadworthy_unit::plan::Topology;
    match (&stage.topology, magnetic.role) {
        (Topology::Chopper(chopper), _) => {
            Some(magnetic.uneven.map_or(chopper.figures.leg_peak, |uneven| uneven.peak))
        }
        (Topology::Isolated(isolated), MagneticRole::Transformer) => Some(isolated.figures.magnetising_peak),
        (Topology::Isolated(isolated), _) => {
            Some(magnetic.uneven.map_or(isolated.figures.choke_peak, |uneven| uneven.peak))
        }
        (Topology::Bridge(_), _) => None,
    }
}

/// A core of more section and, where it is stated, of as much more volume.
fn more_section(magnetic: &Magnetic, solved: &Solved<'_>, lane: LaneId) -> Family {
    let area = everywhere(solved, magnetic.core.area);
    let volume = magnetic.core.material.map(|material| material.volume);
    let ladder = MORE_SECTION.iter().filter_map(|factor| {
        let mut edits = Vec::new();
        let now = solved.input(magnetic.core.area, lane)?;
        let to = as_written(now * factor);
        edits.extend(area.iter().map(|&input| (Edit { input, value: to }, written_area(to))));
        if let Some(volume) = volume {
            let more = as_written(solved.input(volume, lane)? * factor);
            let text = written(more, Dimension::Volume);
            let all = everywhere(solved, volume);
            edits.extend(all.into_iter().map(|input| (Edit { input, value: more }, text.clone())));
        }
        let with = if volume.is_some() { ", volume alike" } else { "" };
        let say =
            format!("core section: {} -> {}{with}", value(now, Dimension::Area), value(to, Dimension::Area));
        Some(Proposal { say, change: Change::Edit(edits) })
    });
    family("core section up to", ladder.collect())
}

/// An area as a person would write it.
fn written_area(area: f64) -> String {
    written(area, Dimension::Area).replace('²', "^2")
}

/// More turns in the same window, over a longer gap: the resistance grows with their square.
fn more_turns(magnetic: &Magnetic, solved: &Solved<'_>, lane: LaneId) -> Family {
    let turns = everywhere(solved, magnetic.core.turns);
    let mut last = 0.0;
    let ladder = MORE_TURNS.iter().filter_map(|share| {
        let now = solved.input(magnetic.core.turns, lane)?;
        let to = (now * (1.0 + share)).ceil();
        if to <= last {
            return None;
        }
        last = to;
        let factor = (to / now) * (to / now);
        let mut edits: Vec<_> =
            turns.iter().map(|&input| (Edit { input, value: to }, format!("{to}"))).collect();
        for winding in &magnetic.windings {
            let ohms = as_written(solved.input(winding.resistance, lane)? * factor);
            let text = written(ohms, Dimension::Resistance);
            let all = everywhere(solved, winding.resistance);
            edits.extend(all.into_iter().map(|input| (Edit { input, value: ohms }, text.clone())));
        }
        let say = format!(
            "turns: {now} -> {to} of finer wire in the same window, at the same inductance over a longer gap"
        );
        Some(Proposal { say, change: Change::Edit(edits) })
    });
    family("turns up to", ladder.collect())
}
