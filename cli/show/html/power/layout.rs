//! Where everything of the power stands: buses as upright bars in layers, everything else in rows between them.
//!
//! A bus lies one layer further right than any bus that leads to it (the longest way decides). Rows follow a walk from
//! the sources: what a bus leads to stands beside it, the first of it in the same row, so that lines seldom cross a bar
//! that is not theirs.

use std::collections::VecDeque;

use super::facts::Net;
use super::{Item, Wire};

/// Bars and items by place.
#[derive(Clone, Debug, Default)]
pub(super) struct Layout {
    /// Layer of each bar.
    pub(super) layers: Vec<usize>,
    /// Track of each bar among those of its layer.
    pub(super) tracks: Vec<usize>,
    /// First and last row of each bar; none where nothing is on it.
    pub(super) spans: Vec<Option<(usize, usize)>>,
    /// Row of each item.
    pub(super) rows: Vec<usize>,
    /// Slot that each item's boxes stand in: that before layer 0 is 0.
    pub(super) slots: Vec<usize>,
    pub(super) row_count: usize,
}

impl Layout {
    /// Lays a net out; items are turned so that they lead from left to right.
    pub(super) fn of(net: &mut Net<'_>) -> Self {
        let order = reached(net);
        for item in &mut net.items {
            if let (Some(left), Some(right)) = (item.left, item.right)
                && order[right] < order[left]
            {
                turn(item);
            }
        }
        let layers = layers(net, &order);
        let mut placing = Placing::of(net, layers);
        let mut buses: Vec<usize> = (0..net.bars.len()).collect();
        buses.sort_by_key(|&bus| order[bus]);
        for bus in buses {
            if !placing.is_placed[bus] {
                // Below what stands where it and what it leads to will stand.
                let layer = placing.layers[bus];
                let beside = placing.free.iter().skip(layer).take(2).copied().max();
                placing.place(bus, beside.unwrap_or_default());
            }
        }
        placing.rest();
        let Placing { layers, rows, slots, free, .. } = placing;
        let rows: Vec<usize> = rows.into_iter().map(Option::unwrap_or_default).collect();
        let mut spans: Vec<Option<(usize, usize)>> = vec![None; net.bars.len()];
        for (item, &row) in net.items.iter().zip(&rows) {
            for bus in item.left.iter().chain(&item.right) {
                let (first, last) = spans[*bus].unwrap_or((row, row));
                spans[*bus] = Some((first.min(row), last.max(row)));
            }
        }
        let tracks = tracks(&layers, &spans);
        let row_count = free.iter().copied().max().unwrap_or_default();
        Self { layers, tracks, spans, rows, slots, row_count }
    }
}

/// In which order buses are come to, from those that sources feed.
fn reached(net: &Net<'_>) -> Vec<usize> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); net.bars.len()];
    for (place, item) in net.items.iter().enumerate() {
        for bus in item.left.iter().chain(&item.right) {
            at[*bus].push(place);
        }
    }
    let fed = net.items.iter().filter(|item| item.left.is_none()).filter_map(|item| item.right);
    let mut order = vec![usize::MAX; net.bars.len()];
    let mut next = 0;
    // All that sources feed are first, so that every stage leads away from them; what hangs on none begins with itself.
    let mut open: VecDeque<usize> = fed.collect();
    for root in 0..=net.bars.len() {
        while let Some(bus) = open.pop_front() {
            if order[bus] != usize::MAX {
                continue;
            }
            order[bus] = next;
            next += 1;
            let items = at[bus].iter().map(|&item| &net.items[item]);
            open.extend(items.flat_map(|item| item.left.iter().chain(&item.right).copied()));
        }
        open.extend((root < net.bars.len()).then_some(root));
    }
    order
}

/// The longest way to each bus, in stages.
fn layers(net: &Net<'_>, order: &[usize]) -> Vec<usize> {
    let mut by_order: Vec<usize> = (0..order.len()).collect();
    by_order.sort_by_key(|&bus| order[bus]);
    let mut out: Vec<Vec<usize>> = vec![Vec::new(); order.len()];
    for item in &net.items {
        if let (Some(left), Some(right)) = (item.left, item.right)
            && left != right
        {
            out[left].push(right);
        }
    }
    let mut layers = vec![0; order.len()];
    for bus in by_order {
        for &to in &out[bus] {
            layers[to] = layers[to].max(layers[bus] + 1);
        }
    }
    layers
}

