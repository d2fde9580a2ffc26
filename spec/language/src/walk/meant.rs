//! What a person meant who wrote a word that is not the language's own, or one value in place of a map.

use loadworthy_source::{Scalar, nearest};

use super::shape::{Map, Shape, Shapes};

/// Words of the trade, and what they are called here.
const TRADE_WORDS: &[(&str, &str)] = &[
    ("inverter", "three_phase_bridge"),
    ("three_phase_inverter", "three_phase_bridge"),
    ("b6", "three_phase_bridge"),
    ("step_up", "boost"),
    ("step_down", "buck"),
    ("svpwm", "space_vector"),
    ("svm", "space_vector"),
    ("spwm", "sinusoidal"),
    ("sine", "sinusoidal"),
    ("pmsm", "permanent_magnet"),
    ("ipmsm", "permanent_magnet"),
    ("synchronous", "permanent_magnet"),
    ("asynchronous", "induction"),
    ("sic", "mosfet"),
    ("fet", "mosfet"),
    ("min", "lowest"),
    ("minimum", "lowest"),
    ("max", "highest"),
    ("maximum", "highest"),
    ("typical", "nominal"),
    ("rds_on", "on_resistance"),
    ("vce_sat", "on_state"),
    ("e_on", "turn_on"),
    ("e_off", "turn_off"),
    ("e_rec", "recovery"),
    ("tj_max", "junction_limit"),
    ("rth", "thermal_impedance"),
    ("zth", "thermal_impedance"),
    ("ratio", "turns_ratio"),
    ("rpm", "speed"),
];

/// The word that was meant: one that is spelt nearly so, the language's word for it, or the only one that holds it.
pub(super) fn word<'w>(text: &str, words: impl Iterator<Item = &'w str> + Clone) -> Option<&'w str> {
    let plain = |c: char| if matches!(c, '-' | ' ') { '_' } else { c.to_ascii_lowercase() };
    nearest(text, words.clone()).or_else(|| {
        // Longer than any word is no word; what is longest here bounds what is compared.
        if text.len() > 32 {
            return None;
        }
        let text = text.chars().map(plain).collect::<String>();
        let ours = TRADE_WORDS.iter().find(|(theirs, _)| *theirs == text).map(|(_, ours)| *ours);
        let known = ours.and_then(|ours| words.clone().find(|word| *word == ours));
        known.or_else(|| {
            let mut holding = words.filter(|word| text.len() >= 4 && word.contains(text.as_str()));
            let only = holding.next()?;
            holding.next().is_none().then_some(only)
        })
    })
}

/// How a value stated in place of a map would be written in it, where there is one key that it fits.
pub(super) fn in_map(shapes: &Shapes, map: &Map, scalar: Scalar<'_>) -> Option<String> {
    let only = |fits: &dyn Fn(&Shape) -> bool| {
        let mut fitting = map.fields.iter().enumerate().filter(|(_, (_, shape))| fits(shapes.get(*shape)));
        let (place, _) = fitting.next()?;
        fitting.next().is_none().then_some(place)
    };
    let is_quantity = |shape: &Shape| match shape {
        Shape::Quantity(kind) | Shape::Points(kind) => kind.fits(scalar.text),
        _ => false,
    };
    let takes_word = |shape: &Shape| match shape {
        Shape::Text => scalar.as_f64().is_none() && !scalar.text.contains(' '),
        Shape::Words(words) => words.contains(&scalar.text),
        _ => false,
    };
    let place = only(&is_quantity).or_else(|| only(&takes_word))?;
    let fields = map.fields.iter().enumerate().filter_map(|(k, (key, _))| {
        if k == place {
            return Some(format!("{key}: {}", loadworthy_source::escape_text(scalar.text)));
        }
        (map.required >> k & 1 == 1).then(|| format!("{key}: …"))
    });
    Some(format!("{{ {} }}", fields.collect::<Vec<_>>().join(", ")))
}
