//! Passages one after the other and beside each other, nested as deep as a loop is built.
//!
//! The arrangement is a tree written flat, children before their parent: an element counts as one, and a
//! `Series(n)` or `Parallel(n)` takes the last `n` that are complete and becomes one. The last entry is the
//! whole. Two plates in a row beside a third one:
//!
//! ```
//! use loadworthy_physics::hydraulics::{self, Drop, Node};
//! use loadworthy_physics::{Pressure, VolumeFlow};
//! let plate = Drop::from_point(VolumeFlow::new(1e-4), Pressure::new(10e3));
//! let tree = [
//!     Node::Element(plate),
//!     Node::Element(plate),
//!     Node::Series(2),
//!     Node::Element(plate),
//!     Node::Parallel(2),
//! ];
//! let mut flows = [VolumeFlow::ZERO; 5];
//! let pressure = hydraulics::distribute(&tree, VolumeFlow::new(2e-4), &mut flows);
//! assert!((flows[0] + flows[3] - VolumeFlow::new(2e-4)).si().abs() < 1e-16);
//! assert!((plate.pressure(flows[3]) - pressure).si().abs() < 1e-6);
//! ```

use super::{Drop, NETWORK, add_pairs, rising_root};
use crate::duct::Duct;
use crate::{Law, Pressure, VolumeFlow};

/// Law of [`flow_through`], [`pressure_across`] and [`distribute`].
pub static DISTRIBUTE: Law = Law {
    name: "flows in a network of passages",
    formula: "in a row Δp = Σ Δp_i(Q), side by side Q = Σ Q_i(Δp)",
    validity: "passages in rows and side by side, no bridges between branches; solved to rounding",
    source: NETWORK,
};

/// One entry of a tree of passages, written with the children before their parent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Node {
    /// A passage.
    Element(Drop),
    /// A passage of known bore and length, laminar or turbulent.
    Duct(Duct),
    /// The last so many complete parts, one after the other.
    Series(usize),
    /// The last so many complete parts, beside each other.
    Parallel(usize),
}

/// Searches are nested once for each change between rows and branches; beyond this many the nest is refused
/// rather than searched for minutes.
const DEEPEST: usize = 8;

/// Whether a flat tree is one whole: every parent has the children that it names, one part is left at the
/// end, rows and branches are nested at most eight deep, no passage misses a figure, and of parallel branches
/// at most one takes no pressure: between two of them nothing decides.
///
/// The solving functions give not a number where this is false.
pub fn check_tree(tree: &[Node]) -> bool {
    let Some(whole) = Part::whole(tree) else { return false };
    let known = |node: &Node| match node {
        Node::Element(drop) => drop.linear.si() + drop.square.si() >= 0.0,
        Node::Duct(duct) => duct.is_known(),
        Node::Series(_) | Node::Parallel(_) => true,
    };
    tree.iter().all(known) && !whole.deeper_than(DEEPEST) && whole.is_decided()
}

/// Flow through a tree of passages at a pressure, with its sign.
///
/// Not a number where [`check_tree`] is false. See [`DISTRIBUTE`].
pub fn flow_through(tree: &[Node], pressure: Pressure) -> VolumeFlow {
    let p = pressure.si();
    match Part::whole(tree) {
        Some(whole) if check_tree(tree) && p != 0.0 => VolumeFlow::new(whole.flow(p.abs()).0 * p.signum()),
        Some(_) if check_tree(tree) => VolumeFlow::ZERO,
        _ => VolumeFlow::new(f64::NAN),
    }
}

/// Pressure across a tree of passages at a flow, with its sign.
///
/// Not a number where [`check_tree`] is false. See [`DISTRIBUTE`].
pub fn pressure_across(tree: &[Node], flow: VolumeFlow) -> Pressure {
    let q = flow.si();
    match Part::whole(tree) {
        Some(whole) if check_tree(tree) && q != 0.0 => Pressure::new(whole.pressure(q.abs()).0 * q.signum()),
        Some(_) if check_tree(tree) => Pressure::ZERO,
        _ => Pressure::new(f64::NAN),
    }
}

