//! Several findings that one word brings, as a reader sees them.

use super::program::{Folder, assert_shown, run_in, text_of};

#[test]
fn a_slip_is_told_with_what_comes_of_it() {
    let folder = Folder::new();
    for parts in ["semiconductors", "capacitors"] {
        let name = format!("parts/{parts}.yaml");
        folder.put(&name, text_of(&format!("examples/{name}")));
    }
    let text = text_of("examples/harbour-shuttle.yaml");
    let banks = ["kind: bank, bus: link,", "kind: bank, bus: board_net,"];
    let exchanged = text.replace(banks[0], "BANK").replace(banks[1], banks[0]).replace("BANK", banks[1]);
    folder.put("shuttle.yaml", exchanged);
    let ran = run_in(&folder, &["review", "shuttle.yaml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    let found = ran.out.split("\n\n").find(|block| block.contains("one-cause")).unwrap_or_default();
    assert_shown!("one_cause", found);
}
