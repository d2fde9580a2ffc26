//! Chains that no unit has, and that a text can name: they cost time in proportion, and no stack.

use crate::descriptions::{changed, reviewed};
use crate::fault_walk::SHUTTLE;

/// So many controllers, of which each depends on the next.
fn chained(controllers: usize) -> String {
    let own = "front_controller: { domain: low_voltage, from: board_net, hardware_enable: true }";
    let first = own.replace(" }", ", depends_on: [c0] }");
    let mut chain = String::new();
    for place in 0..controllers {
        chain += &format!(
            "\n  c{place}: {{ domain: low_voltage, from: board_net, depends_on: [c{}] }}",
            place + 1
        );
    }
    chain += &format!("\n  c{controllers}: {{ domain: low_voltage, from: board_net }}");
    changed(SHUTTLE, own, &(first + &chain))
}

/// The stack of a test is 2 MB: one call for each controller would end the process.
#[test]
fn controllers_may_depend_on_one_another_in_any_depth() {
    let said = |controllers| {
        let findings = reviewed(&chained(controllers)).findings.into_iter();
        let other = findings.filter(|finding| finding.defect != "unused");
        other.map(|finding| (finding.check, finding.defect, finding.part)).collect::<Vec<_>>()
    };
    assert_eq!(said(8_000), said(10));
}