/// Parts a total flow over a tree of passages; fills `flows` for every entry, parents included, and gives
/// the pressure across the whole.
///
/// `flows` must be as long as `tree`. All are not a number where [`check_tree`] is false, where the lengths
/// differ or the total is missing. See [`DISTRIBUTE`].
pub fn distribute(tree: &[Node], total: VolumeFlow, flows: &mut [VolumeFlow]) -> Pressure {
    if divide(tree, total, flows) { pressure_across(tree, total) } else { Pressure::new(f64::NAN) }
}

/// Fills `flows` as [`distribute`] does, where nobody asks for the pressure; says whether the tree and the total are known.
pub fn divide(tree: &[Node], total: VolumeFlow, flows: &mut [VolumeFlow]) -> bool {
    flows.fill(VolumeFlow::new(f64::NAN));
    if tree.len() != flows.len() || !total.si().is_finite() || !check_tree(tree) {
        return false;
    }
    let Some(root) = flows.last_mut() else { return false };
    *root = total;
    // From the whole down to its parts; a parent stands behind its children.
    for end in (0..tree.len()).rev() {
        let Some(part) = Part::ending_at(tree, end) else { continue };
        let Some(own) = flows.get(end).copied() else { continue };
        match part.node() {
            Node::Element(_) | Node::Duct(_) => {}
            Node::Series(_) => {
                for child in part.children() {
                    if let Some(flow) = flows.get_mut(child.end()) {
                        *flow = own;
                    }
                }
            }
            Node::Parallel(_) => {
                let q = own.si();
                let open = part.children().any(Part::is_open);
                let common = if q == 0.0 { 0.0 } else { part.pressure(q.abs()).0 };
                for child in part.children() {
                    if let Some(flow) = flows.get_mut(child.end()) {
                        let share = match common == 0.0 {
                            true if open && child.is_open() => q.abs(),
                            true => 0.0,
                            false => child.flow(common).0,
                        };
                        *flow = VolumeFlow::new(share * q.signum());
                    }
                }
            }
        }
    }
    true
}

/// A complete part of a tree: the entries `first ..= end` of it, the last of which is its parent.
#[derive(Clone, Copy)]
struct Part<'a> {
    tree: &'a [Node],
    first: usize,
    node: Node,
}

impl<'a> Part<'a> {
    /// The whole tree, where it is one whole.
    fn whole(tree: &'a [Node]) -> Option<Self> {
        let part = Self::ending_at(tree, tree.len().checked_sub(1)?)?;
        if part.first == 0 { Some(part) } else { None }
    }

    /// The part whose parent stands at `end`.
    fn ending_at(tree: &'a [Node], end: usize) -> Option<Self> {
        let mut wanted = 1_usize;
        let mut at = end;
        loop {
            wanted = match *tree.get(at)? {
                Node::Element(_) | Node::Duct(_) => wanted - 1,
                Node::Series(0) | Node::Parallel(0) => return None,
                Node::Series(parts) | Node::Parallel(parts) => (wanted - 1).checked_add(parts)?,
            };
            if wanted == 0 {
                break;
            }
            at = at.checked_sub(1)?;
        }
        Some(Self { tree: tree.get(..=end)?, first: at, node: *tree.get(end)? })
    }

    fn node(self) -> Node {
        self.node
    }

    fn end(self) -> usize {
        self.tree.len() - 1
    }

