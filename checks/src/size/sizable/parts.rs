//! Parts of parts files in place of those that are described.

use loadworthy_unit::Dimension;
use loadworthy_unit::plan::{MagneticRole, Stage};
use loadworthy_unit::stock::{Offer, Shelf};

use super::{Found, Offered, Sizable, Unsizable};
use crate::size::Kind;

impl Found<'_> {
    /// Devices, capacitors, chokes, transformers and outputs for gates, each where parts files offer another one that fits.
    pub(super) fn parts(&mut self) {
        let variant = self.variant;
        for stage in &variant.plan.stages {
            self.devices_fitted(stage);
        }
        for bank in &variant.plan.banks {
            let each = &variant.tables.input_of(bank.each.capacitance).path;
            let each =
                each.strip_prefix("capacitor_types.").and_then(|rest| rest.strip_suffix(".capacitance"));
            if let Some(each) = each.and_then(|name| self.stock.part(Shelf::Capacitors, name)) {
                let part = variant.path(bank.part);
                self.put_reference(part, "each capacitor", vec![format!("capacitors.{part}.each")], each);
            }
        }
        let mut seen: Vec<&str> = Vec::new();
        for stage in &variant.plan.stages {
            for magnetic in stage.magnetics.iter().map(|&place| &variant.plan.magnetics[place]) {
                // A stage has what it names below itself.
                let (path, stage) = (variant.path(magnetic.part), variant.path(stage.part));
                let name = path.strip_prefix(stage).and_then(|rest| rest.strip_prefix('.')).unwrap_or(path);
                if seen.contains(&name) {
                    continue;
                }
                seen.push(name);
                let (shelf, what) = match magnetic.role {
                    MagneticRole::Transformer => (Shelf::Transformers, "transformer"),
                    MagneticRole::Choke | MagneticRole::OutputChoke => (Shelf::Chokes, "choke"),
                };
                if let Some(wound) = self.stock.part(shelf, name)
                    && let Some(own) = self.put_entry(Kind::Parts, what, wound)
                {
                    own.near.push(stage.to_owned());
                }
            }
        }
        for supply in &variant.plan.gate_supplies {
            let output = self.stock.part(Shelf::GateSupplies, variant.path(supply.part));
            if let Some(output) = output.filter(|output| !output.is_stock) {
                self.put_entry(Kind::Parts, "output", output);
            }
        }
    }

    /// One device for all positions of a stage that it is fitted to.
    fn devices_fitted(&mut self, stage: &Stage) {
        let variant = self.variant;
        let part = variant.path(stage.part);
        let mut seen: Vec<&str> = Vec::new();
        for fitted in stage.seats.iter().filter_map(|seat| seat.fitted.as_deref()) {
            if seen.contains(&fitted) {
                continue;
            }
            seen.push(fitted);
            let Some(device) = self.stock.part(Shelf::Devices, fitted) else { continue };
            let own = stage.seats.iter().filter(|seat| seat.fitted.as_deref() == Some(fitted));
            let keys: Vec<&str> = own.map(|seat| seat.key).collect();
            let paths = keys.iter().map(|key| format!("stages.{part}.switches.{key}.fitted"));
            self.put_reference(part, &keys.join(" and "), paths.collect(), device);
        }
    }

    /// Adds a part that is named where it is fitted.
    fn put_reference(&mut self, part: &str, what: &str, paths: Vec<String>, described: &Offer) {
        let all = self.stock.instead_of(described);
        let written = all.iter().map(|offer| {
            let to = |path: &String| (path.clone(), offer.name.clone());
            paths.iter().map(to).collect()
        });
        let written: Vec<Vec<(String, String)>> = written.collect();
        let all = all.into_iter().zip(written).collect();
        self.offer(Kind::Parts, (part, what), paths, described, all);
    }

    /// Adds a part that is an entry itself.
    fn put_entry(&mut self, kind: Kind, what: &str, described: &Offer) -> Option<&mut Sizable> {
        let all = self.stock.instead_of(described);
        if all.len() > 1 && described.is_stock {
            self.unsizable.push(Unsizable {
                kind,
                part: described.name.clone(),
                what: what.to_owned(),
                paths: Vec::new(),
                why: "stands in a parts file under its own name; an entry of its own in the description could be exchanged",
            });
            return None;
        }
        let written = all.into_iter().filter_map(|offer| {
            let is_described = offer.name == described.name;
            Some((offer, if is_described { Vec::new() } else { self.stock.becoming(described, offer)? }))
        });
        let all: Vec<(&Offer, Vec<(String, String)>)> = written.collect();
        let paths = vec![format!("{}.{}", described.shelf.section(), described.name)];
        self.offer(kind, (&described.name, what), paths, described, all)
    }

    /// A fuse for which parts files offer others of its voltage.
    pub(super) fn fuse_on_offer(&mut self, name: &str) -> Option<&mut Sizable> {
        let fuse = self.stock.part(Shelf::Fuses, name).filter(|fuse| !fuse.is_stock)?;
        self.put_entry(Kind::Fuses, "rated current", fuse)
    }

    /// Adds what may be exchanged, where there is more than what is described.
    fn offer(
        &mut self,
        kind: Kind,
        (part, what): (&str, &str),
        paths: Vec<String>,
        described: &Offer,
        all: Vec<(&Offer, Vec<(String, String)>)>,
    ) -> Option<&mut Sizable> {
        let place = all.iter().position(|(offer, _)| offer.name == described.name)?;
        if all.len() < 2 {
            return None;
        }
        let (by, dimension) = match described.shelf {
            Shelf::Devices | Shelf::Fuses => ("rated current", Dimension::Current),
            Shelf::Capacitors => ("capacitance", Dimension::Capacitance),
            Shelf::Chokes => ("energy stored at saturation", Dimension::Energy),
            Shelf::Transformers => ("volume of its core", Dimension::Volume),
            Shelf::GateSupplies => ("power", Dimension::Power),
        };
        let sizes = all.iter().map(|(offer, _)| offer.measure).collect();
        let names = all.iter().map(|(offer, _)| offer.name.clone()).collect();
        let written = all.into_iter().map(|(_, written)| written).collect();
        self.sizable.push(Sizable {
            kind,
            part: part.to_owned(),
            what: what.to_owned(),
            inputs: Vec::new(),
            paths,
            described: described.measure,
            dimension,
            sizes,
            offered: Some(Offered { by, names, described: place, written }),
            followers: Vec::new(),
            near: vec![part.to_owned()],
            unmoved: Vec::new(),
        });
        self.sizable.last_mut()
    }
}
