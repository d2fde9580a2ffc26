//! Chokes and transformers.

use loadworthy_physics::{
    Area, Current, Frequency, HeatCapacity, Inductance, Length, LossDensity, Resistance,
    TemperatureDifference, ThermalResistance, Volume,
};
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::quantity::{FluxDensity, Given, Ratio, shown};
use crate::sections::magnetics::{
    Core, CoreBias, Magnetic, Saturation, Softening, Steinmetz, Winding, WindingConductor,
};

/// Least and most of the path of a core over the root of its section. Low planar cores with a wide section have some 3, pot
/// cores 3.7, most others 5 to 10, thin rings up to 60.
const CORE_PATH: (f64, f64) = (2.0, 200.0);

fn millimetres(metres: f64) -> String {
    let number = 1e3 * metres;
    if number < 10.0 { format!("{number:.1} mm") } else { format!("{number:.0} mm") }
}

impl Rules for Magnetic {
    fn check(&self, scope: &mut Scope<'_>) {
        match self {
            Self::Choke(choke) => {
                scope.above_zero("inductance", choke.inductance, Inductance::si);
                scope.share("tolerance", choke.tolerance, 1.0);
                scope.credible_tolerance("tolerance", choke.tolerance, (5e-3, "a share of at least 0.5 %"));
                scope.above_zero("trip", choke.trip, Current::si);
                scope.above_zero("to_air", choke.to_air, ThermalResistance::si);
                scope.credible_of_body("to_air", choke.to_air);
                if let Some(softening) = &choke.softening {
                    scope.softening(softening);
                }
                scope.core(choke.core.as_ref());
                scope.winding(choke.winding.as_ref());
                let (turns, core) = (choke.turns.as_ref(), choke.core.as_ref());
                scope.credible_winding(choke.winding.as_ref(), turns, core);
                scope.credible_inductance(("inductance", choke.inductance), turns, core);
            }
            Self::Transformer(transformer) => {
                if let Some(ratio) = transformer.turns_ratio
                    && ratio.value <= 0.0
                {
                    let message = || "`turns_ratio` expects a number above zero".to_owned();
                    scope.refuse(ratio.at, message, "not above zero", None);
                }
                let magnetising = transformer.magnetising_inductance;
                scope.above_zero("magnetising_inductance", magnetising, Inductance::si);
                scope.leakage_below(transformer.leakage_inductance, magnetising);
                scope.credible_leakage(transformer.leakage_inductance, magnetising);
                scope.share("flux_walking", transformer.flux_walking, 1.0);
                scope.above_zero("to_air", transformer.to_air, ThermalResistance::si);
                scope.credible_of_body("to_air", transformer.to_air);
                scope.core(transformer.core.as_ref());
                scope.winding(transformer.primary.as_ref());
                let (turns, core) = (transformer.primary_turns.as_ref(), transformer.core.as_ref());
                scope.credible_winding(transformer.primary.as_ref(), turns, core);
                scope.credible_inductance(("magnetising_inductance", magnetising), turns, core);
                scope.winding(transformer.secondary.as_ref());
            }
        }
    }
}

