//! The bar that would carry what a foil cannot.

use loadworthy_physics::conductors::copper::{growth, section_resistance, skin_depth};
use loadworthy_physics::conductors::free_air::{self, Air, Bar, Position};
use loadworthy_physics::conductors::skin;
use loadworthy_physics::{Area, Length, Power, Temperature};
use loadworthy_unit::plan::{Body, Conductor, ConductorHeat};
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use super::{CONDUCTOR_TEMPERATURE, heated};
use crate::check::{Change, Failure, Family, Proof, Proposal};
use crate::collect::allowed;
use crate::figure_text::{kelvins, value};

/// Bars that are tried, width and thickness in mm, by their section.
const BARS: [(f64, f64); 14] = [
    (10.0, 1.0),
    (10.0, 2.0),
    (12.0, 2.0),
    (15.0, 2.0),
    (15.0, 3.0),
    (20.0, 3.0),
    (25.0, 4.0),
    (30.0, 5.0),
    (40.0, 5.0),
    (40.0, 10.0),
    (50.0, 10.0),
    (60.0, 10.0),
    (80.0, 10.0),
    (100.0, 10.0),
];
/// Emissivity of a bright bar that lies flat on or over a board.
const BRIGHT: f64 = 0.1;
/// Length that is taken where the foil states none: the temperature does not depend on it.
const ANY_LENGTH: f64 = 0.1;

/// The smallest bar in place of a foil that holds in every duty point, solved again with its resistance.
pub(super) fn bar_in_place_of_foil(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Family> {
    let part = failure.worst.part;
    let (conductor, heat) = heated(solved).find(|(conductor, _)| conductor.part == part)?;
    let Body::Foil { .. } = heat.body else { return None };
    let name = solved.variant.path(part);
    let fits = |solved: &Solved<'_>, bar: &Bar| hottest_in(conductor, heat, solved, bar);
    let ladder = BARS.iter().map(|&(width, thickness)| Bar {
        width: Length::new(width * 1e-3),
        thickness: Length::new(thickness * 1e-3),
        length: Length::new(length(heat, solved)),
        position: Position::Flat,
        emissivity: BRIGHT,
    });
    let held = ladder.filter(|bar| fits(solved, bar).is_some()).find_map(|bar| {
        let air = solved.input(conductor.surroundings, failure.worst.lane()?)?;
        let ohms = section_resistance(
            Area::new(bar.width.si() * bar.thickness.si()),
            bar.length,
            Temperature::celsius(air),
        );
        let edit = Edit { input: conductor.resistance, value: ohms.si() };
        let again = Solved::with(solved.variant, &[vec![edit]]).pop()?;
        fits(&again, &bar).map(|(left, hot, lane)| (bar, left, hot, lane))
    });
    let tried = "a flat bright bar of up to 100 by 10 mm in place of the foil".to_owned();
    let ladder = held.map_or_else(Vec::new, |(bar, left, hot, lane)| {
        let [width, thickness] = [bar.width, bar.thickness].map(|side| value(side.si(), Dimension::Length));
        let duty = &solved.variant.duty_of(lane).name;
        vec![Proposal {
            say: format!("a flat bar of {width} by {thickness} in place of the foil `{name}`"),
            change: Change::Reviewed {
                proof: Proof::SolvedAgain,
                leaves: format!("{} ({}) in {duty}", kelvins(left), value(hot, Dimension::Temperature)),
                side_effects: Vec::new(),
            },
        }]
    });
    Some(Family { tried, ladder })
}

fn length(heat: &ConductorHeat, solved: &Solved<'_>) -> f64 {
    let stated = match heat.section {
        Some(loadworthy_unit::plan::Section::Rectangle { length, .. }) => {
            solved.variant.lane_ids().next().and_then(|lane| solved.input(length, lane))
        }
        _ => None,
    };
    stated.unwrap_or(ANY_LENGTH)
}

/// Least headroom of a bar, its temperature and the lane; nothing where it does not hold or something is missing.
fn hottest_in(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    bar: &Bar,
) -> Option<(f64, f64, LaneId)> {
    let keep = solved.variant.policy(&CONDUCTOR_TEMPERATURE)?.stated.value;
    let mut worst: Option<(f64, f64, LaneId)> = None;
    for lane in solved.variant.lane_ids() {
        let allowed = allowed(&CONDUCTOR_TEMPERATURE, solved.input(heat.hottest, lane)?, keep);
        let celsius = settles(conductor, heat, solved, bar, lane)?;
        let left = allowed - celsius;
        let holds = left >= 0.0;
        if !holds {
            return None;
        }
        if worst.is_none_or(|(least, _, _)| left < least) {
            worst = Some((left, celsius, lane));
        }
    }
    worst
}

/// Temperature of a bar with the currents of a conductor.
fn settles(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    bar: &Bar,
    lane: LaneId,
) -> Option<f64> {
    let air = Temperature::celsius(solved.input(conductor.surroundings, lane)?);
    let amps = solved.figure(conductor.current, lane)?;
    let mut square = amps * amps;
    for ripple in &conductor.ripples {
        let amps = solved.figure(ripple.current, lane)?;
        if amps == 0.0 {
            continue;
        }
        for (frequency, share) in solved.ripple_lines(ripple, lane).each() {
            let depth = skin_depth(frequency, air);
            square += amps * amps * share * skin::bar(bar.width, bar.thickness, depth);
        }
    }
    let section = Area::new(bar.width.si() * bar.thickness.si());
    let ohms = section_resistance(section, bar.length, air).si();
    let still = Air {
        temperature: air,
        pressure_share: free_air::pressure_share(Length::new(solved.input(heat.altitude, lane)?)),
    };
    let into = |copper: Temperature| Power::new(square * ohms * growth(copper) / growth(air));
    let settled = free_air::settled(air, into, |copper| free_air::leaving(bar, &still, copper)).in_celsius();
    settled.is_finite().then_some(settled)
}
