//! What may be sized in a description: one choice for all values that must be the same.

use loadworthy_checks::size::{Kind, Ladder, Offered, Sizable, Unsizable, of_variant};
use loadworthy_unit::stock::Stock;
use loadworthy_unit::{Dimension, DutyId, NodeId};

use crate::described::{Described, Roots};

use super::place::Writing;

/// Sizes that are set together.
pub(crate) struct Choice {
    /// In each variant that has it.
    own: Vec<Own>,
    /// Paths in the description of what is set.
    pub(crate) paths: Vec<String>,
    /// Where the described value stands, where it does.
    pub(crate) stands: Option<NodeId>,
}

/// A choice as one variant has it.
struct Own {
    sizable: Sizable,
    /// Every path of it, as the variant and as the description knows it.
    paths: Vec<(String, String)>,
}

/// All choices of a description, and what may not be sized.
pub(super) fn all(
    (described, roots): (&Described, &Roots),
    writing: &Writing<'_>,
    with: &[&str],
) -> (Vec<Choice>, Vec<Unsizable>) {
    let mut choices: Vec<Choice> = Vec::new();
    let mut fixed: Vec<Unsizable> = Vec::new();
    let mut locked: Vec<String> = Vec::new();
    for (place, variant) in described.unit.variants.iter().enumerate() {
        let stock = Stock::of(&described.tree, roots.variants.get(place).copied());
        let (sizable, unsizable) = of_variant(variant, &stock);
        for one in unsizable {
            locked.extend(one.paths.iter().map(|path| writing.path(place, path)));
            note(&mut fixed, one);
        }
        for sizable in sizable {
            let set = sizable.all_paths().find(|path| is_set(path, with)).cloned();
            if let Some(path) = set {
                locked.push(writing.path(place, &path));
                let why = "is set by --with";
                let Sizable { kind, part, what, .. } = sizable;
                note(&mut fixed, Unsizable { kind, part, what, paths: Vec::new(), why });
                continue;
            }
            let first =
                sizable.inputs.first().map(|&input| variant.tables.stated(input, DutyId::new(0)).origin);
            let own: Vec<String> = sizable.paths.iter().map(|path| writing.path(place, path)).collect();
            let named = || writing.node(own.first()?).filter(|_| sizable.offered.is_some());
            let stands = first.filter(|origin| origin.is_written()).and_then(|origin| origin.node());
            let stands = stands.or_else(named);
            let paths = sizable.all_paths().map(|path| (path.clone(), writing.path(place, path))).collect();
            join(&mut choices, Choice { own: vec![Own { sizable, paths }], paths: own, stands });
        }
    }
    choices.retain(|choice| {
        let is_free = !choice.paths.iter().any(|path| locked.contains(path));
        if !is_free && !fixed.iter().any(|one| one.kind == choice.kind() && one.part == choice.part()) {
            let (kind, part, what) = (choice.kind(), choice.part().to_owned(), choice.what().to_owned());
            let why = "is not free in another variant that shares it";
            fixed.push(Unsizable { kind, part, what, paths: Vec::new(), why });
        }
        is_free
    });
    fixed.retain(|one| {
        let is_sized = choices.iter().any(|choice| choice.kind() == one.kind && choice.part() == one.part);
        one.kind != Kind::Sections || !is_sized && is_section(writing, one)
    });
    fixed.sort_by_key(|one| one.kind);
    (choices, fixed)
}

/// Whether a conductor is one that has a section.
fn is_section(writing: &Writing<'_>, one: &Unsizable) -> bool {
    let kind = writing.word(&["conductors", &one.part, "kind"]);
    kind.is_none_or(|kind| matches!(kind, "busbar" | "laminated_busbar" | "cable" | "foil"))
}

fn note(fixed: &mut Vec<Unsizable>, one: Unsizable) {
    let is_same = |known: &Unsizable| {
        (known.kind, &known.part, &known.what, known.why) == (one.kind, &one.part, &one.what, one.why)
    };
    if !fixed.iter().any(is_same) {
        fixed.push(one);
    }
}

/// Whether a path is set from outside, or an entry that holds it.
fn is_set(path: &str, with: &[&str]) -> bool {
    with.iter().any(|set| path.strip_prefix(set).is_some_and(|rest| rest.is_empty() || rest.starts_with('.')))
}

