//! What a magnetic component states of its core, its windings and the path of their heat.

mod core;
mod winding;

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::magnetics::{
    Choke, Core as WrittenCore, Magnetic as Written, Transformer, Winding as WrittenWinding,
};
use loadworthy_source::{Located, NodeId};

use crate::build::cooling::has_no_path;
use crate::build::{Build, broken};
use crate::ids::{FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{MagneticHeat, Winding};
use crate::table::Stated;

/// What one component states, or why nothing is known.
pub(crate) struct Sheet<'d> {
    name: &'d str,
    part: PartId,
    /// Where it is named.
    at: NodeId,
    /// The node of the broken entry, where it could not be read.
    broken: Option<NodeId>,
    choke: Option<&'d Choke>,
    transformer: Option<&'d Transformer>,
}

impl<'d> Sheet<'d> {
    pub(crate) fn of(name: &'d str, entry: &'d SectionEntry<Written>, part: PartId) -> Self {
        let (choke, transformer) = match entry.read() {
            Some(Written::Choke(choke)) => (Some(choke), None),
            Some(Written::Transformer(transformer)) => (None, Some(transformer)),
            None => (None, None),
        };
        let broken = entry.read().is_none().then_some(entry.value);
        Self { name, part, at: entry.key, broken, choke, transformer }
    }

    /// A winding by its key.
    pub(crate) fn winding(&self, key: &str) -> Option<&'d WrittenWinding> {
        match key {
            "primary" => self.transformer?.primary.as_ref(),
            "secondary" => self.transformer?.secondary.as_ref(),
            _ => self.choke?.winding.as_ref(),
        }
    }

    fn written_core(&self) -> Option<&'d WrittenCore> {
        match (self.choke, self.transformer) {
            (Some(choke), _) => choke.core.as_ref(),
            (_, Some(transformer)) => transformer.core.as_ref(),
            _ => None,
        }
    }

    /// The origin of what is not there.
    fn absent(&self) -> Stated {
        self.broken.map_or(Stated { value: f64::NAN, origin: Origin::Absent { near: Some(self.at) } }, broken)
    }

    /// A number that has nothing to do with this component.
    fn without(value: f64) -> Stated {
        Stated { value, origin: Origin::Absent { near: None } }
    }

    fn stated<T>(&self, build: &Build<'_>, given: Option<&Given<T>>, si: impl Fn(&T) -> f64) -> Stated {
        given.map_or_else(|| self.absent(), |given| build.stated(Some(given), None, si))
    }

    fn stated_or<T>(
        &self,
        build: &Build<'_>,
        given: Option<&Given<T>>,
        default: &'static defaults::Default,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        if self.broken.is_some() { self.absent() } else { build.stated_or(given, self.at, default, si) }
    }

    fn plain(&self, build: &Build<'_>, given: Option<&Located<f64>>) -> Stated {
        given.map_or_else(
            || self.absent(),
            |given| Stated { value: given.value, origin: build.written(given.at) },
        )
    }

    fn count(&self, build: &Build<'_>, given: Option<&Located<u32>>) -> Stated {
        given.map_or_else(
            || self.absent(),
            |given| Stated { value: f64::from(given.value), origin: build.written(given.at) },
        )
    }

    fn input(&self, build: &mut Build<'_>, key: &str, dimension: Dimension, stated: Stated) -> InputId {
        build.tables.input(format!("magnetics.{}.{key}", self.name), dimension, stated)
    }

    /// A figure that needs more than losses do, so that many a description leaves it without a value.
    fn figure_if_stated(&self, build: &mut Build<'_>, name: &'static str, dimension: Dimension) -> FigureId {
        build.tables.figure_if_asked(self.part, name, dimension)
    }

    fn figure(&self, build: &mut Build<'_>, name: &'static str, dimension: Dimension) -> FigureId {
        build.tables.figure(self.part, name, dimension)
    }

    /// Where its heat goes from its case on.
    pub(crate) fn heat(
        &self,
        build: &mut Build<'_>,
        place: Option<usize>,
        windings: &[Winding],
    ) -> MagneticHeat {
        let (case, air) = match place {
            Some(_) => {
                let cooled = build.cooled.get(self.name).and_then(|elements| {
                    elements.iter().find(|(element, _)| build.places.coolant.contains_key(*element))
                });
                let (element, faces) =
                    cooled.map_or(("*", None), |(element, faces)| (*element, Some(*faces)));
                let case = self.stated(build, faces.and_then(|faces| faces.face_a.as_ref()), |r| r.si());
                let path = format!("cooling.elements.{element}.cools.{}.face_a", self.name);
                (build.tables.input(path, Dimension::ThermalResistance, case), Self::without(0.0))
            }
            None => {
                let to_air = match (self.choke, self.transformer) {
                    (Some(choke), _) => choke.to_air.as_ref(),
                    (_, Some(transformer)) => transformer.to_air.as_ref(),
                    _ => None,
                };
                let around = &build.description.surroundings;
                let air = around.read().and_then(|air| air.inside_air.as_ref());
                let air = build.stated(air, around.at().or(Some(self.at)), |t| t.in_celsius());
                // What could not be read may have cooled it.
                let cooling = &build.description.cooling;
                let case = match (to_air, cooling.at().filter(|_| cooling.is_void())) {
                    (None, _) if has_no_path(build.description) => {
                        let absent =
                            Stated { value: f64::NAN, origin: Origin::Absent { near: cooling.at() } };
                        build.tables.input("cooling.path".to_owned(), Dimension::ThermalResistance, absent)
                    }
                    (None, Some(void)) => {
                        let path = format!("cooling.elements.*.cools.{}.face_a", self.name);
                        build.tables.input(path, Dimension::ThermalResistance, broken(void))
                    }
                    _ => {
                        let case = self.stated(build, to_air, |r| r.si());
                        self.input(build, "to_air", Dimension::ThermalResistance, case)
                    }
                };
                (case, air)
            }
        };
        let air = build.tables.input("surroundings.inside_air".to_owned(), Dimension::Temperature, air);
        let mut path = windings.iter().map(|winding| winding.to_case).chain([case, air]);
        let is_stated = path.all(|input| build.tables.input_of(input).values[0].value.is_finite());
        let needs = windings.iter().any(|winding| winding.stated_at.is_some());
        let usual = (needs && !is_stated).then(|| {
            let usual = crate::build::assumed(&defaults::WINDING_TEMPERATURE, self.at);
            self.input(build, "*.to_case", Dimension::Temperature, usual)
        });
        MagneticHeat { case, at_flow: None, air, usual }
    }
}
