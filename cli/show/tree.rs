//! How a figure comes about, as a tree: law, formula, numbers, and where each input stands.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

use loadworthy_checks::figure_text;
use loadworthy_source::Tree;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{CurveId, Derivation, FigureId, InputId, Origin, PartId};

use crate::described::Described;
use crate::solutions::{Found, is_rating};

use super::layout::{WIDTH, cut, free_text, hanging, wrapped};
use super::places;
use loadworthy_checks::corner;

/// Steps inside one another that can be shown: deeper ones leave no room for text.
const DEEPEST: usize = 16;
/// Terms of a sum that are shown one by one.
const MOST_TERMS: usize = 24;

/// The tree of a figure in one lane, so many steps deep; `chosen_from` is how many lanes it was chosen from.
pub(crate) fn tree(
    described: &Described,
    found: Found<'_, '_>,
    derivation: &Derivation,
    chosen_from: usize,
    depth: usize,
) -> String {
    let depth = depth.min(DEEPEST);
    let variant = found.solved.variant;
    let lane = variant.lane(found.lane);
    let mut place = format!("in {}", variant.duty_of(found.lane).name);
    if let Some(name) = &variant.name {
        place.push_str(&format!(", variant {name}"));
    }
    if let Some(corner) = corner::long(lane) {
        place.push_str(&format!("; {corner}"));
    }
    if chosen_from > 1 {
        let which = if is_rating(&found) { "smallest" } else { "largest" };
        place.push_str(&format!(
            "\nwhere it is {which} of {chosen_from}; `--duty`, `--variant` choose another"
        ));
    }
    let mut drawn = Drawn {
        tree: &described.tree,
        found,
        derivation,
        places: nearest_places(found.figure, derivation, depth),
        told: BTreeSet::new(),
        path: Vec::new(),
        is_cut: false,
        text: String::new(),
    };
    let path = variant.tables.figure_path(found.figure);
    drawn.text.push_str(&hanging(&cut(&path, 2 * WIDTH), 2, &format!("= {}", drawn.number(found.figure))));
    drawn.text.push_str(&format!("{}\n", wrapped(&place, WIDTH).join("\n")));
    drawn.law(found.figure, "");
    drawn.operands(found.figure, "", variant.tables.figure_of(found.figure).part);
    if drawn.is_cut {
        let text =
            "has steps of its own: a greater `--depth` shows them, or `loadworthy derive` of that figure";
        drawn.text.push_str(&hanging("…", 2, text));
    }
    drawn.text
}

/// For each figure that the tree reaches, the figure below which its own steps are drawn: the one nearest to the root, so
/// that what matters most is not buried where it was met by chance.
fn nearest_places(root: FigureId, derivation: &Derivation, depth: usize) -> BTreeMap<FigureId, FigureId> {
    let mut places = BTreeMap::from([(root, root)]);
    let mut open = VecDeque::from([(root, 0)]);
    while let Some((id, level)) = open.pop_front() {
        let Some(step) = derivation.steps.of(id).filter(|_| level < depth) else { continue };
        for operand in step.from.iter().take(MOST_TERMS) {
            if let Operand::Figure(next) = *operand
                && let Entry::Vacant(place) = places.entry(next)
            {
                place.insert(id);
                open.push_back((next, level + 1));
            }
        }
    }
    places
}

struct Drawn<'a> {
    tree: &'a Tree,
    found: Found<'a, 'a>,
    derivation: &'a Derivation,
    /// For each figure: the one below which its steps are drawn.
    places: BTreeMap<FigureId, FigureId>,
    /// Names of the laws whose validity and source were told already.
    told: BTreeSet<&'static str>,
    /// Figures from the root to the one that is drawn.
    path: Vec<FigureId>,
    /// Whether steps were left out.
    is_cut: bool,
    text: String,
}