/// Adds a choice; those that share a value with it become one.
fn join(choices: &mut Vec<Choice>, new: Choice) {
    let is_shared = |known: &Choice| known.paths.iter().any(|path| new.paths.contains(path));
    let Some(first) = choices.iter().position(is_shared) else {
        choices.push(new);
        return;
    };
    let mut joined = choices.remove(first);
    for path in &new.paths {
        if !joined.paths.contains(path) {
            joined.paths.push(path.clone());
        }
    }
    joined.own.extend(new.own);
    while let Some(next) =
        choices.iter().position(|known| known.paths.iter().any(|path| joined.paths.contains(path)))
    {
        let other = choices.remove(next);
        joined
            .paths
            .extend(other.paths.into_iter().filter(|path| !joined.paths.contains(path)).collect::<Vec<_>>());
        joined.own.extend(other.own);
    }
    choices.insert(first.min(choices.len()), joined);
}

/// A part with what of it is sized.
pub(crate) fn named(part: &str, what: &str) -> String {
    if what.is_empty() || what == "flow" && part == "cooling" {
        part.to_owned()
    } else {
        format!("{part}, {what}")
    }
}

impl Choice {
    /// The variant that has the largest of what is described speaks for all.
    fn leading(&self) -> &Sizable {
        let larger = |one: &'_ Own, other: &'_ Own| one.sizable.described < other.sizable.described;
        let all = self.own.iter().skip(1);
        &all.fold(&self.own[0], |most, one| if larger(most, one) { one } else { most }).sizable
    }

    pub(crate) fn kind(&self) -> Kind {
        self.leading().kind
    }

    pub(crate) fn part(&self) -> &str {
        &self.leading().part
    }

    /// What of the part.
    pub(crate) fn what(&self) -> &str {
        &self.leading().what
    }

    /// The variant whose patch alone has it.
    pub(crate) fn variant(&self) -> Option<&str> {
        let mut names = self.paths.iter().map(|path| path.strip_prefix("variants.")?.split('.').next());
        let first = names.next()?;
        first.filter(|_| names.all(|name| name == first))
    }

    pub(crate) fn described(&self) -> f64 {
        self.leading().described
    }

    pub(crate) fn dimension(&self) -> Dimension {
        self.leading().dimension
    }

    /// The size at a place.
    pub(crate) fn size(&self, place: usize) -> f64 {
        self.leading().sizes[place]
    }

    /// The parts that are exchanged, where it is one of them that is chosen.
    pub(crate) fn offered(&self) -> Option<&Offered> {
        self.leading().offered.as_ref()
    }

    /// Parts that count as unmoved by it, for want of what would say how it moves them.
    pub(crate) fn unmoved(&self) -> &[String] {
        &self.leading().unmoved
    }

    /// The name of the part at a place, where it is one that is chosen.
    pub(crate) fn name(&self, place: usize) -> Option<&str> {
        self.offered()?.names.get(place).map(String::as_str)
    }

    /// The place of what is described.
    pub(crate) fn start(&self) -> usize {
        self.leading().start()
    }

    /// Whether other values follow from the size.
    pub(crate) fn has_followers(&self) -> bool {
        self.own.iter().any(|own| !own.sizable.followers.is_empty())
    }

    /// Whether the size at a place is what is described everywhere.
    pub(crate) fn is_described(&self, place: usize) -> bool {
        if let Some(name) = self.name(place) {
            let is_own =
                |offered: &Offered| offered.names.get(offered.described).map(String::as_str) == Some(name);
            return self.own.iter().all(|own| own.sizable.offered.as_ref().is_some_and(is_own));
        }
        let size = self.size(place);
        self.own.iter().all(|own| (size - own.sizable.described).abs() <= 1e-9 * size)
    }

    pub(super) fn ladder(&self) -> Ladder {
        let leading = self.leading();
        Ladder {
            kind: leading.kind,
            sizes: leading.sizes.len(),
            start: leading.start(),
            near: self.own.iter().flat_map(|own| own.sizable.near.iter().cloned()).collect(),
            values: leading.sizes.clone(),
            thickness: None,
        }
    }

    /// Whether it is the thickness of the section of which another is the width.
    pub(super) fn is_thickness_of(&self, wide: &Self) -> bool {
        let same = self.kind() == wide.kind() && self.part() == wide.part();
        same && self.kind() == Kind::Sections && (self.what(), wide.what()) == ("thickness", "width")
    }

    /// What is written for the size at a place, by path in the description.
    pub(super) fn settings(&self, place: usize) -> Vec<(String, String)> {
        if self.is_described(place) {
            return Vec::new();
        }
        let size = self.size(place);
        let of = |own: &Own| {
            let settings = match self.name(place) {
                Some(name) => own.sizable.exchanged(name),
                None => own.sizable.settings(size),
            };
            let placed = settings.into_iter().map(|(path, text)| {
                let known = own.paths.iter().find(|(from, _)| *from == path);
                (known.map_or(path, |(_, to)| to.clone()), text)
            });
            placed.collect::<Vec<_>>()
        };
        self.own.iter().flat_map(of).collect()
    }
}
