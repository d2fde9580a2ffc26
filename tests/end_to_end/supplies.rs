//! What is said of gate supplies that no example of a check shows: as a reader meets it.

use loadworthy_checks::list::by_name;

use super::program::{Folder, assert_shown, run_in};

/// The holding example of a check with passages changed, reviewed.
fn shown(check: &str, changes: &[(&str, &str)]) -> String {
    let mut text = by_name(check).expect("a check of that name").about().holds.to_owned();
    for &(from, to) in changes {
        assert_eq!(text.matches(from).count(), 1, "`{from}`");
        text = text.replace(from, to);
    }
    let folder = Folder::new();
    folder.put("unit.yaml", text);
    run_in(&folder, &["review", "unit.yaml", "--grade", "note"]).out
}

const LOWERS: &str = "  lowers: { feeds: [winch_bridge.low_side] }\n";

#[test]
fn a_shunt_splits_the_rail_of_an_output() {
    let split = "  lowers: { feeds: [winch_bridge.low_side], rail: hv_minus }\n\nbranches:\n  return: { from: winch_bridge, to: hv_minus, through: [return_shunt] }\n\nconductors:\n  return_shunt: { kind: sensor, range: 800 A, resistance: 0.1 mohm }\n";
    assert_shown!("supplies-split-rail", shown("floating-supplies", &[(LOWERS, split)]));
}

#[test]
fn one_transformer_with_two_primaries() {
    let uppers = [
        ("upper_u: { feeds: [winch_bridge.high_side.u]", "link"),
        ("upper_v: { feeds: [winch_bridge.high_side.v]", "board_net"),
        ("upper_w: { feeds: [winch_bridge.high_side.w]", "board_net"),
    ];
    let on: Vec<String> =
        uppers.iter().map(|(own, from)| format!("{own}, transformer: uppers, from: {from}")).collect();
    let bus = "  link: { nominal: 350 V, highest: 400 V, negative_rail: hv_minus }\n";
    let buses = format!("{bus}  board_net: {{ nominal: 28 V }}\n");
    let mut changes: Vec<(&str, &str)> =
        uppers.iter().zip(&on).map(|((own, _), on)| (*own, on.as_str())).collect();
    changes.push((bus, &buses));
    assert_shown!("supplies-one-primary", shown("floating-supplies", &changes));
}

#[test]
fn sources_on_one_return() {
    let change = (
        "sweeper_lows: { feeds: [sweeper_bridge.low_side]",
        "sweeper_lows: { feeds: [sweeper_bridge.low_side], common_inductance: 8 nH, drive_on: 15 V, drive_off: -8 V",
    );
    assert_shown!("supplies-shared-return", shown("turn-off-overshoot", &[change]));
}

#[test]
fn windings_without_a_barrier_between_them() {
    // Three outputs of one transformer, of which a barrier is stated between two.
    let change = (
        "  barriers:\n",
        "  barriers:\n    between_u_and_v:\n      { between: [slew_bridge.high_side.u, slew_bridge.high_side.v], kind: functional, clearance: 6 mm, creepage: 10 mm,\n        material_group: II }\n",
    );
    assert_shown!("supplies-windings", shown("barrier-distance", &[change]));
}
