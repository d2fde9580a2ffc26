//! Descriptions as they are read.

use crate::workshop::{FORWARDER, reading, told};

#[test]
fn a_whole_unit_has_no_problems() {
    let reading = reading(FORWARDER);
    assert_eq!(told(&reading), "");
    let names = reading.variants.iter().map(|variant| variant.name.as_deref()).collect::<Vec<_>>();
    assert_eq!(names, [Some("standard"), Some("heavy"), Some("bare")]);
}
