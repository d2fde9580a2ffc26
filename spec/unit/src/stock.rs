//! What a description and its parts files offer to choose from: devices, capacitors, chokes, transformers, fuses and outputs
//! for gates, each with what must be alike for one to stand in place of another, and by what they are told larger from smaller.
//!
//! Devices and capacitor types are named where they are fitted, so another name stands for another part. The others are
//! entries themselves: another one is what its data sheet says, written into the entry, which keeps what the unit makes of it.

mod legs;

use loadworthy_language::sections::capacitors::CapacitorType;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::devices::{Circuit, Device, Diode, PackageForm, RatedCurrent, Transistor};
use loadworthy_language::sections::gate_supplies::GateSupply;
use loadworthy_language::sections::magnetics::{Choke, Magnetic};
use loadworthy_source::{NodeId, Tree};

pub use legs::{LegList, LegNames};

/// The sections that parts are chosen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shelf {
    /// `devices`.
    Devices,
    /// `capacitor_types`.
    Capacitors,
    /// Chokes among `magnetics`.
    Chokes,
    /// Transformers among `magnetics`.
    Transformers,
    /// Fuses among `conductors`.
    Fuses,
    /// `gate_supplies`.
    GateSupplies,
}

impl Shelf {
    const ALL: [Self; 6] =
        [Self::Devices, Self::Capacitors, Self::Chokes, Self::Transformers, Self::Fuses, Self::GateSupplies];

    /// The key of the section.
    #[must_use]
    pub const fn section(self) -> &'static str {
        match self {
            Self::Devices => "devices",
            Self::Capacitors => "capacitor_types",
            Self::Chokes | Self::Transformers => "magnetics",
            Self::Fuses => "conductors",
            Self::GateSupplies => "gate_supplies",
        }
    }

    /// Keys of an entry that say what the unit makes of a part, and not what the part is: another part leaves them as they are.
    const fn kept(self) -> &'static [&'static str] {
        match self {
            Self::Chokes => &["trip", "to_air"],
            Self::Transformers => &["flux_walking", "to_air"],
            Self::GateSupplies => {
                &["feeds", "transformer", "rail", "from", "also_from", "crosses", "common_inductance"]
            }
            Self::Devices | Self::Capacitors | Self::Fuses => &[],
        }
    }
}

/// What must be alike for one part to stand in place of another.
#[derive(Clone, Debug, PartialEq)]
enum Fits {
    /// Package, number of cooled faces, isolation, what switches in it, and the blocking voltage in V.
    Device(Option<PackageForm>, Option<Circuit>, Option<u8>, Option<bool>, Switch, f64),
    /// Rated voltage in V.
    Capacitor(f64),
    /// Inductance in H, from half to twice as much: whether it will do, the checks say.
    Choke(f64),
    /// Turns ratio.
    Transformer(f64),
    /// Rated voltage in V.
    Fuse(f64),
    /// Gate voltages on and off in V.
    GateSupply(f64, f64),
}

impl Fits {
    fn in_place_of(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Choke(own), Self::Choke(other)) => (0.5 * other..=2.0 * other).contains(own),
            _ => self == other,
        }
    }
}

/// What switches in a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Switch {
    Igbt,
    Mosfet,
    /// A diode alone.
    None,
}

/// A part that may be chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// Its name.
    pub name: String,
    /// Where it is on offer.
    pub shelf: Shelf,
    /// Whether it stands in a parts file.
    pub is_stock: bool,
    /// How large it is: rated current in A, capacitance in F, energy in J that a choke stores when its core saturates, volume in m³
    /// of a transformer's core, power in W of an output.
    pub measure: f64,
    fits: Fits,
    at: NodeId,
}

/// All parts that may be chosen, with how large each is; of those that do not say how large they are there is nothing.
#[derive(Clone, Debug)]
pub struct Stock<'t> {
    tree: &'t Tree,
    offers: Vec<Offer>,
    legs: Vec<LegNames>,
}

impl<'t> Stock<'t> {
    /// What is on offer in a description, parts files joined.
    #[must_use]
    pub fn of(tree: &'t Tree, root: Option<NodeId>) -> Self {
        let mut offers = Vec::new();
        // The edition stands in the description's own file.
        let own =
            root.and_then(|root| tree.entry(root, "edition")).map(|edition| tree.span(edition.key).file);
        for shelf in Shelf::ALL {
            let section = root.and_then(|root| tree.value_at(root, &[shelf.section()]));
            for entry in section.map_or(&[][..], |section| tree.entries(section)) {
                let name = tree.key_text(entry.key).to_owned();
                let Some((fits, measure)) = read(tree, shelf, entry.value).filter(|_| is_word(&name)) else {
                    continue;
                };
                let is_stock = own.is_some_and(|own| tree.span(entry.key).file != own);
                offers.push(Offer { name, shelf, is_stock, measure, fits, at: entry.value });
            }
        }
        Self { tree, offers, legs: legs::named(tree, root) }
    }

    /// A part by its name.
    #[must_use]
    pub fn part(&self, shelf: Shelf, name: &str) -> Option<&Offer> {
        self.offers.iter().find(|offer| offer.shelf == shelf && offer.name == name)
    }

