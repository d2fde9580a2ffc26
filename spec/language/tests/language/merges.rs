//! Keys that merge one map into another are told as what they are, wherever they stand.

use crate::workshop::table;

#[test]
fn merge_keys() {
    insta::assert_snapshot!(table(&[
        // Whatever the map, and nothing is said to lack that may stand in the other one.
        "devices: { a: &a { package: { circuit: single } }, b: { <<: *a, diode: {} } }",
        "sources: { a: &a { kind: battery }, b: { <<: *a, absorbs: true } }",
        "devices: { a: { diode: { on_state: [{ <<: { junction: 25 degC }, current: [1 A, 2 A] }] } } }",
        "buses: { <<: { link: {} } }",
        "policy: { <<: { junction: { keep: 20 K } } }",
        "<<: { unit: { name: Loader } }",
        "variants: { wide: { <<: { buses: { link: {} } } } }",
        // A text between quotes is a key like others, and an alias is what it stands for.
        "unit: { '<<': Loader }",
        "buses: { one: &one { nominal: 620 V }, other: *one }",
    ]));
}