/// Turns an item round, so that what was at its right is at its left.
fn turn(item: &mut Item<'_>) {
    std::mem::swap(&mut item.left, &mut item.right);
    item.boxes.reverse();
    item.wires.reverse();
    for Wire { way, .. } in &mut item.wires {
        *way = -*way;
    }
}

struct Placing<'n, 'u> {
    net: &'n Net<'u>,
    layers: Vec<usize>,
    is_placed: Vec<bool>,
    rows: Vec<Option<usize>>,
    slots: Vec<usize>,
    /// The first free row of each slot.
    free: Vec<usize>,
    /// Items that come to a bus from nowhere, and those that leave it.
    into: Vec<Vec<usize>>,
    from: Vec<Vec<usize>>,
}

impl<'n, 'u> Placing<'n, 'u> {
    fn of(net: &'n Net<'u>, layers: Vec<usize>) -> Self {
        let buses = net.bars.len();
        let (mut into, mut from) = (vec![Vec::new(); buses], vec![Vec::new(); buses]);
        for (place, item) in net.items.iter().enumerate() {
            match (item.left, item.right) {
                (Some(left), _) => from[left].push(place),
                (None, Some(right)) => into[right].push(place),
                (None, None) => {}
            }
        }
        let slots = layers.iter().copied().max().map_or(1, |most| most + 2);
        Self {
            net,
            is_placed: vec![false; buses],
            rows: vec![None; net.items.len()],
            slots: vec![0; net.items.len()],
            free: vec![0; slots],
            into,
            from,
            layers,
        }
    }

    /// Places a bus and all that it leads to, from a row downwards.
    fn place(&mut self, bus: usize, row: usize) {
        let mut open = vec![(bus, row, Vec::new())];
        self.begin(&mut open);
        while let Some((_, row, left)) = open.last_mut() {
            let row = *row;
            let Some(item) = left.pop() else {
                open.pop();
                continue;
            };
            if self.rows[item].is_some() {
                continue;
            }
            let next = self.net.items[item].right.filter(|&next| !self.is_placed[next]);
            let at = self.put(item, row, next.is_some());
            if let Some(next) = next {
                open.push((next, at, Vec::new()));
                self.begin(&mut open);
            }
        }
    }

    /// Begins with a bus: what feeds it, then what it leads to, the last one on top.
    fn begin(&mut self, open: &mut [(usize, usize, Vec<usize>)]) {
        let Some((bus, row, left)) = open.last_mut() else { return };
        self.is_placed[*bus] = true;
        for source in self.into[*bus].clone() {
            self.put(source, *row, false);
        }
        let leads = |item: &usize| self.net.items[*item].right.is_some_and(|next| !self.is_placed[next]);
        let (mut leading, ending): (Vec<usize>, Vec<usize>) =
            self.from[*bus].iter().copied().partition(leads);
        // What ends here stands below the first of what leads on, where there is room.
        let rest = leading.split_off(leading.len().min(1));
        left.extend(leading.into_iter().chain(ending).chain(rest));
        left.reverse();
    }

    /// Gives an item the first row that is free in all the slots that it passes.
    fn put(&mut self, item: usize, row: usize, opens: bool) -> usize {
        let of = &self.net.items[item];
        let first = match (of.left, of.right) {
            (Some(left), _) => self.layers[left] + 1,
            (None, Some(right)) => self.layers[right],
            (None, None) => 0,
        };
        let last = match (of.left, of.right) {
            (Some(_), Some(right)) => self.layers[right].max(first),
            _ => first,
        };
        // Below what was placed further right as well, where a bus begins there.
        let end = if opens { self.free.len() - 1 } else { last };
        let free = self.free[first..=end].iter().copied().max().unwrap_or_default();
        let at = row.max(free);
        for slot in &mut self.free[first..=last] {
            *slot = at + 1;
        }
        self.rows[item] = Some(at);
        self.slots[item] = first;
        at
    }

    /// What hangs on no bus.
    fn rest(&mut self) {
        let row = self.free.iter().copied().max().unwrap_or_default();
        for item in 0..self.rows.len() {
            if self.rows[item].is_none() {
                self.put(item, row, false);
            }
        }
    }
}

