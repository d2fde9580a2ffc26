//! Densities of currents: of bars, cables and foil that state their section, and of windings.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::magnetics::Winding as Written;

use crate::build::Build;
use crate::plan::{Body, Copper, Density, Winding, WindingCapacity, WoundForm};

/// Figures of the first, second and third winding.
const NAMES: [&str; 3] =
    ["winding_current_density", "second_winding_current_density", "third_winding_current_density"];

/// Gives every conductor whose section is stated the density of its current.
pub(crate) fn of_conductors(build: &mut Build<'_>) {
    for k in 0..build.plan.conductors.len() {
        let conductor = &build.plan.conductors[k];
        let Some(heat) = &conductor.heat else { continue };
        let copper = match heat.body {
            Body::Bar { width, thickness, .. } | Body::Foil { width, thickness, .. } => {
                Copper::Rectangle(width, thickness)
            }
            Body::Cable { section, .. } => Copper::Area(section),
            Body::Contact { .. } => continue,
        };
        let figure = build.tables.figure(conductor.part, "current_density", Dimension::CurrentDensity);
        build.plan.conductors[k].density = Some(Density { figure, copper });
    }
}

/// The density of a winding's current, where its section is stated or follows from its wire.
pub(crate) fn of_winding(
    build: &mut Build<'_>,
    component: &str,
    place: usize,
    written: Option<&Written>,
    winding: &Winding,
) -> Option<Density> {
    let known = winding.warms.and_then(|warms| match warms.capacity? {
        WindingCapacity::Section(area) => Some(area),
        WindingCapacity::Stated(_) => None,
    });
    let copper = match (written.and_then(|written| written.area.as_ref()), winding.conductor) {
        (Some(_), _) if known.is_some() => Copper::Area(known?),
        (Some(area), _) => {
            let stated = build.stated(Some(area), None, |area| area.si());
            let path = format!("magnetics.{component}.{}.area", winding.key);
            Copper::Area(build.tables.input(path, Dimension::Area, stated))
        }
        (None, Some(wound)) if wound.form == WoundForm::Round => Copper::Round(wound.size, wound.strands),
        _ => return None,
    };
    let name = NAMES[place.min(NAMES.len() - 1)];
    let figure = build.tables.figure_if_asked(winding.part, name, Dimension::CurrentDensity);
    Some(Density { figure, copper })
}
