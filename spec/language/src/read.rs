//! From text to typed descriptions: parts, patches, problems.

use std::collections::HashMap;
use std::sync::Arc;

use loadworthy_source::{Content, Entry, NodeId, Problem, Span, Tree};
use serde::de::DeserializeOwned;

use crate::document::{Description, Section, SectionEntry, SectionPart};
use crate::ledger::{Ledger, ProblemId};
use crate::overrides;
use crate::parts::{self, Files};
use crate::policy::PolicyItem;
use crate::quantity::shown;
use crate::rules::{self, Rules, Scope};
use crate::sections::{buses, cooling, devices, duty, header, machines, policy, sources, stages};
use crate::variants::{self, Plan};
use crate::walk::{Shapes, Subject, Walker, check_name};
use crate::{references, schema};

/// What is to be read.
#[derive(Debug, Clone)]
pub struct Input<'i> {
    /// The name of the file as it is shown.
    pub name: &'i str,
    /// Its bytes.
    pub bytes: &'i [u8],
    /// Changes tried without editing the file: the path of a value, and its text.
    pub overrides: &'i [(String, String)],
    /// The names that the `policy` section knows.
    pub vocabulary: &'i [&'i PolicyItem],
}

/// What was read.
#[derive(Debug)]
pub struct Reading {
    /// Every file, with the place of every value.
    pub tree: Tree,
    /// Every problem, by place.
    pub problems: Vec<Problem>,
    /// One description for each variant that could be read; one without a name where there are no variants.
    pub variants: Vec<VariantReading>,
}

/// One variant of a description.
#[derive(Debug, Clone)]
pub struct VariantReading {
    /// Its name.
    pub name: Option<String>,
    /// Where it is named.
    pub key: Option<NodeId>,
    /// What it says.
    pub description: Description,
}

/// Reads a description with its parts files and variants, and finds every problem in them.
pub fn read(input: Input<'_>, files: &mut dyn Files) -> Reading {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let Some(root) = tree.read(input.name, input.bytes, &mut problems) else {
        return Reading { tree, problems, variants: Vec::new() };
    };
    let shapes = Shapes::compile(&schema::walked(input.vocabulary));
    let mut ledger = Ledger::default();
    let root = parts::join(&mut tree, root, input.name, &shapes, files, &mut ledger, &mut problems);
    let mut plan = variants::plan(&mut tree, root, &mut ledger, &mut problems);
    for (path, value) in input.overrides {
        let roots =
            std::iter::once(&mut plan.base).chain(plan.variants.iter_mut().map(|variant| &mut variant.root));
        for root in roots {
            match overrides::lay(&mut tree, *root, path, value, &mut problems) {
                Some(changed) => *root = changed,
                None => break,
            }
        }
    }
    ledger.common_done();
    let (variants, ledger) = descriptions(&tree, &shapes, ledger, &plan);
    let names = plan.variants.iter().filter_map(|variant| variant.name.as_deref()).collect::<Vec<_>>();
    problems.extend(ledger.finish(&names, &tree));
    problems.sort_by_key(|problem| problem.at);
    Reading { tree, problems, variants }
}

/// Reads every planned variant, and the description without any patch to know what the patches are to blame for.
fn descriptions(tree: &Tree, shapes: &Shapes, ledger: Ledger, plan: &Plan) -> (Vec<VariantReading>, Ledger) {
    let patched = plan.variants.iter().all(|variant| variant.name.is_some());
    let mut reader = Reader { tree, shapes, ledger, patches: plan.patches, share: patched };
    let mut memo = Memo::default();
    if patched {
        reader.description(plan.base, &mut memo);
        reader.ledger.base_done();
    }
    let mut variants = Vec::new();
    for (number, variant) in plan.variants.iter().enumerate() {
        let description = reader.description(variant.root, &mut memo);
        reader.ledger.variant_done(number);
        let (name, key) = (variant.name.clone(), variant.key);
        variants.push(VariantReading { name, key, description });
    }
    (variants, reader.ledger)
}

