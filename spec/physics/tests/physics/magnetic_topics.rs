//! How each topic of the magnetic reference cases is computed with this crate.

use loadworthy_physics::winding_loss::{self, Sheets};
use loadworthy_physics::{Area, Current, Frequency, Inductance, Length, Resistance, Temperature, core_flux};

use crate::reference_cases::{Figures, Inputs, Topic, numbers};

/// Each topic and what computes it.
pub(crate) const TOPICS: &[Topic] = &[
    ("skin_and_layers", skin_and_layers),
    ("inductor_saturation", inductor_saturation),
    ("warm_copper", warm_copper),
];

fn skin_and_layers(case: &Inputs<'_>) -> Figures {
    let frequency = Frequency::new(case.number("frequency_Hz"));
    let at = Temperature::celsius(case.number("copper_temperature_degC"));
    let ratio = case.number_if_stated("foil_thickness_m").map_or(f64::NAN, |thickness| {
        Sheets::of_foil(Length::new(thickness), case.number("layers_1"), 1.0).ratio(frequency, at)
    });
    let depth = winding_loss::skin_depth(frequency, at).si();
    numbers([("skin_depth_m", depth), ("foil_stack_ac_dc_ratio_1", ratio)])
}

fn inductor_saturation(case: &Inputs<'_>) -> Figures {
    let peak = Current::new(case.number("peak_current_A"));
    let crest = core_flux::choke_peak(
        Inductance::new(case.number("inductance_H")),
        0.0,
        peak,
        peak,
        case.number("turns_1"),
        Area::new(case.number("core_area_m2")),
    );
    let margin = 1.0 - crest.si() / case.number("saturation_flux_density_T");
    numbers([("peak_flux_density_T", crest.si()), ("saturation_margin_1", margin)])
}

fn warm_copper(case: &Inputs<'_>) -> Figures {
    let warm = winding_loss::warmed(
        Resistance::new(case.number("resistance_ohm")),
        Temperature::celsius(case.number("stated_at_degC")),
        Temperature::celsius(case.number("copper_temperature_degC")),
    );
    numbers([("resistance_ohm", warm.si())])
}
