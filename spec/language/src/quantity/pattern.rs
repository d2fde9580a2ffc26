//! The pattern by which an editor sees a missing or a wrong unit before the program does.
//!
//! The pattern names the usual spellings; the reader itself takes any expression of the right dimension.

use serde_json::{Map, Value, json};

use super::dimension::Dimension;
use super::kind::QuantityKind;

const NUMBER: &str = r"[+\-\u2212]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+\-]?[0-9]+)?";
const MICRO: &str = "u\u{B5}\u{3BC}";
const DOT: &str = "[ \u{B7}*]?";

/// The schema of a text that holds a quantity.
pub(crate) fn schema_of(kind: QuantityKind) -> Map<String, Value> {
    let types = if kind.is_dimensionless() { json!(["number", "string"]) } else { json!("string") };
    let mut schema = Map::new();
    schema.insert("type".to_owned(), types);
    schema.insert("x-quantity".to_owned(), json!(kind.name()));
    match kind {
        QuantityKind::Ratio => {
            schema.insert("minimum".to_owned(), json!(0));
            schema.insert("maximum".to_owned(), json!(1));
        }
        QuantityKind::SignedRatio => {
            schema.insert("minimum".to_owned(), json!(-1));
            schema.insert("maximum".to_owned(), json!(1));
        }
        _ => {}
    }
    schema.insert("pattern".to_owned(), json!(pattern(kind)));
    let message = format!("Expects {}, e.g. `{}`", kind.expected(), kind.example());
    schema.insert("patternErrorMessage".to_owned(), json!(message.replace('`', "'")));
    schema.insert("examples".to_owned(), json!([example(kind)]));
    schema
}

fn example(kind: QuantityKind) -> Value {
    match kind {
        QuantityKind::SignedRatio => json!(0.88),
        _ => json!(kind.example()),
    }
}

fn pattern(kind: QuantityKind) -> String {
    let space = "[ \t\u{A0}\u{2009}\u{202F}]*";
    let number = NUMBER.replace("\\u2212", "\u{2212}");
    let value = |units: &str| format!("{number}{space}({units})");
    let body = match kind {
        QuantityKind::Plain(dimension) => {
            let word = match dimension {
                Dimension::Voltage | Dimension::Current => "( DC)?",
                _ => "",
            };
            format!("{}{word}", value(&units(dimension)))
        }
        QuantityKind::RmsCurrent => format!("{} +(rms|peak)", value(&units(Dimension::Current))),
        QuantityKind::RmsVoltage => format!("{} +(rms|peak)", value(&units(Dimension::Voltage))),
        QuantityKind::PeakVoltage => format!("{}( +(peak|DC))?", value(&units(Dimension::Voltage))),
        QuantityKind::Ratio | QuantityKind::SignedRatio => format!("{number}{space}%?"),
        QuantityKind::Margin => format!("{number}{space}[^0-9 ].*"),
        QuantityKind::TimeOrContinuous => format!("(continuous|{})", value(&units(Dimension::Time))),
    };
    format!("^ *{body} *$")
}

/// The usual spellings of a dimension's units.
fn units(dimension: Dimension) -> String {
    use Dimension as D;
    let prefixed = |prefixes: &str, unit: &str| format!("[{prefixes}]?{unit}");
    let all = format!("TGMkm{MICRO}np");
    let small = format!("m{MICRO}npk");
    let length = format!("[kcdm{MICRO}n]?m");
    match dimension {
        D::Ratio => "%?".to_owned(),
        D::Voltage => prefixed(&all, "V"),
        D::Current => prefixed(&all, "A"),
        D::Power => prefixed(&all, "W"),
        D::Energy => format!("[{all}]?(J|Wh|W{DOT}h|W{DOT}s)"),
        D::Torque => format!("[{all}]?N{DOT}m"),
        D::Angle => "(deg|\u{B0}|rad)".to_owned(),
        D::Resistance => prefixed(&all, "(\u{3A9}|\u{2126}|[oO]hm)"),
        D::Inductance => prefixed(&small, "H"),
        D::Capacitance => prefixed(&small, "F"),
        D::Conductance => prefixed(&small, "S"),
        D::Charge => format!("[{all}]?(C|Ah|A{DOT}h|A{DOT}s)"),
        D::Frequency => prefixed(&all, "Hz"),
        D::Speed => "1/(s|min|h)".to_owned(),
        D::Time => format!("([{small}]?s|min|h)"),
        D::Temperature => "(degC|[\u{B0}\u{BA}]C|\u{2103})".to_owned(),
        D::TemperatureDifference => prefixed("m", "[K\u{212A}]"),
        D::PerKelvin => "([1%]/m?K)".to_owned(),
        D::ThermalResistance => format!("[mk{MICRO}]?K/[mk]?W"),
        D::HeatCapacityRate => "[mk]?W/[mk]?K".to_owned(),
        D::HeatCapacity => "[mk]?J/[mk]?K".to_owned(),
        D::ContactResistance => format!("[m{MICRO}]?K{DOT}[cm]?m(\\^2|\u{B2})/[mk]?W"),
        D::VolumeFlow => format!("([dcm]?[Ll]|{length}(\\^3|\u{B3}))/(s|min|h)"),
        D::Volume => format!("([dcm]?[Ll]|{length}(\\^3|\u{B3}))"),
        D::Velocity => format!("{length}/(s|min|h)"),
        D::Length => length,
        D::Area => format!("{length}(\\^2|\u{B2})"),
        D::Mass => format!("[km{MICRO}]?g"),
        D::Pressure => "[Mkhm]?(Pa|bar)".to_owned(),
        D::FluxLinkage => format!("[{small}]?(Wb|Vs|V{DOT}s)"),
        D::FluxDensity => prefixed(&small, "T"),
        D::SlewRate => format!("[{all}]?V/[{small}]?s"),
        D::CurrentSlope => format!("[{all}]?A/[{small}]?s"),
        D::CurrentDensity => format!("[{all}]?A/{length}(\\^2|\u{B2})"),
        D::LossDensity => format!("[Mkm{MICRO}]?W/{length}(\\^3|\u{B3})"),
        D::SquaredCurrentTime => format!("(A|\\([Mkm]A\\))(\\^2|\u{B2}){DOT}s"),
    }
}
