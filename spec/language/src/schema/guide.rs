//! The schema as a guide through the language: which keys stand where, in which order, and what they are.

use serde_json::{Map, Value};

use crate::policy::PolicyItem;
use crate::quantity::QuantityKind;

/// The schema of a description, to be walked key by key.
#[derive(Debug, Clone)]
pub struct Guide {
    schema: Value,
}

/// What may stand at one place of a description.
#[derive(Debug, Clone, Copy)]
pub struct Guided<'g> {
    root: &'g Value,
    /// What is said of this place itself.
    own: &'g Value,
    /// The same, or what it refers to.
    shape: &'g Value,
}

/// The word that a map states under a key, if any: it decides between kinds, as `topology` does.
pub type Tags<'s> = &'s dyn Fn(&str) -> Option<String>;

impl Guide {
    /// The guide through descriptions whose policy has this vocabulary.
    #[must_use]
    pub fn new(vocabulary: &[&PolicyItem]) -> Self {
        Self { schema: super::schema(vocabulary, &[]) }
    }

    /// The top of a description.
    #[must_use]
    pub fn top(&self) -> Guided<'_> {
        Guided::at(&self.schema, &self.schema)
    }
}

impl<'g> Guided<'g> {
    fn at(root: &'g Value, own: &'g Value) -> Self {
        let mut shape = own;
        while let Some(target) = shape.get("$ref").and_then(Value::as_str) {
            match target.strip_prefix('#').and_then(|pointer| root.pointer(pointer)) {
                Some(next) => shape = next,
                None => break,
            }
        }
        Self { root, own, shape }
    }

    /// What it is, in the words of the schema; empty where nothing is said.
    #[must_use]
    pub fn help(self) -> &'g str {
        let text = |schema: &'g Value| schema.get("markdownDescription").and_then(Value::as_str);
        text(self.own).or_else(|| text(self.shape)).unwrap_or_default()
    }

    /// The quantity that it is, or that the items of a list are.
    #[must_use]
    pub fn quantity(self) -> Option<QuantityKind> {
        self.shape.get("x-quantity").and_then(Value::as_str).and_then(QuantityKind::named)
    }

    /// The words that may stand here, where only some may.
    #[must_use]
    pub fn words(self) -> Vec<&'g str> {
        let words = self.shape.get("enum").and_then(Value::as_array);
        words.into_iter().flatten().filter_map(Value::as_str).collect()
    }

    /// Whether a plain number may stand here.
    #[must_use]
    pub fn takes_numbers(self) -> bool {
        let is_number = |kind: &Value| matches!(kind.as_str(), Some("number" | "integer"));
        match self.shape.get("type") {
            Some(Value::Array(kinds)) => kinds.iter().any(is_number),
            kind => kind.is_some_and(is_number),
        }
    }

    /// The words that may decide the kind of a map here, if this key does.
    #[must_use]
    pub fn kinds(self, key: &str) -> Vec<&'g str> {
        let kinds = self.shape.get("oneOf").and_then(Value::as_array);
        let word = |kind: &'g Value| kind.get("properties")?.get(key)?.get("const")?.as_str();
        kinds.into_iter().flatten().filter_map(word).collect()
    }

    /// What stands under the names that a person gives here, if it is a map of such names.
    #[must_use]
    pub fn entry(self) -> Option<Self> {
        let below = self.shape.get("additionalProperties").filter(|below| below.is_object());
        below.map(|below| Self::at(self.root, below))
    }

    /// What may stand in a list here.
    #[must_use]
    pub fn item(self) -> Option<Self> {
        self.shape.get("items").map(|below| Self::at(self.root, below))
    }

    /// The keys that may stand here, in the order of the language.
    #[must_use]
    pub fn keys(self, stated: Tags<'_>) -> Vec<(&'g str, Self)> {
        let properties = self.properties(stated);
        properties
            .into_iter()
            .flatten()
            .map(|(key, below)| (key.as_str(), Self::at(self.root, below)))
            .collect()
    }

    /// What may stand under a key or a name.
    #[must_use]
    pub fn below(self, key: &str, stated: Tags<'_>) -> Option<Self> {
        match self.properties(stated).and_then(|properties| properties.get(key)) {
            Some(below) => Some(Self::at(self.root, below)),
            None => self.entry(),
        }
    }

    /// The properties of the kind that is stated; of the first kind where none is.
    fn properties(self, stated: Tags<'_>) -> Option<&'g Map<String, Value>> {
        let of = |schema: &'g Value| schema.get("properties").and_then(Value::as_object);
        let Some(kinds) = self.shape.get("oneOf").and_then(Value::as_array) else { return of(self.shape) };
        let is_stated = |kind: &&'g Map<String, Value>| {
            kind.iter().any(|(key, below)| {
                let word = below.get("const").and_then(Value::as_str);
                word.is_some() && word == stated(key).as_deref()
            })
        };
        kinds.iter().filter_map(of).find(is_stated).or_else(|| kinds.first().and_then(of))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dimension;

    #[test]
    fn the_guide_knows_keys_kinds_and_quantities() {
        let guide = Guide::new(&[]);
        let nothing: Tags<'_> = &|_| None;
        let first = guide.top().keys(nothing).into_iter().map(|(key, _)| key).next();
        assert_eq!(first, Some("edition"));
        let stage = guide.top().below("stages", nothing).and_then(Guided::entry).expect("a stage");
        let bridge: Tags<'_> = &|key| (key == "topology").then(|| "three_phase_bridge".to_owned());
        let keys = stage.keys(bridge).into_iter().map(|(key, _)| key).collect::<Vec<_>>();
        assert_eq!(keys[..3], ["topology", "dc_bus", "feeds"]);
        let carrier = stage.below("carrier", bridge).expect("a carrier");
        assert!(carrier.help().starts_with("The carrier"), "{}", carrier.help());
        let frequency = carrier.below("frequency", nothing).expect("its frequency");
        assert_eq!(frequency.quantity(), Some(QuantityKind::Plain(Dimension::Frequency)));
        assert_eq!(stage.below("modulation", bridge).map(|below| below.words().len()), Some(3));
        assert!(stage.below("colour", bridge).is_none());
    }

    #[test]
    fn a_kind_decides_the_keys() {
        let guide = Guide::new(&[]);
        let nothing: Tags<'_> = &|_| None;
        let device = guide.top().below("devices", nothing).and_then(Guided::entry);
        let transistor = device.and_then(|device| device.below("transistor", nothing)).expect("a transistor");
        for (kind, key) in [("igbt", "on_state"), ("mosfet", "on_resistance")] {
            let keys = transistor.keys(&|tag| (tag == "kind").then(|| kind.to_owned()));
            assert!(keys.iter().any(|(own, _)| *own == key), "{kind}");
            assert!(transistor.kinds("kind").contains(&kind));
            assert!(!transistor.takes_numbers());
        }
    }
}