struct Reader<'t> {
    tree: &'t Tree,
    shapes: &'t Shapes,
    ledger: Ledger,
    patches: Option<Span>,
    /// Whether anything will be read again, so that remembering pays.
    share: bool,
}

/// Unknown keys of a description for which the section that was meant is sought.
const MOST_GUESSED: usize = 20;

/// What is known of sections already, by node: variants share what they do not change.
#[derive(Default)]
struct Memo {
    header: PartMemo<header::Header>,
    surroundings: PartMemo<header::Surroundings>,
    sources: SectionMemo<sources::Source>,
    buses: SectionMemo<buses::Bus>,
    stages: SectionMemo<stages::Stage>,
    devices: SectionMemo<devices::Device>,
    machines: SectionMemo<machines::Machine>,
    loads: SectionMemo<machines::Load>,
    cooling: PartMemo<cooling::Cooling>,
    duty: SectionMemo<duty::DutyPoint>,
    policy: SectionMemo<policy::PolicyEntry>,
    permits: PartMemo<policy::Permit>,
}

type PartMemo<T> = HashMap<NodeId, (Vec<ProblemId>, Option<Arc<T>>)>;

struct SectionMemo<T> {
    sections: HashMap<NodeId, (Vec<ProblemId>, Section<T>)>,
    entries: PartMemo<T>,
}

impl<T> Default for SectionMemo<T> {
    fn default() -> Self {
        Self { sections: HashMap::new(), entries: HashMap::new() }
    }
}

