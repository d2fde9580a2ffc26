//! What a magnetic component states of a winding.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::magnetics::{Winding as WrittenWinding, WindingConductor};

use super::Sheet;
use crate::build::Build;
use crate::ids::{FigureId, InputId, PartId};
use crate::plan::{Winding, WindingCapacity, WindingWarms, WoundForm, WoundOf};

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

impl Sheet<'_> {
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
}