impl Drawn<'_> {
    fn number(&self, id: FigureId) -> String {
        let dimension = self.found.solved.variant.tables.figure_of(id).dimension;
        match self.derivation.figures.get(id.index()) {
            Some(value) if value.is_finite() => figure_text::value(*value, dimension),
            _ => "not solved".to_owned(),
        }
    }

    /// The law of a figure, below its name.
    fn law(&mut self, id: FigureId, prefix: &str) {
        let Some(step) = self.derivation.steps.of(id) else { return };
        let law = step.law;
        let bar = if step.from.is_empty() { "  " } else { "│ " };
        let mut lines = vec![format!("{}: {}", law.name, law.formula)];
        // What holds always and by definition needs no telling.
        let is_plain = law.always_holds() && law.source == "definition";
        if self.told.insert(law.name) && !is_plain {
            lines.push(format!("valid: {}; source: {}", law.validity, law.source));
        }
        if let Some((members, residual)) = self.together(id) {
            lines.push(format!(
                "solved together with {} others, residual {residual:.1e} K",
                members.saturating_sub(1)
            ));
        }
        for line in lines {
            self.write(&format!("{prefix}{bar}"), &format!("{prefix}{bar}  "), &line);
        }
    }

    fn together(&self, id: FigureId) -> Option<(usize, f64)> {
        let (members, residual) =
            self.derivation.steps.together.iter().find(|(members, _)| members.contains(&id))?;
        // Told of the first member that is met.
        let is_first = !self.path.iter().any(|above| members.contains(above));
        is_first.then_some((members.len(), *residual))
    }

    /// What a figure followed from, a branch for each.
    fn operands(&mut self, id: FigureId, prefix: &str, part: PartId) {
        let derivation = self.derivation;
        let Some(step) = derivation.steps.of(id) else { return };
        self.path.push(id);
        let mut from: Vec<Operand> = Vec::new();
        for operand in &step.from {
            if !from.contains(operand) {
                from.push(*operand);
            }
        }
        let count = from.len();
        for (place, operand) in from.into_iter().take(MOST_TERMS).enumerate() {
            let last = place + 1 == count;
            let (branch, below) = if last { ("└ ", "  ") } else { ("├ ", "│ ") };
            let (branch, below) = (format!("{prefix}{branch}"), format!("{prefix}{below}"));
            match operand {
                Operand::Figure(id) => self.figure(id, &branch, &below, part),
                Operand::Input(id) => self.input(id, &branch, &below),
                Operand::Curve(id) => self.curve(id, &branch, &below),
            }
        }
        if count > MOST_TERMS {
            self.write(
                &format!("{prefix}└ "),
                &format!("{prefix}  "),
                &format!("… and {} more", count - MOST_TERMS),
            );
        }
        self.path.pop();
    }

    fn figure(&mut self, id: FigureId, branch: &str, below: &str, part: PartId) {
        let tables = &self.found.solved.variant.tables;
        let figure = tables.figure_of(id);
        let name = if figure.part == part { figure.name.to_owned() } else { tables.figure_path(id) };
        let mut line = format!("{name} = {}", self.number(id));
        let own = figure.part;
        let is_above = self.path.contains(&id);
        let place = self.places.get(&id);
        let is_here = !is_above && place == self.path.last();
        let has_steps = self.derivation.steps.of(id).is_some();
        let is_cut = place.is_none() && has_steps;
        if is_above {
            line.push_str("   (above: solved together)");
        } else if is_cut {
            line.push_str("   …");
            self.is_cut = true;
        } else if !is_here && has_steps {
            line.push_str("   (elsewhere in this tree)");
        }
        self.write(branch, &format!("{below}  "), &line);
        if is_here {
            self.law(id, below);
            self.operands(id, below, own);
        }
    }

    fn input(&mut self, id: InputId, branch: &str, below: &str) {
        let solved = self.found.solved;
        let tables = &solved.variant.tables;
        let path = tables.input_path(id, &solved.variant.duty_of(self.found.lane).name);
        let value = solved.input(id, self.found.lane);
        let origin = tables.stated(id, solved.variant.lane(self.found.lane).duty).origin;
        let number = match (self.word(origin), value) {
            (Some(word), _) => format!(" = {word}"),
            (None, Some(value)) => format!(" = {}", figure_text::value(value, tables.input_of(id).dimension)),
            (None, None) => String::new(),
        };
        let line = format!("{path}{number}   {}", self.origin(origin));
        self.write(branch, &format!("{below}  "), &line);
    }

    fn curve(&mut self, id: CurveId, branch: &str, below: &str) {
        let curve = self.found.solved.variant.tables.curve_of(id);
        let line = format!("{}   {}", curve.path, self.origin(curve.origin));
        self.write(branch, &format!("{below}  "), &line);
    }

    /// What is written, where that is a word for a number, such as the name of a modulation.
    fn word(&self, origin: Origin) -> Option<String> {
        let node = origin.is_written().then(|| origin.node())??;
        let text = self.tree.scalar(node)?.text;
        text.chars().all(|c| c.is_ascii_alphabetic() || c == '_').then(|| cut(text, 40))
    }

    fn origin(&self, origin: Origin) -> String {
        let place = |node| places::in_short(self.tree, node);
        match origin {
            Origin::Written(at) => place(at),
            Origin::Patched { at, replaced } => {
                let was = free_text(self.tree.text_of(self.tree.span(replaced)));
                format!("{}, instead of `{}`", place(at), cut(&was, 40))
            }
            Origin::Assumed { assumption, .. } => format!("assumed: {}", assumption.why),
            Origin::Absent { near: Some(near) } => format!("not stated, near {}", place(near)),
            Origin::Absent { near: None } => "not stated".to_owned(),
            Origin::Broken(at) => format!("broken, {}", place(at)),
        }
    }

    /// Writes a text behind one prefix, and behind another where it is wrapped.
    fn write(&mut self, first: &str, other: &str, line: &str) {
        let room = WIDTH.saturating_sub(other.chars().count()).max(24);
        for (place, line) in wrapped(&cut(line, 600), room).iter().enumerate() {
            let prefix = if place == 0 { first } else { other };
            self.text.push_str(format!("{prefix}{line}").trim_end());
            self.text.push('\n');
        }
    }
}