impl Scope<'_> {
    fn softening(&mut self, curve: &Softening) {
        self.at_least(2, "a softening inductance", &curve.current, "too few points");
        if let Some(first) = curve.current.first()
            && first.value > Current::ZERO
        {
            let message = || "a softening inductance begins at no current".to_owned();
            self.refuse(first.at, message, "above zero", Some("add the inductance at `0 A`"));
        }
        self.each_above("current", &curve.current, "currents of a curve rise");
        self.none_above("inductance", &curve.inductance, "an inductance does not rise with the current");
        self.above_zero("inductance", curve.inductance.last().copied(), Inductance::si);
        self.same_length("current", &curve.current, "inductance", &curve.inductance);
    }

    fn bias(&mut self, curve: &CoreBias) {
        self.at_least(2, "a loss beside direct flux", &curve.flux_density, "too few points");
        if let Some(first) = curve.flux_density.first()
            && first.value.si() != 0.0
        {
            let message = || "a loss beside direct flux begins without any".to_owned();
            self.refuse(first.at, message, "not zero", Some("add `100 %` at `0 T`"));
        } else if let Some(first) = curve.loss.first()
            && (first.value.value() - 1.0).abs() > 1e-9
        {
            let text = shown(self.tree.text_of(self.tree.span(first.at)));
            let message = || {
                format!("a loss beside direct flux is over that without any, `100 %` at `0 T`, found {text}")
            };
            self.refuse(first.at, message, "not 100 %", Some("divide all by the loss without direct flux"));
        }
        self.each_above("flux_density", &curve.flux_density, "flux densities of a curve rise");
        for &loss in curve.loss.iter() {
            self.above_zero("loss", Some(loss), Ratio::value);
        }
        self.same_length("flux_density", &curve.flux_density, "loss", &curve.loss);
    }

    fn core(&mut self, core: Option<&Core>) {
        let Some(core) = core else { return };
        self.above_zero("area", core.area, Area::si);
        self.above_zero("volume", core.volume, Volume::si);
        self.core_path(core.area, core.volume);
        self.above_zero("to_case", core.to_case, ThermalResistance::si);
        self.credible_of_body("to_case", core.to_case);
        if let Some(bias) = &core.bias {
            self.bias(bias);
        }
        self.above_zero("heat_capacity", core.heat_capacity, HeatCapacity::si);
        self.credible_core_capacity(core);
        self.credible_material(core.hottest);
        if let Some(loss) = core.loss
            && loss.value.si() < 0.0
        {
            let text = shown(self.tree.text_of(self.tree.span(loss.at)));
            let message = || format!("`loss` expects a power that is not negative, found {text}");
            self.refuse(loss.at, message, "a core gives no power", None);
        }
        if let Some(saturation) = &core.saturation {
            self.saturation(saturation);
            self.credible_saturation(saturation);
        }
        let Some(steinmetz) = &core.steinmetz else { return };
        self.steinmetz(steinmetz);
        if let (Some(loss), Some(density)) = (core.loss, steinmetz.density) {
            let why = "the loss of a core in service is known, or computed from that of its material";
            self.only_one(("loss", loss.at), ("density", density.at), why);
        }
    }

    /// Area and volume of a core: what they make of its path must close about a winding, and be of the same core.
    fn core_path(&mut self, area: Option<Given<Area>>, volume: Option<Given<Volume>>) {
        let (Some(area), Some(volume)) = (area, volume) else { return };
        let (section, whole) = (area.value.si(), volume.value.si());
        let path = whole / section;
        let widths = path / section.sqrt();
        if section <= 0.0 || whole <= 0.0 || (CORE_PATH.0..=CORE_PATH.1).contains(&widths) {
            return;
        }
        let (at, also) = (self.tree.span(volume.at), self.tree.span(area.at));
        self.ledger.note("conflict", at, "volume", || {
            let (path, width) = (millimetres(path), millimetres(section.sqrt()));
            let message = if widths < CORE_PATH.0 {
                format!("a core of this `area` and `volume` has a path of {path}, too short to close: its section is {width} wide")
            } else {
                format!("a core of this `area` and `volume` has a path of {path}, and a section {width} wide: no core is so thin")
            };
            Problem::new("conflict", at, message, "`volume`")
                .with_also(also, "`area`")
                .with_way_out("correct one of them; `volume` is that of the whole core, `area` that of its path")
        });
    }

    fn saturation(&mut self, saturation: &Saturation) {
        if let Some(flux) = &saturation.flux_density {
            self.above_zero("flux_density", flux.last().copied(), FluxDensity::si);
            self.none_above("flux_density", flux, "a warmer core does not carry more flux");
        }
        if let Some(at) = &saturation.at {
            self.each_above("at", at, "temperatures of a curve rise");
            at.iter().for_each(|&one| self.credible_measured("at", Some(one)));
        }
        if let (Some(flux), Some(at)) = (&saturation.flux_density, &saturation.at) {
            self.same_length("at", at, "flux_density", flux);
        }
    }

    fn steinmetz(&mut self, steinmetz: &Steinmetz) {
        self.above_zero("density", steinmetz.density, LossDensity::si);
        self.above_zero("frequency", steinmetz.frequency, Frequency::si);
        self.above_zero("flux_density", steinmetz.flux_density, FluxDensity::si);
        self.credible_core_loss(steinmetz);
    }

    fn winding(&mut self, winding: Option<&Winding>) {
        let Some(winding) = winding else { return };
        self.above_zero("area", winding.area, Area::si);
        self.above_zero("resistance", winding.resistance, Resistance::si);
        self.above_zero("to_case", winding.to_case, ThermalResistance::si);
        self.credible_of_body("to_case", winding.to_case);
        self.above_zero("heat_capacity", winding.heat_capacity, HeatCapacity::si);
        self.credible_winding_capacity(winding);
        self.credible_material(winding.hottest);
        self.credible_measured("at", winding.at);
        if let Some(hotter) = winding.hot_spot
            && hotter.value < TemperatureDifference::ZERO
        {
            let message = || "the hottest place of a winding is not colder than its mean".to_owned();
            self.refuse(hotter.at, message, "below zero", None);
        }
        self.conductor_current(winding.current.as_ref());
        let Some(conductor) = &winding.conductor else { return };
        let (key, size, filling) = match conductor {
            WindingConductor::Foil(foil) => ("thickness", foil.thickness, foil.filling),
            WindingConductor::Round(wire) => ("diameter", wire.diameter, wire.filling),
            WindingConductor::Litz(litz) => ("diameter", litz.diameter, litz.filling),
        };
        self.above_zero(key, size, Length::si);
        self.share_above_zero("filling", filling, 1.0);
    }

    /// Flux that leaks is the smaller part of all flux.
    fn leakage_below(&mut self, leakage: Option<Given<Inductance>>, magnetising: Option<Given<Inductance>>) {
        if let (Some(leakage), Some(magnetising)) = (leakage, magnetising)
            && magnetising.value <= leakage.value
        {
            let (at, also) = (self.tree.span(leakage.at), self.tree.span(magnetising.at));
            self.ledger.note("conflict", at, "leakage_inductance", || {
                let message = "a transformer leaks less than it magnetises";
                Problem::new("conflict", at, message, "`leakage_inductance`")
                    .with_also(also, "`magnetising_inductance`")
                    .with_way_out("exchange them, or correct an inductance")
            });
        }
    }
}
