//! A unit with a parts file beside it.

use super::*;

const UNIT: &str = "
edition: 2026
stages:
  lift: { topology: boost, legs: 2 }
  drop: { topology: buck, legs: 2 }
gate_supplies: { uppers: { feeds: [lift.high_side.2] } }
sensors: { currents: { of: [link, drop.1, drop.2] } }
devices:
  own: { package: { circuit: single }, diode: { blocking_voltage: 650 V, current: { continuous: 60 A } } }
conductors:
  pack_fuse: { kind: fuse, voltage: 500 V DC, current: 400 A, melting: 60e3 A^2 s }
  bar: { kind: busbar, width: 20 mm }
magnetics:
  choke:
    kind: choke
    inductance: 320 uH
    turns: 30
    core: { area: 24 cm^2, saturation: { flux_density: [1.5 T, 1.4 T], at: [25 degC, 120 degC] } }
";
const PARTS: &str = "
devices:
  larger: { package: { circuit: single }, diode: { blocking_voltage: 650 V, current: { continuous: 90 A } } }
  smaller: { package: { circuit: single }, diode: { blocking_voltage: 650 V, current: { continuous: 30 A } } }
  same: { package: { circuit: single }, diode: { blocking_voltage: 650 V, current: { continuous: 60 A } } }
  other_voltage: { package: { circuit: single }, diode: { blocking_voltage: 1200 V, current: { continuous: 90 A } } }
  other_package: { package: { circuit: half_bridge }, diode: { blocking_voltage: 650 V, current: { continuous: 90 A } } }
  other_kind:
    package: { circuit: single }
    transistor: { kind: mosfet, blocking_voltage: 650 V, current: { continuous: 90 A } }
  no_size: { package: { circuit: single }, diode: { blocking_voltage: 650 V } }
conductors:
  fuse_500: { kind: fuse, voltage: 500 V DC, current: 500 A, clearing: 300e3 A^2 s }
";

fn with_parts(then: impl Fn(&Stock<'_>)) {
    let (mut tree, mut problems) = (Tree::new(), Vec::new());
    let root = tree.read("unit.yaml", UNIT.as_bytes(), &mut problems).expect("a unit");
    let parts = tree.read("parts.yaml", PARTS.as_bytes(), &mut problems).expect("parts");
    let root = tree.union(root, &[parts], &["devices", "conductors"], &mut problems);
    assert!(problems.is_empty(), "{problems:?}");
    then(&Stock::of(&tree, Some(root)));
}

#[test]
fn what_fits_stands_in_order_of_its_size_and_then_of_its_name() {
    with_parts(|stock| {
        let own = stock.part(Shelf::Devices, "own").expect("a device");
        let names: Vec<&str> = stock.instead_of(own).iter().map(|offer| offer.name.as_str()).collect();
        assert_eq!(names, ["smaller", "own", "same", "larger"]);
        // What the description itself states is no stock: it is not offered in place of another.
        let larger = stock.part(Shelf::Devices, "larger").expect("a device");
        let names: Vec<&str> = stock.instead_of(larger).iter().map(|offer| offer.name.as_str()).collect();
        assert_eq!(names, ["smaller", "same", "larger"]);
    });
}

#[test]
fn a_choke_is_as_large_as_the_energy_that_it_stores() {
    with_parts(|stock| {
        // 30 turns at 1.5 T over 24 cm² link 0.108 V·s, so 337.5 A saturate 320 µH: 18.2 J.
        let choke = stock.part(Shelf::Chokes, "choke").expect("a choke");
        assert!((choke.measure - 18.225).abs() < 1e-9, "{}", choke.measure);
    });
}

#[test]
fn a_fuse_becomes_another_one_by_its_data_sheet() {
    with_parts(|stock| {
        let [from, to] =
            ["pack_fuse", "fuse_500"].map(|name| stock.part(Shelf::Fuses, name).expect("a fuse"));
        let changes = stock.becoming(from, to).expect("changes");
        let expected = [
            ("conductors.pack_fuse.melting", "null"),
            ("conductors.pack_fuse.current", "500 A"),
            ("conductors.pack_fuse.clearing", "300e3 A^2 s"),
        ];
        assert_eq!(changes, expected.map(|(path, text)| (path.to_owned(), text.to_owned())));
        assert!(stock.part(Shelf::Fuses, "bar").is_none());
    });
}

#[test]
fn a_list_of_all_legs_follows_their_number_and_a_single_name_does_not() {
    with_parts(|stock| {
        let lists: Vec<Option<&LegList>> = stock.legs("drop").map(|names| names.all.as_ref()).collect();
        let [Some(list)] = lists.as_slice() else { panic!("{lists:?}") };
        assert_eq!((list.path.as_str(), list.count), ("sensors.currents.of", 2));
        assert_eq!(list.written(3), "[link, drop.1, drop.2, drop.3]");
        let lists: Vec<bool> = stock.legs("lift").map(|names| names.all.is_some()).collect();
        assert_eq!(lists, [false]);
    });
}

#[test]
fn an_output_becomes_another_one_and_keeps_what_it_feeds() {
    let text = "
edition: 2026
gate_supplies: { own: { feeds: [drive.high_side.u], power: 3 W, drive_on: 18 V, drive_off: -4 V, from: net } }
";
    let parts = "
gate_supplies:
  less: { power: 2 W, drive_on: 18 V, drive_off: -4 V, efficiency: 80 % }
  other: { power: 1 W, drive_on: 15 V, drive_off: -8 V }
";
    let (mut tree, mut problems) = (Tree::new(), Vec::new());
    let root = tree.read("unit.yaml", text.as_bytes(), &mut problems).expect("a unit");
    let parts = tree.read("parts.yaml", parts.as_bytes(), &mut problems).expect("parts");
    let root = tree.union(root, &[parts], &["gate_supplies"], &mut problems);
    let stock = Stock::of(&tree, Some(root));
    let own = stock.part(Shelf::GateSupplies, "own").expect("an output");
    let all = stock.instead_of(own);
    assert_eq!(all.iter().map(|offer| offer.name.as_str()).collect::<Vec<_>>(), ["less", "own"]);
    let changes = stock.becoming(own, all[0]).expect("changes");
    let expected = [("gate_supplies.own.power", "2 W"), ("gate_supplies.own.efficiency", "80 %")];
    assert_eq!(changes, expected.map(|(path, text)| (path.to_owned(), text.to_owned())));
}
