//! What a mission uses of the life of capacitors, against the hot spots of its rows one by one.

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{Judge, Tally};
use loadworthy_unit::mission::Rows;
use loadworthy_unit::{DutyId, FigureId, Solved};

use crate::descriptions::{changed, holding, unit};

const POWER: &str = "electrical_power: 35 kW";
const KILOWATTS: [f64; 3] = [10.0, 22.0, 35.0];

fn lasting(voltage: &str) -> String {
    let endurance = format!(
        "hottest: 105 degC,\n      endurance: {{ life: 5000 h, hot_spot: 105 degC, voltage: {voltage}, halved_by: 8 K }} }}"
    );
    changed(holding("link-ripple"), "hottest: 105 degC }", &endurance)
}

fn driven(text: &str) -> Tally {
    let unit = unit(text);
    let variant = &unit.variants[0];
    let columns = [variant.duty_input("loads.wheel_motor.electrical_power").expect("the power")];
    let mut judge = Judge::new(CHECKS, variant, &columns, None, 2);
    judge.take(&[Rows {
        duties: vec![DutyId::new(0); KILOWATTS.len()],
        lasts: vec![3600.0; KILOWATTS.len()],
        values: KILOWATTS.iter().map(|kilowatts| 1e3 * kilowatts).collect(),
    }]);
    judge.end()
}

/// The hot spot of the bank where so much is asked, in °C.
fn hot(text: &str, kilowatts: f64) -> f64 {
    let unit = unit(&changed(text, POWER, &format!("electrical_power: {kilowatts} kW")));
    let variant = &unit.variants[0];
    let solved = Solved::new(variant);
    let lane = variant.lane_ids().next().expect("a lane");
    let mut all = (0..variant.tables.figures().len()).map(FigureId::new);
    let id = all.find(|&id| variant.tables.figure_path(id) == "link_bank.hot_spot_temperature");
    solved.figure(id.expect("a hot spot"), lane).expect("solved")
}

#[test]
fn each_row_uses_its_time_over_the_life_at_its_hot_spot() {
    let text = lasting("400 V");
    let tally = driven(&text);
    let [wear] = tally.wear.as_slice() else { panic!("{:?}", tally.wear) };
    let by_hand: f64 = KILOWATTS
        .iter()
        .map(|&kilowatts| 1.0 / (5000.0 * libm::pow(2.0, (105.0 - hot(&text, kilowatts)) / 8.0)))
        .sum();
    let used = wear.used().expect("known in every row");
    assert!((used / by_hand - 1.0).abs() < 1e-9, "{used} and {by_hand}");
    assert!((wear.runs().expect("some runs") * used - 1.0).abs() < 1e-12);
}

#[test]
fn a_life_that_is_not_known_in_every_row_is_not_told() {
    let tally = driven(&lasting("100 V"));
    assert_eq!((tally.wear[0].used(), tally.wear[0].unknown), (None, KILOWATTS.len()));
    assert_eq!(driven(holding("link-ripple")).wear, []);
}
