//! Where a description names legs of a stage: whoever changes how many there are changes that as well.

use std::collections::BTreeSet;

use loadworthy_source::{Content, NodeId, Tree};

/// One place that names legs of a stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LegNames {
    /// The stage.
    pub stage: String,
    /// The list that names all of them, where it is one; else they are named one by one.
    pub all: Option<LegList>,
}

/// A list that names all legs, such as the sensors of their currents.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LegList {
    /// Its path.
    pub path: String,
    /// What is before the number of a leg.
    before: String,
    /// How many legs it names.
    pub count: usize,
    /// What else it names, in front of the legs.
    others: Vec<String>,
}

impl LegList {
    /// The list for another number of legs.
    #[must_use]
    pub fn written(&self, legs: usize) -> String {
        let legs = (1..=legs).map(|leg| format!("{}{leg}", self.before));
        let all: Vec<String> = self.others.iter().cloned().chain(legs).collect();
        format!("[{}]", all.join(", "))
    }
}

/// Everything that names legs.
pub(super) fn named(tree: &Tree, root: Option<NodeId>) -> Vec<LegNames> {
    let Some(stages) = root.and_then(|root| tree.value_at(root, &["stages"])) else { return Vec::new() };
    let stages = tree.entries(stages).iter().map(|entry| tree.key_text(entry.key)).collect();
    let mut walk = Walk { tree, stages, seen: BTreeSet::new(), found: Vec::new() };
    for entry in root.map_or(&[][..], |root| tree.entries(root)) {
        // What a variant changes stands in its description; a permit changes nothing.
        let key = tree.key_text(entry.key);
        if !matches!(key, "variants" | "permits") {
            walk.value(entry.value, &mut vec![key]);
        }
    }
    walk.found
}

struct Walk<'t> {
    tree: &'t Tree,
    stages: BTreeSet<&'t str>,
    seen: BTreeSet<NodeId>,
    found: Vec<LegNames>,
}

impl<'t> Walk<'t> {
    /// Each node once, however often it is named.
    fn value(&mut self, node: NodeId, path: &mut Vec<&'t str>) {
        if !self.seen.insert(self.tree.target(node)) {
            return;
        }
        match self.tree.content(node) {
            Content::Scalar(scalar) => self.text(scalar.text),
            Content::List(items) => self.list(items, path),
            Content::Map(entries) => {
                for entry in entries {
                    let key = self.tree.key_text(entry.key);
                    self.text(key);
                    path.push(key);
                    self.value(entry.value, path);
                    path.pop();
                }
            }
        }
    }

    fn list(&mut self, items: &[NodeId], path: &mut Vec<&'t str>) {
        let texts = items.iter().map(|&item| self.tree.scalar(item).map(|scalar| scalar.text));
        match texts.collect::<Option<Vec<&str>>>().and_then(|texts| self.all_legs(&texts, path)) {
            Some(names) => self.found.push(names),
            None => items.iter().for_each(|&item| self.value(item, path)),
        }
    }

    /// A list that names the legs of one stage from the first on, each once.
    fn all_legs(&self, texts: &[&str], path: &[&str]) -> Option<LegNames> {
        let is_leg = |text: &&&str| self.leg(text).is_some();
        let (legs, others): (Vec<&str>, Vec<&str>) = texts.iter().partition(|text| is_leg(text));
        let (stage, before, _) = self.leg(legs.first()?)?;
        let mut numbers = BTreeSet::new();
        for leg in &legs {
            let (_, own, number) = self.leg(leg)?;
            if own != before || !numbers.insert(number) {
                return None;
            }
        }
        let is_whole = numbers.iter().copied().eq(1..=legs.len());
        let list = LegList {
            path: path.join("."),
            before: before.to_owned(),
            count: legs.len(),
            others: others.into_iter().map(str::to_owned).collect(),
        };
        is_whole.then(|| LegNames { stage: stage.to_owned(), all: Some(list) })
    }

    fn text(&mut self, text: &str) {
        let steps = text.split_once('.').filter(|(stage, _)| self.stages.contains(stage));
        if let Some((stage, rest)) = steps
            && rest.split('.').any(|step| step.parse::<usize>().is_ok())
        {
            self.found.push(LegNames { stage: stage.to_owned(), all: None });
        }
    }

    /// The stage, what is before the number, and the number, of a name that ends with the number of a leg.
    fn leg<'n>(&self, text: &'n str) -> Option<(&'n str, &'n str, usize)> {
        let (stage, _) = text.split_once('.').filter(|(stage, _)| self.stages.contains(stage))?;
        let number = text.rsplit('.').next()?;
        Some((stage, &text[..text.len() - number.len()], number.parse().ok()?))
    }
}
