//! Descriptions of units that grow in one direction alone: what islands that are alike cannot show, because nothing in them
//! grows with their number.

use std::fmt::Write as _;

use super::unit::Large;

/// In which direction a unit grows.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Shape {
    /// Islands that are alike, of five stages each.
    Islands,
    /// Converters one behind another, with a load at the end: all powers hang on one another.
    Chain,
    /// Batteries side by side on one bus, each behind a fuse and a cable: each drives what any fuse is to end.
    Sources,
    /// Loads on one bus, each behind a cable.
    Loads,
}

impl Shape {
    /// All of them, with the sizes that are measured.
    pub(crate) const ALL: [(Self, [usize; 3]); 4] = [
        (Self::Islands, [100, 300, 1000]),
        (Self::Chain, [25, 50, 100]),
        (Self::Sources, [16, 32, 64]),
        (Self::Loads, [250, 500, 1000]),
    ];

    /// The word that it is asked for by.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Islands => "islands",
            Self::Chain => "chain",
            Self::Sources => "sources",
            Self::Loads => "loads",
        }
    }

    /// The description of a unit of that size.
    pub(crate) fn text(self, size: usize) -> String {
        match self {
            Self::Islands => Large::of(size).text(),
            Self::Chain => chain(size),
            Self::Sources => sources(size),
            Self::Loads => loads(size),
        }
    }
}

/// An entry for each of so many, in a line of its own.
fn section(text: &mut String, name: &str, size: usize, entry: impl Fn(usize) -> String) {
    let _ = writeln!(text, "{name}:");
    for k in 0..size {
        let _ = writeln!(text, "  {}", entry(k));
    }
}

const BATTERY: &str = "kind: battery, open_circuit: { lowest: 280 V, highest: 360 V }, internal_resistance: { lowest: 40 mohm, highest: 90 mohm }, discharge: { continuous: 200 A }";

fn chain(size: usize) -> String {
    let mut text = String::from("edition: 2026\nunit: { name: Chain }\n");
    section(&mut text, "sources", 1, |_| format!("pack: {{ bus: bus_0, {BATTERY} }}"));
    section(&mut text, "buses", size + 1, |k| format!("bus_{k}: {{ nominal: 350 V, highest: 400 V }}"));
    section(&mut text, "stages", size, |k| {
        format!(
            "stage_{k}: {{ topology: buck, from: bus_{k}, to: bus_{}, carrier: {{ frequency: 20 kHz }} }}",
            k + 1
        )
    });
    section(&mut text, "loads", 1, |_| format!("lamp: {{ bus: bus_{size} }}"));
    let asks = "on: { lasts: continuous, sources: { pack: { open_circuit: 340 V } }, loads: { lamp: { power: 5 kW } } }";
    section(&mut text, "duty", 1, |_| asks.to_owned());
    text
}

fn sources(size: usize) -> String {
    let mut text = String::from("edition: 2026\nunit: { name: Sources side by side }\n");
    section(&mut text, "sources", size, |k| format!("pack_{k}: {{ {BATTERY} }}"));
    section(&mut text, "buses", 1, |_| "link: { highest: 400 V }".to_owned());
    section(&mut text, "conductors", 2 * size, |k| match k % 2 {
        0 => format!("fuse_{}: {{ kind: fuse, voltage: 500 V DC, current: 225 A }}", k / 2),
        _ => format!("cable_{}: {{ kind: cable, section: 50 mm^2, length: 2 m }}", k / 2),
    });
    section(&mut text, "branches", size, |k| {
        format!("feed_{k}: {{ from: pack_{k}, to: link, through: [fuse_{k}, cable_{k}] }}")
    });
    section(&mut text, "loads", 1, |_| "pump: { bus: link }".to_owned());
    let volts: Vec<String> = (0..size).map(|k| format!("pack_{k}: {{ open_circuit: 340 V }}")).collect();
    section(&mut text, "duty", 1, |_| {
        format!(
            "on: {{ lasts: continuous, sources: {{ {} }}, loads: {{ pump: {{ power: 40 kW }} }} }}",
            volts.join(", ")
        )
    });
    text
}

fn loads(size: usize) -> String {
    let mut text = String::from("edition: 2026\nunit: { name: Loads on one bus }\n");
    section(&mut text, "sources", 1, |_| format!("pack: {{ bus: link, {BATTERY} }}"));
    section(&mut text, "buses", 1, |_| "link: { highest: 400 V }".to_owned());
    section(&mut text, "conductors", size, |k| {
        format!("cable_{k}: {{ kind: cable, section: 1.5 mm^2, length: 2 m }}")
    });
    section(&mut text, "branches", size, |k| {
        format!("feed_{k}: {{ from: link, to: lamp_{k}, through: [cable_{k}] }}")
    });
    section(&mut text, "loads", size, |k| format!("lamp_{k}: {{}}"));
    let watts: Vec<String> = (0..size).map(|k| format!("lamp_{k}: {{ power: 20 W }}")).collect();
    section(&mut text, "duty", 1, |_| {
        format!(
            "on: {{ lasts: continuous, sources: {{ pack: {{ open_circuit: 340 V }} }}, loads: {{ {} }} }}",
            watts.join(", ")
        )
    });
    text
}
