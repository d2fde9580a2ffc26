//! What a magnetic component states of its core, its windings and the path of their heat.

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::magnetics::{
    Choke, Core as WrittenCore, Magnetic as Written, Transformer, Winding as WrittenWinding, WindingConductor,
};
use loadworthy_physics::FluxDensity;
use loadworthy_source::{Located, NodeId};

use crate::build::cooling::has_no_path;
use crate::build::{Build, broken};
use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    Core, CoreCapacity, CoreFigures, MagneticHeat, MagneticRole, Material, Winding, WindingCapacity,
    WindingWarms, WoundForm, WoundOf,
};
use crate::solver::Late;
use crate::table::Stated;

/// Figures of the first, second and third winding: ratio of resistances, loss, mean and highest temperature.
const NAMES: [[&str; 4]; 3] = [
    ["resistance_ratio", "winding_loss", "mean_winding_temperature", "winding_temperature"],
    [
        "second_resistance_ratio",
        "second_winding_loss",
        "mean_second_winding_temperature",
        "second_winding_temperature",
    ],
    [
        "third_resistance_ratio",
        "third_winding_loss",
        "mean_third_winding_temperature",
        "third_winding_temperature",
    ],
];

/// Figures of how the first, second and third winding warm: growth of the loss, and the highest temperature.
const WARMS: [[&str; 2]; 3] = [
    ["winding_loss_per_kelvin", "hottest_winding_temperature"],
    ["second_winding_loss_per_kelvin", "hottest_second_winding_temperature"],
    ["third_winding_loss_per_kelvin", "hottest_third_winding_temperature"],
];

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

    /// Its core, with the inductance of the winding that its flux is judged by.
    pub(crate) fn core(
        &self,
        build: &mut Build<'_>,
        inductance: InputId,
        role: MagneticRole,
        is_double_ended: bool,
    ) -> Core {
        let core = self.written_core();
        let turns = match role {
            MagneticRole::Transformer => self.transformer.and_then(|read| read.primary_turns.as_ref()),
            _ => self.choke.and_then(|choke| choke.turns.as_ref()),
        };
        let turns_key = if role == MagneticRole::Transformer { "primary_turns" } else { "turns" };
        let turns = self.count(build, turns);
        let turns = self.input(build, turns_key, Dimension::Ratio, turns);
        let area = self.stated(build, core.and_then(|core| core.area.as_ref()), |area| area.si());
        let area = self.input(build, "core.area", Dimension::Area, area);
        // The flux of a transformer follows from its volt-seconds, whatever its inductance is.
        let tolerance = match self.choke {
            Some(choke) => {
                let given = choke.tolerance.as_ref();
                self.stated_or(build, given, &defaults::INDUCTANCE_TOLERANCE, |share| share.value())
            }
            None => Self::without(0.0),
        };
        let tolerance = self.input(build, "tolerance", Dimension::Ratio, tolerance);
        let walking = match self.transformer.filter(|_| is_double_ended) {
            Some(read) => {
                self.stated_or(build, read.flux_walking.as_ref(), &defaults::FLUX_WALKING, |share| {
                    share.value()
                })
            }
            None => Self::without(0.0),
        };
        let walking = self.input(build, "flux_walking", Dimension::Ratio, walking);
        build.tables.read_by(Late::Flux, walking);
        let trip = self.choke.and_then(|choke| choke.trip.as_ref());
        let trip = trip.map(|given| build.stated(Some(given), None, |amps| amps.si()));
        let trip = trip.map(|stated| self.input(build, "trip", Dimension::Current, stated));
        let softening = self.choke.and_then(|choke| choke.softening.as_ref()).map(|curve| {
            let points = curve.current.iter().zip(curve.inductance.iter());
            let points = points.map(|(amps, henry)| (amps.value, henry.value)).collect();
            let origin = build.written(curve.inductance.at);
            (build.tables.curve(format!("magnetics.{}.softening", self.name), origin), points)
        });
        let saturation = self.saturation(build, core);
        let fall = core.and_then(|core| core.saturation.as_ref()).and_then(|written| written.fall.as_ref());
        let fall = if saturation.1.len() > 1 {
            Self::without(0.0)
        } else {
            self.stated_or(build, fall, &defaults::SATURATION_FALL, |share| share.value())
        };
        let fall = self.input(build, "core.saturation.fall", Dimension::PerKelvin, fall);
        build.tables.read_by(Late::Flux, fall);
        let material = self.material(build, core);
        // What is stated in service counts whatever flux there is.
        let bias = core.and_then(|core| core.bias.as_ref()).filter(|_| material.is_some());
        let bias = bias.map(|curve| {
            let points = curve.flux_density.iter().zip(curve.loss.iter());
            let points = points.map(|(flux, share)| (flux.value.si(), share.value.value())).collect();
            let origin = build.written(curve.loss.at);
            (build.tables.curve(format!("magnetics.{}.core.bias", self.name), origin), points)
        });
        let loss = core.and_then(|core| core.loss.as_ref());
        let loss = match material {
            Some(_) => Self::without(0.0),
            None => self.stated_or(build, loss, &defaults::CORE_LOSS, |power| power.si()),
        };
        let stated_loss = self.input(build, "core.loss", Dimension::Power, loss);
        let to_case = self.stated(build, core.and_then(|core| core.to_case.as_ref()), |r| r.si());
        let to_case = self.input(build, "core.to_case", Dimension::ThermalResistance, to_case);
        let hottest = self.stated(build, core.and_then(|core| core.hottest.as_ref()), |t| t.in_celsius());
        let hottest = self.input(build, "core.hottest", Dimension::Temperature, hottest);
        let capacity = self.core_capacity(build, core);
        let is_followed = build.plan.duration.is_some();
        let figures = CoreFigures {
            swing: material.map(|_| self.figure(build, "flux_density_swing", Dimension::FluxDensity)),
            direct_flux: bias
                .as_ref()
                .map(|_| self.figure(build, "direct_flux_density", Dimension::FluxDensity)),
            loss: self.figure(build, "core_loss", Dimension::Power),
            case_temperature: self.figure_if_stated(build, "case_temperature", Dimension::Temperature),
            temperature: self.figure_if_stated(build, "core_temperature", Dimension::Temperature),
            hottest: is_followed
                .then(|| self.figure_if_stated(build, "hottest_core_temperature", Dimension::Temperature)),
            flux_density: self.figure_if_stated(build, "flux_density", Dimension::FluxDensity),
            trip_flux_density: trip
                .map(|_| self.figure_if_stated(build, "trip_flux_density", Dimension::FluxDensity)),
            energy: (self.choke.is_some() && softening.is_none())
                .then(|| self.figure_if_stated(build, "stored_energy", Dimension::Energy)),
            saturation: self.figure_if_stated(build, "saturation", Dimension::FluxDensity),
            softened: softening.as_ref().map(|_| self.figure_if_stated(build, "softened", Dimension::Ratio)),
        };
        Core {
            turns,
            area,
            inductance,
            tolerance,
            walking,
            trip,
            unstated_trip: None,
            late_trip: None,
            softening,
            saturation,
            fall,
            material,
            bias,
            stated_loss,
            to_case,
            hottest,
            capacity,
            figures,
        }
    }

    /// What the heat capacity of its core follows from, where anything is followed.
    fn core_capacity(&self, build: &mut Build<'_>, core: Option<&WrittenCore>) -> Option<CoreCapacity> {
        let core = core.filter(|_| build.plan.duration.is_some())?;
        if let Some(given) = &core.heat_capacity {
            let stated = build.stated(Some(given), None, |capacity| capacity.si());
            let input = self.input(build, "core.heat_capacity", Dimension::HeatCapacity, stated);
            return Some(CoreCapacity::Stated(input));
        }
        let stated = build.stated(Some(core.volume.as_ref()?), None, |volume| volume.si());
        Some(CoreCapacity::Volume(self.input(build, "core.volume", Dimension::Volume, stated)))
    }

    /// How one of its windings warms, where anything is followed.
    fn warms(
        &self,
        build: &mut Build<'_>,
        key: &str,
        place: usize,
        winding: Option<&WrittenWinding>,
    ) -> Option<WindingWarms> {
        build.plan.duration?;
        let capacity = winding.and_then(|winding| winding.heat_capacity.as_ref());
        let area = winding.and_then(|winding| winding.area.as_ref());
        let capacity = match (capacity, area) {
            (Some(given), _) => {
                let stated = build.stated(Some(given), None, |capacity| capacity.si());
                let path = format!("{key}.heat_capacity");
                let input = self.input(build, &path, Dimension::HeatCapacity, stated);
                Some(WindingCapacity::Stated(input))
            }
            (None, Some(given)) => {
                let stated = build.stated(Some(given), None, |area| area.si());
                let input = self.input(build, &format!("{key}.area"), Dimension::Area, stated);
                Some(WindingCapacity::Section(input))
            }
            (None, None) => None,
        };
        let [grows, hottest] = WARMS[place.min(WARMS.len() - 1)];
        Some(WindingWarms {
            capacity,
            loss_per_kelvin: self.figure(build, grows, Dimension::HeatCapacityRate),
            hottest: self.figure_if_stated(build, hottest, Dimension::Temperature),
        })
    }

    fn saturation(
        &self,
        build: &mut Build<'_>,
        core: Option<&WrittenCore>,
    ) -> (CurveId, Vec<(loadworthy_physics::Temperature, FluxDensity)>) {
        let written = core.and_then(|core| core.saturation.as_ref());
        let path = format!("magnetics.{}.core.saturation", self.name);
        let stated = written.and_then(|written| Some((written.flux_density.as_ref()?, written.at.as_ref()?)));
        match stated {
            None => (build.tables.curve(path, self.absent().origin), Vec::new()),
            Some((flux, at)) => {
                let points = at.iter().zip(flux.iter());
                let points = points.map(|(at, flux)| (at.value, FluxDensity::new(flux.value.si()))).collect();
                let origin = build.written(flux.at);
                (build.tables.curve(path, origin), points)
            }
        }
    }

    fn material(&self, build: &mut Build<'_>, core: Option<&WrittenCore>) -> Option<Material> {
        let written = core?.steinmetz.as_ref()?;
        let volume = self.stated(build, core?.volume.as_ref(), |volume| volume.si());
        let density = self.stated(build, written.density.as_ref(), |density| density.si());
        let frequency = self.stated(build, written.frequency.as_ref(), |frequency| frequency.si());
        let flux = self.stated(build, written.flux_density.as_ref(), |flux| flux.si());
        let by_frequency = self.plain(build, written.frequency_exponent.as_ref());
        let by_flux = self.plain(build, written.flux_exponent.as_ref());
        let reach = match written.reach.as_ref() {
            Some(given) => self.plain(build, Some(given)),
            None => crate::build::assumed(&defaults::STEINMETZ_REACH, self.at),
        };
        let mut input = |key: &str, dimension, stated| {
            self.input(build, &format!("core.steinmetz.{key}"), dimension, stated)
        };
        Some(Material {
            density: input("density", Dimension::LossDensity, density),
            frequency: input("frequency", Dimension::Frequency, frequency),
            flux_density: input("flux_density", Dimension::FluxDensity, flux),
            exponents: (
                input("frequency_exponent", Dimension::Ratio, by_frequency),
                input("flux_exponent", Dimension::Ratio, by_flux),
            ),
            reach: input("reach", Dimension::Ratio, reach),
            volume: self.input(build, "core.volume", Dimension::Volume, volume),
        })
    }

    /// One of its windings.
    pub(crate) fn wound(
        &self,
        build: &mut Build<'_>,
        part: PartId,
        place: usize,
        (key, rms, resistance): (&'static str, FigureId, InputId),
    ) -> Winding {
        let written = self.winding(key);
        let rated = written.and_then(|winding| winding.current.as_ref()?.continuous.as_ref());
        let rated = rated.map(|given| build.stated(Some(given), None, |amps| amps.si()));
        let rated = rated.map(|stated| {
            self.input(build, &format!("{key}.current.continuous"), Dimension::Current, stated)
        });
        let stated_at = written.and_then(|winding| winding.at.as_ref());
        let stated_at = stated_at.map(|given| build.stated(Some(given), None, |t| t.in_celsius()));
        let stated_at =
            stated_at.map(|stated| self.input(build, &format!("{key}.at"), Dimension::Temperature, stated));
        let conductor = written.and_then(|winding| winding.conductor.as_ref());
        let conductor = conductor.map(|conductor| self.conductor(build, key, conductor));
        let to_case = self.stated(build, written.and_then(|winding| winding.to_case.as_ref()), |r| r.si());
        let to_case = self.input(build, &format!("{key}.to_case"), Dimension::ThermalResistance, to_case);
        let hot_spot = written.and_then(|winding| winding.hot_spot.as_ref());
        let hot_spot = self.stated_or(build, hot_spot, &defaults::HOT_SPOT, |kelvin| kelvin.si());
        let hot_spot =
            self.input(build, &format!("{key}.hot_spot"), Dimension::TemperatureDifference, hot_spot);
        let hottest = written.and_then(|winding| winding.hottest.as_ref());
        let hottest = self.stated(build, hottest, |t| t.in_celsius());
        let hottest = self.input(build, &format!("{key}.hottest"), Dimension::Temperature, hottest);
        let names = NAMES[place.min(NAMES.len() - 1)];
        let line = build.plan.windings.0;
        build.plan.windings.0 += 1;
        Winding {
            part,
            key,
            rms,
            line,
            rated,
            resistance,
            stated_at,
            conductor,
            to_case,
            hot_spot,
            hottest,
            ratio: conductor.map(|_| self.figure(build, names[0], Dimension::Ratio)),
            loss: self.figure(build, names[1], Dimension::Power),
            mean_temperature: self.figure_if_stated(build, names[2], Dimension::Temperature),
            temperature: self.figure_if_stated(build, names[3], Dimension::Temperature),
            warms: self.warms(build, key, place, written),
            density: None,
        }
    }

    fn conductor(&self, build: &mut Build<'_>, key: &str, conductor: &WindingConductor) -> WoundOf {
        let one = Self::without(1.0);
        let (form, size_key, size, strands, layers, filling) = match conductor {
            WindingConductor::Foil(foil) => {
                (WoundForm::Foil, "thickness", foil.thickness, one, foil.layers, foil.filling)
            }
            WindingConductor::Round(wire) => {
                (WoundForm::Round, "diameter", wire.diameter, one, wire.layers, wire.filling)
            }
            WindingConductor::Litz(litz) => {
                let strands = self.count(build, litz.strands.as_ref());
                (WoundForm::Round, "diameter", litz.diameter, strands, litz.layers, litz.filling)
            }
        };
        let size = self.stated(build, size.as_ref(), |size| size.si());
        let layers = self.count(build, layers.as_ref());
        let filling =
            self.stated_or(build, filling.as_ref(), &defaults::WINDING_FILLING, |share| share.value());
        let factors = build.plan.windings.1;
        build.plan.windings.1 += 1;
        let mut input = |name: &str, dimension, stated| {
            self.input(build, &format!("{key}.conductor.{name}"), dimension, stated)
        };
        WoundOf {
            form,
            size: input(size_key, Dimension::Length, size),
            strands: input("strands", Dimension::Ratio, strands),
            layers: input("layers", Dimension::Ratio, layers),
            filling: input("filling", Dimension::Ratio, filling),
            factors,
        }
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
