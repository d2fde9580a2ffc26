//! Single faults of what conducts that should not: banks, suppression capacitors and windings.

use loadworthy_checks::faults::{Effect, Kind};

use crate::descriptions::changed;
use crate::fault_walk::{SHUTTLE, effect, faults};

#[test]
fn capacitors_and_windings_that_break_down() {
    let all = faults(SHUTTLE);
    let says = |effect: &Effect, what: &str| effect.says.iter().any(|said| said.contains(what));
    // Sources drive into a shorted bank until their fuse clears, and nothing on that bus goes on.
    let bank = effect(&all, Kind::Bank, "link_bank");
    assert_eq!(
        (bank.cut_off.as_slice(), bank.dead.contains(&"link".to_owned())),
        (&["pack".to_owned()][..], true)
    );
    assert!(says(bank, "shorts link until pack_fuse clears"), "{bank:#?}");
    assert!(
        bank.stops.contains(&"front_bridge".to_owned()) && bank.stops.contains(&"rear_bridge".to_owned())
    );
    // Of a circuit that floats a first path to the chassis clears no fuse and stops nothing.
    let plus = effect(&all, Kind::Suppression, "y_plus");
    assert!(plus.stops.is_empty() && plus.cut_off.is_empty(), "{plus:#?}");
    assert!(says(plus, "joins link.plus of traction (up to 820 V) to chassis"), "{plus:#?}");
    assert!(says(plus, "no fuse clears: no more than ") && says(plus, "finds it"), "{plus:#?}");
    assert!(says(plus, "what leads from link.minus to chassis stands against the whole 820 V"), "{plus:#?}");
    let winding = effect(&all, Kind::Frame, "front_motor");
    assert!(winding.is_hazard && winding.stops.is_empty(), "{winding:#?}");
    assert!(says(winding, "moves link.minus, link.plus by up to 820 V against the frame"), "{winding:#?}");
    // With a rail on the chassis either is a short of the bus; the rail itself stands there already.
    let earthed = changed(
        SHUTTLE,
        "{ touchable: false, impulse: 4000 V",
        "{ touchable: false, earthing: negative_rail, impulse: 4000 V",
    );
    let all = faults(&earthed);
    let plus = effect(&all, Kind::Suppression, "y_plus");
    assert!(says(plus, "shorts link until pack_fuse clears") && plus.cut_off == ["pack"], "{plus:#?}");
    let minus = effect(&all, Kind::Suppression, "y_minus");
    assert!(minus.cut_off.is_empty() && says(minus, "stands on the chassis already"), "{minus:#?}");
    assert_eq!(effect(&all, Kind::Frame, "front_motor").cut_off, ["pack"]);
}