    /// A part with all that could stand in its place, those of parts files; the smallest first, and of one size by name.
    #[must_use]
    pub fn instead_of(&self, part: &Offer) -> Vec<&Offer> {
        let fits =
            |offer: &&Offer| offer.name == part.name || offer.is_stock && offer.fits.in_place_of(&part.fits);
        let mut all: Vec<&Offer> =
            self.offers.iter().filter(|offer| offer.shelf == part.shelf).filter(fits).collect();
        all.sort_by(|one, other| {
            one.measure.total_cmp(&other.measure).then_with(|| one.name.cmp(&other.name))
        });
        all
    }

    /// How the description names the legs of a stage.
    pub fn legs<'s>(&'s self, stage: &'s str) -> impl Iterator<Item = &'s LegNames> {
        self.legs.iter().filter(move |names| names.stage == stage)
    }

    /// What is to be written for an entry to say what another one says: paths and values. Nothing where a value cannot be
    /// written in one line.
    #[must_use]
    pub fn becoming(&self, from: &Offer, to: &Offer) -> Option<Vec<(String, String)>> {
        let changes = self.tree.becoming(from.at, to.at)?;
        let under = format!("{}.{}", from.shelf.section(), from.name);
        let is_data =
            |path: &[String]| path.first().is_some_and(|key| !from.shelf.kept().contains(&key.as_str()));
        let changes = changes.into_iter().filter(|(path, _)| is_data(path));
        Some(changes.map(|(path, text)| (format!("{under}.{}", path.join(".")), text)).collect())
    }
}

/// Whether a name can be written as it is.
fn is_word(name: &str) -> bool {
    let is_plain = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '-');
    name.starts_with(char::is_alphabetic)
        && name.chars().all(is_plain)
        && !matches!(name.to_lowercase().as_str(), "null" | "true" | "false")
}

/// What an entry must be alike in, and how large it is; nothing where it does not say so.
fn read(tree: &Tree, shelf: Shelf, at: NodeId) -> Option<(Fits, f64)> {
    let (fits, measure) = match shelf {
        Shelf::Devices => device(&tree.deserialize(at).ok()?)?,
        Shelf::Capacitors => {
            let of: CapacitorType = tree.deserialize(at).ok()?;
            (Fits::Capacitor(of.voltage?.si()), of.capacitance?.si())
        }
        Shelf::Chokes => {
            let Magnetic::Choke(choke) = tree.deserialize(at).ok()? else { return None };
            (Fits::Choke(choke.inductance.as_ref()?.si()), stored(&choke)?)
        }
        Shelf::Transformers => {
            let Magnetic::Transformer(one) = tree.deserialize(at).ok()? else { return None };
            let core = one.core.as_ref()?;
            (Fits::Transformer(one.turns_ratio.as_ref()?.value), core.volume.as_ref()?.si())
        }
        Shelf::GateSupplies => {
            let of: GateSupply = tree.deserialize(at).ok()?;
            // What a bootstrap gives hangs on what charges it.
            if of.bootstrap_from.is_some() {
                return None;
            }
            (Fits::GateSupply(of.on?.si(), of.off?.si()), of.power?.si())
        }
        Shelf::Fuses => {
            let Conductor::Fuse(fuse) = tree.deserialize(at).ok()? else { return None };
            (Fits::Fuse(fuse.voltage?.si()), fuse.current?.si())
        }
    };
    (measure.is_finite() && measure > 0.0).then_some((fits, measure))
}

fn device(device: &Device) -> Option<(Fits, f64)> {
    let rated = |current: &Option<RatedCurrent>| Some(current.as_ref()?.continuous.as_ref()?.si());
    let (switch, blocking, current) = match (&device.transistor, &device.diode) {
        (Some(Transistor::Igbt(igbt)), _) => (Switch::Igbt, &igbt.blocking_voltage, &igbt.current),
        (Some(Transistor::Mosfet(mosfet)), _) => (Switch::Mosfet, &mosfet.blocking_voltage, &mosfet.current),
        (None, Some(Diode { blocking_voltage, current, .. })) => (Switch::None, blocking_voltage, current),
        (None, None) => return None,
    };
    let package = device.package.as_ref();
    let fits = Fits::Device(
        package.and_then(|package| package.form.as_ref()).map(|form| form.value),
        package.and_then(|package| package.circuit.as_ref()).map(|circuit| circuit.value),
        package.and_then(|package| package.cooled_faces.as_ref()).map(|faces| faces.value),
        package.and_then(|package| package.isolated.as_ref()).map(|isolated| isolated.value),
        switch,
        blocking.as_ref()?.si(),
    );
    Some((fits, rated(current)?))
}

/// Energy in J that a choke stores when its core saturates, at the first temperature that states it: I = N·B·A/L, E = L·I²/2.
/// What a core and its gap can store is what makes a choke large.
fn stored(choke: &Choke) -> Option<f64> {
    let core = choke.core.as_ref()?;
    let flux_density = core.saturation.as_ref()?.flux_density.as_ref()?.first()?.si();
    let linked = f64::from(choke.turns.as_ref()?.value) * flux_density * core.area.as_ref()?.si();
    Some(linked * linked / (2.0 * choke.inductance.as_ref()?.si()))
}

#[cfg(test)]
mod tests;