/// Bars of a layer whose rows meet stand side by side.
fn tracks(layers: &[usize], spans: &[Option<(usize, usize)>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..layers.len()).collect();
    order.sort_by_key(|&bus| (layers[bus], spans[bus], bus));
    let mut tracks = vec![0; layers.len()];
    let mut last: Vec<usize> = Vec::new();
    let mut layer = None;
    for bus in order {
        if layer != Some(layers[bus]) {
            layer = Some(layers[bus]);
            last.clear();
        }
        let Some((from, to)) = spans[bus] else { continue };
        let free = last.iter().position(|&end| end <= from);
        let track = free.unwrap_or(last.len());
        if track == last.len() {
            last.push(0);
        }
        last[track] = to + 1;
        tracks[bus] = track;
    }
    tracks
}

#[cfg(test)]
mod tests {
    use super::super::symbol::Symbol;
    use super::super::{Bar, Element, Seat};
    use super::*;

    /// A net of bars and of what leads from one to another; a source where it leads from none.
    fn net(bars: usize, items: &[(Option<usize>, Option<usize>)]) -> Net<'static> {
        let element = || Element {
            symbol: Symbol::Load,
            name: "part",
            what: String::new(),
            figures: String::new(),
            used: None,
            conductors: Vec::new(),
        };
        let item = |&(left, right): &(Option<usize>, Option<usize>)| Item {
            left,
            right,
            boxes: vec![(Seat::Main, element())],
            wires: vec![Wire { way: 1, ..Wire::default() }, Wire::default()],
        };
        let bar = || Bar { name: "bus", voltage: String::new(), used: None };
        Net { bars: (0..bars).map(|_| bar()).collect(), items: items.iter().map(item).collect() }
    }

    /// No two items that pass one slot stand in one row.
    fn assert_apart(net: &Net<'_>, layout: &Layout) {
        let mut taken = std::collections::BTreeSet::new();
        for (place, item) in net.items.iter().enumerate() {
            let last = match (item.left, item.right) {
                (Some(_), Some(right)) => layout.layers[right].max(layout.slots[place]),
                _ => layout.slots[place],
            };
            for slot in layout.slots[place]..=last {
                assert!(taken.insert((slot, layout.rows[place])), "item {place} has no room of its own");
            }
        }
    }

    #[test]
    fn the_longest_way_decides_the_layer() {
        // 0 leads to 1, 1 to 2, and 0 to 2 as well.
        let mut net = net(3, &[(None, Some(0)), (Some(0), Some(1)), (Some(0), Some(2)), (Some(1), Some(2))]);
        let layout = Layout::of(&mut net);
        assert_eq!(layout.layers, [0, 1, 2]);
        assert_apart(&net, &layout);
    }

    #[test]
    fn a_stage_that_is_described_backwards_is_turned() {
        // Bus 1 is fed; the stage names bus 0 first.
        let mut net = net(2, &[(None, Some(1)), (Some(0), Some(1))]);
        let layout = Layout::of(&mut net);
        assert_eq!((net.items[1].left, net.items[1].right), (Some(1), Some(0)));
        assert_eq!(net.items[1].wires[1].way, -1, "what went to the right goes to the left");
        assert_eq!(layout.layers, [1, 0]);
    }

    #[test]
    fn bars_whose_rows_meet_stand_side_by_side() {
        assert_eq!(tracks(&[0, 0, 0], &[Some((0, 2)), Some((1, 3)), Some((3, 4))]), [0, 1, 0]);
        assert_eq!(tracks(&[0, 1], &[Some((0, 2)), Some((0, 2))]), [0, 0]);
    }

    #[test]
    fn nothing_shares_its_place_however_the_buses_hang_together() {
        let mut state = 7u64;
        let mut next = |below: usize| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(state >> 33).unwrap_or_default() % below
        };
        for _ in 0..300 {
            let bars = 1 + next(6);
            let items: Vec<_> = (0..next(14))
                .map(|_| {
                    let mut end = || Some(next(bars + 1)).filter(|bus| *bus < bars);
                    (end(), end())
                })
                .collect();
            let mut net = net(bars, &items);
            let layout = Layout::of(&mut net);
            assert_apart(&net, &layout);
            for item in &net.items {
                if let (Some(left), Some(right)) = (item.left, item.right)
                    && left != right
                {
                    assert!(layout.layers[left] < layout.layers[right]);
                }
            }
        }
    }
}
