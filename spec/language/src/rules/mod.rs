//! Rules that hold between keys, each with every place that it is about.

mod between_entries;
mod buses;
mod components;
mod cooling;
mod credible;
mod credible_between;
mod credible_flow;
mod credible_heat;
mod credible_parts;
mod credible_ratings;
mod curves;
mod demand;
mod devices;
mod duty;
mod gates_and_isolation;
mod machines;
mod magnetics;
mod missions;
mod permits;
mod sources;
mod stages;

use loadworthy_source::{NodeId, Problem, Span, Tree};

use crate::ledger::Ledger;
use crate::quantity::{Given, QuantityKind, Ratio, Readable};

pub(crate) use between_entries::check as between_entries;

/// What an entry must fulfil in itself.
pub(crate) trait Rules {
    /// Notes each rule that the entry breaks.
    fn check(&self, scope: &mut Scope<'_>);
}

/// Where rules look and write.
pub(crate) struct Scope<'t> {
    pub(crate) tree: &'t Tree,
    pub(crate) ledger: &'t mut Ledger,
    /// The `variants` section, to know a patched value by its place.
    pub(crate) patches: Option<Span>,
    /// The key of the entry that is looked at, which is marked where something lacks in it.
    pub(crate) entry: NodeId,
    /// Its value.
    pub(crate) value: NodeId,
}

/// A key and the value it has, as a conflict names it.
pub(super) type Stated = (&'static str, NodeId);

impl Scope<'_> {
    /// One value that may not be as it is.
    fn refuse(&mut self, at: NodeId, message: impl FnOnce() -> String, label: &str, way_out: Option<&str>) {
        let span = self.tree.span(at);
        self.ledger.note("bad-value", span, "", || {
            let problem = Problem::new("bad-value", span, message(), label);
            match way_out {
                Some(way_out) => problem.with_way_out(way_out),
                None => problem,
            }
        });
    }

    /// Two values of which only one may be stated.
    fn only_one(&mut self, first: Stated, second: Stated, why: &str) {
        let (tree, patches) = (self.tree, self.patches);
        let patched = |node: NodeId| {
            let span = tree.span(node);
            patches.is_some_and(|outer| {
                outer.file == span.file && outer.start <= span.start && span.end <= outer.end
            })
        };
        // The later place is marked; the earlier one stands beside it.
        let (first, second) =
            if tree.span(second.1) < tree.span(first.1) { (second, first) } else { (first, second) };
        let at = tree.span(second.1);
        self.ledger.note("conflict", at, first.0, || {
            let message = format!("`{}` stands beside `{}`: {why}", second.0, first.0);
            let tried = |node: NodeId| tree.file(tree.span(node).file).name == crate::overrides::OVERRIDE;
            let way_out = match (patched(first.1), patched(second.1)) {
                _ if tried(second.1) => format!("set `{}` to `null` as well", first.0),
                (false, true) => format!("set `{}: null` in the variant", first.0),
                (true, false) => format!("set `{}: null` in the variant", second.0),
                _ => format!("leave out `{}` or `{}`", first.0, second.0),
            };
            Problem::new("conflict", at, message, format!("`{}` is stated here", second.0))
                .with_also(tree.span(first.1), format!("`{}` is stated here", first.0))
                .with_way_out(way_out)
        });
    }

    /// Values that must not fall in the order given.
    fn not_falling<T: Readable + PartialOrd>(&mut self, stated: &[(&'static str, Option<Given<T>>)]) {
        let present =
            stated.iter().filter_map(|(key, given)| Some((*key, given.as_ref()?))).collect::<Vec<_>>();
        // Ends that were exchanged lie on the wrong side of what stands between them as well: that is one slip.
        let ends = [present.first(), present.last()];
        let exchanged = matches!(ends, [Some((_, first)), Some((_, last))] if last.value < first.value);
        let whole: Vec<_> = ends.into_iter().flatten().copied().collect();
        let pairs = if exchanged { &whole } else { &present };
        for pair in pairs.windows(2) {
            if let [(low, below), (high, above)] = pair
                && above.value < below.value
            {
                let (at, other) = (self.tree.span(above.at), self.tree.span(below.at));
                self.ledger.note("conflict", at, low, || {
                    let message = format!("`{high}` is below `{low}`");
                    Problem::new("conflict", at, message, format!("`{high}`"))
                        .with_also(other, format!("`{low}`"))
                        .with_way_out(format!("exchange them, or correct {}", T::KIND.expected()))
                });
            }
        }
    }

    /// A share of at most `most`; text such as `120 %` is read before anyone knows what it is a share of.
    fn share(&mut self, key: &'static str, given: Option<Given<Ratio>>, most: f64) {
        if let Some(given) = given
            && most < given.value.value()
        {
            let text = self_text(self.tree, given.at);
            let message = || format!("`{key}` expects at most {} %, found `{text}`", most * 100.0);
            self.refuse(given.at, message, "too large", None);
        }
    }

    /// A share above zero.
    fn share_above_zero(&mut self, key: &'static str, given: Option<Given<Ratio>>, most: f64) {
        self.share(key, given, most);
        self.above_zero(key, given, Ratio::value);
    }

    /// A value that must be more than nothing.
    fn above_zero<T: Readable + Copy>(&mut self, key: &str, given: Option<Given<T>>, si: impl Fn(T) -> f64) {
        if let Some(given) = given
            && si(given.value) <= 0.0
        {
            self.beyond_zero(key, given, "above zero", "not above zero");
        }
    }

    /// A value that may be nothing, and not less.
    fn not_below_zero<T: Readable + Copy>(
        &mut self,
        key: &str,
        given: Option<Given<T>>,
        si: impl Fn(T) -> f64,
    ) {
        if let Some(given) = given
            && si(given.value) < 0.0
        {
            self.beyond_zero(key, given, "of zero or more", "negative");
        }
    }

    fn beyond_zero<T: Readable + Copy>(&mut self, key: &str, given: Given<T>, what: &str, label: &str) {
        let expected = match T::KIND {
            QuantityKind::Plain(dimension) => dimension.with_article(),
            QuantityKind::Ratio => "a share",
            _ => "a value",
        };
        let said =
            || format!("`{key}` expects {expected} {what}, found `{}`", self_text(self.tree, given.at));
        self.refuse(given.at, said, label, None);
    }
}

fn self_text(tree: &Tree, node: NodeId) -> String {
    loadworthy_source::escape_text(tree.text_of(tree.span(node))).into_owned()
}