    /// The parts that this one names, the last first.
    fn children(self) -> Children<'a> {
        let left = match self.node {
            Node::Element(_) | Node::Duct(_) => 0,
            Node::Series(parts) | Node::Parallel(parts) => parts,
        };
        Children { tree: self.tree, before: self.end(), left }
    }

    /// Whether parents are nested more than `levels` deep. Looks no deeper than that itself.
    fn deeper_than(self, levels: usize) -> bool {
        match (self.node, levels.checked_sub(1)) {
            (Node::Element(_) | Node::Duct(_), _) => false,
            (_, None) => true,
            (_, Some(left)) => self.children().any(|child| child.deeper_than(left)),
        }
    }

    /// Whether it takes no pressure at all.
    fn is_open(self) -> bool {
        match self.node {
            Node::Element(drop) => drop.linear.si() == 0.0 && drop.square.si() == 0.0,
            Node::Duct(_) => false,
            Node::Series(_) => self.children().all(Part::is_open),
            Node::Parallel(_) => self.children().any(Part::is_open),
        }
    }

    /// Whether no two parallel branches both take no pressure.
    fn is_decided(self) -> bool {
        let several = |part: Self| part.children().filter(|child| child.is_open()).count() > 1;
        let here = !matches!(self.node, Node::Parallel(_)) || !several(self);
        here && self.children().all(Part::is_decided)
    }

    /// A row of passages that are no ducts as one of them, where none is blocked and not all are open.
    fn as_one(self) -> Option<Drop> {
        let mut all = Drop::NONE;
        for child in self.children() {
            let Node::Element(drop) = child.node else { return None };
            all = all + drop;
        }
        let both = all.linear.si() + all.square.si();
        (both > 0.0 && both.is_finite()).then_some(all)
    }

    /// Flow at a pressure above zero, and its growth.
    fn flow(self, pressure: f64) -> (f64, f64) {
        match self.node {
            Node::Element(drop) => drop.flow_and_slope(pressure),
            Node::Duct(duct) => duct.flow_and_slope(pressure),
            Node::Parallel(_) => {
                self.children().map(|child| child.flow(pressure)).fold((0.0, 0.0), add_pairs)
            }
            Node::Series(_) => {
                if let Some(all) = self.as_one() {
                    return all.flow_and_slope(pressure);
                }
                // The least flow that one part alone would pass is more than the row passes. The row's
                // pressure is convex, so that Newton from there never steps past the root.
                let most = self
                    .children()
                    .map(|child| child.flow(pressure).0)
                    .fold(f64::INFINITY, |least, flow| if flow < least { flow } else { least });
                // A blocked passage blocks the row; open ones alone hold nothing back.
                if most == 0.0 || most.is_infinite() {
                    return (most, most);
                }
                let flow = rising_root(0.0, most, most, pressure, |flow| self.pressure(flow));
                (flow, 1.0 / self.pressure(flow).1)
            }
        }
    }

    /// Pressure at a flow above zero, and its growth.
    fn pressure(self, flow: f64) -> (f64, f64) {
        match self.node {
            Node::Element(drop) => drop.pressure_and_slope(flow),
            Node::Duct(duct) => duct.pressure_and_slope(flow),
            Node::Series(_) => self.children().map(|child| child.pressure(flow)).fold((0.0, 0.0), add_pairs),
            Node::Parallel(parts) => {
                if self.is_open() {
                    return (0.0, 0.0);
                }
                let (mut low, mut high) = (f64::INFINITY, f64::INFINITY);
                for child in self.children() {
                    let share = child.pressure(flow / parts as f64).0;
                    let alone = child.pressure(flow).0;
                    low = if share < low { share } else { low };
                    high = if alone < high { alone } else { high };
                }
                if !high.is_finite() {
                    // Every branch is blocked.
                    return (f64::INFINITY, f64::INFINITY);
                }
                let pressure = rising_root(low, high, low, flow, |pressure| self.flow(pressure));
                (pressure, 1.0 / self.flow(pressure).1)
            }
        }
    }
}

/// The parts under a parent, the last first.
struct Children<'a> {
    tree: &'a [Node],
    /// Where the next part ends, plus one.
    before: usize,
    left: usize,
}

impl<'a> Iterator for Children<'a> {
    type Item = Part<'a>;

    fn next(&mut self) -> Option<Part<'a>> {
        self.left = self.left.checked_sub(1)?;
        let part = Part::ending_at(self.tree, self.before.checked_sub(1)?)?;
        self.before = part.first;
        Some(part)
    }
}
