//! What a magnetic component states of its core.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::magnetics::Core as WrittenCore;
use loadworthy_physics::{Current, FluxDensity, Inductance, Temperature};

use super::Sheet;
use crate::build::Build;
use crate::ids::{CurveId, InputId};
use crate::plan::{Core, CoreCapacity, CoreFigures, MagneticRole, Material};
use crate::solver::Late;

impl Sheet<'_> {
    /// Its core, with the inductance of the winding that its flux is judged by.
    pub(crate) fn core(
        &self,
        build: &mut Build<'_>,
        inductance: InputId,
        role: MagneticRole,
        is_double_ended: bool,
    ) -> Core {
        let core = self.written_core();
        let turns = self.turns(build, role);
        let area = self.stated(build, core.and_then(|core| core.area.as_ref()), |area| area.si());
        let area = self.input(build, "core.area", Dimension::Area, area);
        let tolerance = self.tolerance(build);
        let walking = self.walking(build, is_double_ended);
        let trip = self.choke.and_then(|choke| choke.trip.as_ref());
        let trip = trip.map(|given| build.stated(Some(given), None, |amps| amps.si()));
        let trip = trip.map(|stated| self.input(build, "trip", Dimension::Current, stated));
        let softening = self.softening(build);
        let saturation = self.saturation(build, core);
        let fall = self.fall(build, core, saturation.1.len());
        let material = self.material(build, core);
        // What is stated in service counts whatever flux there is.
        let bias = core.filter(|_| material.is_some()).and_then(|core| self.bias(build, core));
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

    /// Turns of the winding that its flux is judged by.
    fn turns(&self, build: &mut Build<'_>, role: MagneticRole) -> InputId {
        let (key, given) = match role {
            MagneticRole::Transformer => {
                ("primary_turns", self.transformer.and_then(|read| read.primary_turns.as_ref()))
            }
            _ => ("turns", self.choke.and_then(|choke| choke.turns.as_ref())),
        };
        let turns = self.count(build, given);
        self.input(build, key, Dimension::Ratio, turns)
    }

    /// The flux of a transformer follows from its volt-seconds, whatever its inductance is: it has none.
    fn tolerance(&self, build: &mut Build<'_>) -> InputId {
        let tolerance = match self.choke {
            Some(choke) => {
                let given = choke.tolerance.as_ref();
                self.stated_or(build, given, &defaults::INDUCTANCE_TOLERANCE, |share| share.value())
            }
            None => Self::without(0.0),
        };
        self.input(build, "tolerance", Dimension::Ratio, tolerance)
    }

    fn walking(&self, build: &mut Build<'_>, is_double_ended: bool) -> InputId {
        let walking = match self.transformer.filter(|_| is_double_ended) {
            Some(read) => {
                let given = read.flux_walking.as_ref();
                self.stated_or(build, given, &defaults::FLUX_WALKING, |share| share.value())
            }
            None => Self::without(0.0),
        };
        let walking = self.input(build, "flux_walking", Dimension::Ratio, walking);
        build.tables.read_by(Late::Flux, walking);
        walking
    }

    fn softening(&self, build: &mut Build<'_>) -> Option<(CurveId, Vec<(Current, Inductance)>)> {
        let curve = self.choke?.softening.as_ref()?;
        let points = curve.current.iter().zip(curve.inductance.iter());
        let points = points.map(|(amps, henry)| (amps.value, henry.value)).collect();
        let origin = build.written(curve.inductance.at);
        Some((build.tables.curve(format!("magnetics.{}.softening", self.name), origin), points))
    }

    /// How its saturation falls with temperature, where that is stated at one alone.
    fn fall(&self, build: &mut Build<'_>, core: Option<&WrittenCore>, temperatures: usize) -> InputId {
        let given = core.and_then(|core| core.saturation.as_ref()?.fall.as_ref());
        let fall = if temperatures > 1 {
            Self::without(0.0)
        } else {
            self.stated_or(build, given, &defaults::SATURATION_FALL, |share| share.value())
        };
        let fall = self.input(build, "core.saturation.fall", Dimension::PerKelvin, fall);
        build.tables.read_by(Late::Flux, fall);
        fall
    }

    fn bias(&self, build: &mut Build<'_>, core: &WrittenCore) -> Option<(CurveId, Vec<(f64, f64)>)> {
        let curve = core.bias.as_ref()?;
        let points = curve.flux_density.iter().zip(curve.loss.iter());
        let points = points.map(|(flux, share)| (flux.value.si(), share.value.value())).collect();
        let origin = build.written(curve.loss.at);
        Some((build.tables.curve(format!("magnetics.{}.core.bias", self.name), origin), points))
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

    fn saturation(
        &self,
        build: &mut Build<'_>,
        core: Option<&WrittenCore>,
    ) -> (CurveId, Vec<(Temperature, FluxDensity)>) {
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
}
