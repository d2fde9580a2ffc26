//! From text to typed descriptions: parts, patches, problems.

use loadworthy_source::{NodeId, Problem, Span, Tree};

use crate::document::Description;
use crate::ledger::Ledger;
use crate::meant;
use crate::misnamed;
use crate::misses;
use crate::overrides;
use crate::parts::{self, Files};
use crate::policy::PolicyItem;
use crate::reader::{Memo, Reader, Unsure};
use crate::strange_keys;
use crate::variants::{self, Plan};
use crate::walk::Shapes;

/// What is to be read.
#[derive(Debug, Clone)]
pub struct Input<'i> {
    /// The name of the file as it is shown.
    pub name: &'i str,
    /// Its bytes.
    pub bytes: &'i [u8],
    /// Values as if they stood in the file, by path: each in place of what stands there, that of a variant under
    /// `variants.NAME`.
    pub written: &'i [(String, String)],
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
    /// The description without any variant, parts joined and tried values laid over it; `None` where nothing could be
    /// read.
    pub base: Option<NodeId>,
    /// One description for each variant that could be read; one without a name where there are no variants.
    pub variants: Vec<VariantReading>,
    /// The same as it would be with words put right that were clearly meant for others; nothing where there are none.
    pub meant: Option<MeantReading>,
}

/// One variant of a description.
#[derive(Debug, Clone)]
pub struct VariantReading {
    /// Its name.
    pub name: Option<String>,
    /// Where it is named.
    pub key: Option<NodeId>,
    /// The description with its patch applied.
    pub root: NodeId,
    /// What it says.
    pub description: Description,
    /// Where it says something of which is not known what it changes, if it does: it is read as if that were not there.
    pub doubt: Option<NodeId>,
}

/// A description as it would be with every word put right that was clearly meant for another one.
#[derive(Debug)]
pub struct MeantReading {
    /// The description without any variant.
    pub base: NodeId,
    /// The same variants as those that were read.
    pub variants: Vec<VariantReading>,
    /// Where such words stand.
    pub places: Vec<Span>,
}

/// Reads a description with its parts files and variants, and finds every problem in them.
pub fn read(input: Input<'_>, files: &mut dyn Files) -> Reading {
    let mut tree = Tree::new();
    let mut problems = Vec::new();
    let Some(root) = tree.read(input.name, input.bytes, &mut problems) else {
        return Reading { tree, problems, base: None, variants: Vec::new(), meant: None };
    };
    let shapes = Shapes::of(input.vocabulary);
    let mut ledger = Ledger::default();
    let (root, lacks_parts) =
        parts::join(&mut tree, root, input.name, &shapes, files, &mut ledger, &mut problems);
    let root = written(&mut tree, root, input.written, &mut problems);
    let mut joined =
        Joined { tree, shapes: &shapes, overrides: input.overrides, lacks_parts, found: problems };
    let Planned { mut problems, base, mut variants } = joined.planned(root, ledger);
    let meant = meant::taken(&mut joined, root, &variants, &mut problems);
    joined.doubt(root, &mut variants, &problems);
    Reading { tree: joined.tree, problems, base: Some(base), variants, meant }
}

/// A description with its parts joined.
pub(crate) struct Joined<'i> {
    pub(crate) tree: Tree,
    shapes: &'i Shapes,
    overrides: &'i [(String, String)],
    lacks_parts: bool,
    /// Problems that were found in its files as such.
    found: Vec<Problem>,
}

/// A description of which the variants were planned and read.
pub(crate) struct Planned {
    pub(crate) problems: Vec<Problem>,
    pub(crate) base: NodeId,
    pub(crate) variants: Vec<VariantReading>,
}

impl Joined<'_> {
    /// Plans and reads every variant of a root.
    pub(crate) fn planned(&mut self, root: NodeId, mut ledger: Ledger) -> Planned {
        let tree = &mut self.tree;
        let mut problems = self.found.clone();
        let mut plan = variants::plan(tree, root, &mut ledger, &mut problems);
        for (path, value) in self.overrides {
            let roots = std::iter::once(&mut plan.base)
                .chain(plan.variants.iter_mut().map(|variant| &mut variant.root));
            for root in roots {
                match overrides::lay(tree, *root, (overrides::OVERRIDE, path), value, &mut problems) {
                    Some(changed) => *root = changed,
                    None => break,
                }
            }
        }
        ledger.common_done();
        let doubled = problems.iter().filter(|problem| problem.kind == "duplicate-key");
        let doubled = doubled.filter_map(|problem| Some(problem.also.first()?.0)).collect();
        let unsure = Unsure { lacks_parts: self.lacks_parts, doubled };
        let (variants, ledger) = descriptions(tree, self.shapes, ledger, &plan, unsure);
        let names = plan.variants.iter().filter_map(|variant| variant.name.as_deref()).collect::<Vec<_>>();
        problems.extend(ledger.finish(&names, tree));
        for variant in &variants {
            if let Some(name) = &variant.name {
                misses::unnamed(tree, root, (name, variant.root), &mut problems);
            }
        }
        misnamed::propose(tree, root, &mut problems);
        problems.sort_by_key(|problem| problem.at);
        Planned { problems, base: plan.base, variants }
    }

    /// Notes which variants say something of which is not known what it changes.
    pub(crate) fn doubt(&self, root: NodeId, variants: &mut [VariantReading], problems: &[Problem]) {
        for variant in variants {
            let name = variant.name.as_deref();
            variant.doubt =
                name.and_then(|name| misses::doubt(&self.tree, self.shapes, (root, name), problems));
        }
    }
}

/// Writes values into a description before its variants are planned.
fn written(
    tree: &mut Tree,
    root: NodeId,
    values: &[(String, String)],
    problems: &mut Vec<Problem>,
) -> NodeId {
    values.iter().fold(root, |root, (path, value)| {
        overrides::lay(tree, root, (overrides::WRITTEN, path), value, problems).unwrap_or(root)
    })
}

/// Reads every planned variant, and the description without any patch to know what the patches are to blame for.
fn descriptions(
    tree: &Tree,
    shapes: &Shapes,
    ledger: Ledger,
    plan: &Plan,
    unsure: Unsure,
) -> (Vec<VariantReading>, Ledger) {
    let patched = plan.variants.iter().all(|variant| variant.name.is_some());
    let mut reader = Reader {
        tree,
        shapes,
        ledger,
        patches: plan.patches,
        patched: strange_keys::patched(tree, plan.base),
        share: patched,
        unsure,
        gaps: Vec::new(),
        strays: Vec::new(),
    };
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
        variants.push(VariantReading { name, key, root: variant.root, description, doubt: None });
    }
    (variants, reader.ledger)
}