impl Reader<'_> {
    fn description(&mut self, root: NodeId, memo: &mut Memo) -> Description {
        let mut description = Description::default();
        let tree = self.tree;
        let mut edition_named = false;
        // A description of many strange keys is no description; what they were meant to be is asked for the first few.
        let mut strange = 0;
        for &entry in tree.entries(root) {
            let key = tree.key_text(entry.key);
            match key {
                "edition" => {
                    edition_named = true;
                    let whole = self.part::<u32>(key, entry, &mut HashMap::new(), |_, _| {});
                    let at = entry.value;
                    description.edition = whole.read().map(|&value| loadworthy_source::Located { value, at });
                }
                "unit" => description.header = self.ruled(key, entry, &mut memo.header),
                "surroundings" => description.surroundings = self.ruled(key, entry, &mut memo.surroundings),
                "sources" => description.sources = self.section(key, entry, &mut memo.sources),
                "buses" => description.buses = self.section(key, entry, &mut memo.buses),
                "stages" => description.stages = self.section(key, entry, &mut memo.stages),
                "devices" => description.devices = self.section(key, entry, &mut memo.devices),
                "machines" => description.machines = self.section(key, entry, &mut memo.machines),
                "loads" => description.loads = self.section(key, entry, &mut memo.loads),
                "cooling" => description.cooling = self.ruled(key, entry, &mut memo.cooling),
                "duty" => description.duty = self.section(key, entry, &mut memo.duty),
                "policy" => description.policy = self.section(key, entry, &mut memo.policy),
                "permits" => description.permits = self.permits(entry, &mut memo.permits),
                // Read before any description was planned.
                "parts" | "variants" => {}
                _ => {
                    strange += 1;
                    self.unknown_section(root, entry);
                    if strange <= MOST_GUESSED
                        && let Some(meant) = self.meant_section(root, key)
                    {
                        edition_named |= meant == "edition";
                        misspelt(&mut description, meant, entry.value);
                    }
                }
            }
        }
        if !edition_named {
            self.no_edition(root);
        }
        references::check(tree, &mut description, &mut self.ledger);
        let mut scope = Scope { tree, ledger: &mut self.ledger, patches: self.patches };
        rules::between_entries(&mut description, &mut scope);
        description
    }

    fn section<T: DeserializeOwned + Rules>(
        &mut self,
        key: &str,
        section: Entry,
        memo: &mut SectionMemo<T>,
    ) -> Section<T> {
        if let Some((problems, known)) = memo.sections.get(&section.value) {
            self.ledger.again(problems);
            return known.clone();
        }
        let mark = self.ledger.mark();
        let read = match self.tree.content(section.value) {
            Content::Map(entries) => {
                let entries = entries.iter().map(|entry| self.entry(key, *entry, &mut memo.entries));
                Section::of(section.value, entries.collect())
            }
            _ => {
                // Not a map: the walker says so.
                if let Some(shape) = self.shapes.top(key) {
                    self.walker().value(shape, section.value, Subject::under(section.key));
                }
                Section::broken(section.value)
            }
        };
        if self.share {
            memo.sections.insert(section.value, (self.ledger.since(mark).to_vec(), read.clone()));
        }
        read
    }

    fn entry<T: DeserializeOwned + Rules>(
        &mut self,
        section: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
    ) -> (String, SectionEntry<T>) {
        let name = self.tree.key_text(entry.key);
        let shape = match self.shapes.each(section) {
            // What stands under a name that is none may be anything.
            Some(shape) => check_name(self.tree, entry.key, &mut self.ledger).then_some(shape),
            None => {
                let shape = self.shapes.member(section, name);
                if shape.is_none() {
                    self.unknown_member(section, entry);
                }
                shape
            }
        };
        let read = shape.and_then(|shape| {
            self.remembered(entry, memo, |reader| {
                reader.walker().value(shape, entry.value, Subject::under(entry.key));
            })
        });
        (name.to_owned(), SectionEntry { key: entry.key, value: entry.value, read })
    }

    /// A section that is read as a whole and has rules.
    fn ruled<T: DeserializeOwned + Rules>(
        &mut self,
        key: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
    ) -> SectionPart<T> {
        self.part(key, entry, memo, |value, scope| value.check(scope))
    }

    fn permits(
        &mut self,
        section: Entry,
        memo: &mut PartMemo<policy::Permit>,
    ) -> Vec<SectionPart<policy::Permit>> {
        let (Content::List(items @ [_, ..]), Some(shape)) =
            (self.tree.content(section.value), self.shapes.each("permits"))
        else {
            if let Some(shape) = self.shapes.top("permits") {
                self.walker().value(shape, section.value, Subject::under(section.key));
            }
            return Vec::new();
        };
        let one = |(place, &item): (usize, &NodeId)| {
            let entry = Entry { key: section.key, value: item };
            let read = self.remembered(entry, memo, |reader| {
                reader.walker().value(shape, item, Subject::under(section.key).item(place));
            });
            match read {
                Some(value) => SectionPart::Read { at: item, value },
                None => SectionPart::Void { at: item },
            }
        };
        items.iter().enumerate().map(one).collect()
    }

    fn part<T: DeserializeOwned>(
        &mut self,
        key: &str,
        entry: Entry,
        memo: &mut PartMemo<T>,
        rules: impl FnOnce(&T, &mut Scope<'_>),
    ) -> SectionPart<T> {
        let shape = self.shapes.top(key);
        let walk = |reader: &mut Self| {
            if let Some(shape) = shape {
                reader.walker().value(shape, entry.value, Subject::under(entry.key));
            }
        };
        match self.once(entry, memo, walk, rules) {
            Some(value) => SectionPart::Read { at: entry.value, value },
            None => SectionPart::Void { at: entry.value },
        }
    }

    fn remembered<T: DeserializeOwned + Rules>(
        &mut self,
        entry: Entry,
        memo: &mut PartMemo<T>,
        walk: impl FnOnce(&mut Self),
    ) -> Option<Arc<T>> {
        self.once(entry, memo, walk, |value, scope| value.check(scope))
    }

    /// Walks, reads and checks a value, unless an earlier variant had the same.
    fn once<T: DeserializeOwned>(
        &mut self,
        entry: Entry,
        memo: &mut PartMemo<T>,
        walk: impl FnOnce(&mut Self),
        rules: impl FnOnce(&T, &mut Scope<'_>),
    ) -> Option<Arc<T>> {
        if let Some((problems, known)) = memo.get(&entry.value) {
            self.ledger.again(problems);
            return known.clone();
        }
        let mark = self.ledger.mark();
        walk(self);
        let mut read = None;
        if self.ledger.since(mark).is_empty() {
            match self.tree.deserialize::<T>(entry.value) {
                Ok(value) => {
                    let mut scope =
                        Scope { tree: self.tree, ledger: &mut self.ledger, patches: self.patches };
                    rules(&value, &mut scope);
                    read = self.ledger.since(mark).is_empty().then(|| Arc::new(value));
                }
                // The walker let through what the type refuses; the text is still not read.
                Err(problem) => {
                    self.ledger.note(problem.kind, problem.at, "", || problem);
                }
            }
        }
        if self.share {
            memo.insert(entry.value, (self.ledger.since(mark).to_vec(), read.clone()));
        }
        read
    }

    fn walker(&mut self) -> Walker<'_> {
        Walker { tree: self.tree, shapes: self.shapes, ledger: &mut self.ledger }
    }

    /// The section that an unknown key was probably meant to be, if that is not there.
    fn meant_section(&self, root: NodeId, key: &str) -> Option<&str> {
        parts::nearest_section(key, self.shapes).filter(|meant| self.tree.entry(root, meant).is_none())
    }

    fn unknown_section(&mut self, root: NodeId, entry: Entry) {
        let (tree, shapes) = (self.tree, self.shapes);
        let at = tree.span(entry.key);
        let key = tree.key_text(entry.key);
        let absent = |meant: &&str| tree.entry(root, meant).is_none();
        self.ledger.note("unknown-key", at, "", || {
            let problem = Problem::new(
                "unknown-key",
                at,
                format!("a description has no key {}", shown(key)),
                "not a section",
            );
            match parts::nearest_section(key, shapes).filter(absent) {
                Some(meant) => problem.with_way_out(format!("write `{meant}`")),
                None => {
                    let known = shapes.top_keys().map(|key| format!("`{key}`")).collect::<Vec<_>>();
                    problem.with_way_out(format!("sections: {}", known.join(", ")))
                }
            }
        });
    }

    fn unknown_member(&mut self, section: &str, entry: Entry) {
        let at = self.tree.span(entry.key);
        let key = self.tree.key_text(entry.key);
        let known = self.shapes.member_names(section);
        self.ledger.note("unknown-key", at, "", || {
            let message = format!("`{section}` has no item {}", shown(key));
            let problem = Problem::new("unknown-key", at, message, "no check uses this item");
            match loadworthy_source::nearest(key, known.iter().copied()) {
                Some(near) => problem.with_way_out(format!("write `{near}`")),
                None if known.is_empty() => problem,
                None => problem.with_way_out(format!("items: `{}`", known.join("`, `"))),
            }
        });
    }

    fn no_edition(&mut self, root: NodeId) {
        let first = self.tree.entries(root).first().map_or(root, |entry| entry.key);
        let at = self.tree.span(first);
        self.ledger.note("missing-key", at, "edition", || {
            let newest = crate::defaults::EDITIONS.last().copied().unwrap_or_default();
            Problem::new("missing-key", at, "the description lacks `edition`", "`edition` stands before this")
                .with_way_out(format!("write `edition: {newest}` at the top"))
        });
    }
}

/// A section whose name is misspelt is there and broken: what refers to its entries is no problem of its own.
fn misspelt(description: &mut Description, meant: &str, at: NodeId) {
    match meant {
        "sources" => description.sources = Section::broken(at),
        "buses" => description.buses = Section::broken(at),
        "stages" => description.stages = Section::broken(at),
        "devices" => description.devices = Section::broken(at),
        "machines" => description.machines = Section::broken(at),
        "loads" => description.loads = Section::broken(at),
        "cooling" => description.cooling = SectionPart::Void { at },
        "duty" => description.duty = Section::broken(at),
        "policy" => description.policy = Section::broken(at),
        _ => {}
    }
}
