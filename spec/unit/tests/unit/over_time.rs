//! Duty points that end before everything has settled, against small explicit steps through time.

use loadworthy_unit::{LaneId, Solved, Unit};

use crate::bench::{CHAIN, MOSFET, TWO_FACES, changed, close, figure, held, input, lane, unit, value};

/// Elements of the MOSFET's impedance in the bench description: K/W and s.
const ELEMENTS: [(f64, f64); 2] = [(0.09, 2e-3), (0.13, 30e-3)];
const CASE_TO_PLATE: f64 = 0.24;
const PLATE: f64 = 0.004;
const PLATE_CAPACITY: f64 = 900.0;
const PARALLEL: f64 = 2.0;

pub(crate) fn plate_of_900(duty: &str) -> Unit {
    unit(&changed(
        MOSFET,
        &[
            ("value: 0.004 K/W,", "heat_capacity: 900 J/K, value: 0.004 K/W,"),
            ("  hold:\n", &format!("  hold:\n    {duty}\n    starts_from: press\n")),
        ],
    ))
}

/// The double: what each chip loses along its line, through its elements into a case without capacity, onto one plate.
pub(crate) struct Double {
    /// Loss at the settled junction, that junction, and growth for each kelvin.
    pub(crate) lines: Vec<(f64, f64, f64)>,
    rate: f64,
    rises: Vec<[f64; 2]>,
    plate: f64,
}

impl Double {
    pub(crate) fn new(solved: &Solved<'_>, on: LaneId) -> Self {
        let mut lines = Vec::new();
        for side in ["high_side", "low_side"] {
            for leg in ["u", "v", "w"] {
                let of = |name: &str| value(solved, on, &format!("drive.{side}.{leg}.transistor.{name}"));
                lines.push((of("loss"), of("mean_junction_temperature"), of("loss_per_kelvin")));
            }
        }
        let rate = value(solved, on, "cooling.plate.heat")
            / (value(solved, on, "cooling.outlet") - value(solved, on, "cooling.plate.inlet"));
        Self { lines, rate, rises: vec![[0.0; 2]; 6], plate: 0.0 }
    }

    pub(crate) fn settle(mut self) -> Self {
        for (rise, line) in self.rises.iter_mut().zip(&self.lines) {
            *rise = [ELEMENTS[0].0 * line.0, ELEMENTS[1].0 * line.0];
        }
        let heat: f64 = PARALLEL * self.lines.iter().map(|line| line.0).sum::<f64>();
        self.plate = 60.0 + heat * (0.5 / self.rate + PLATE);
        self
    }

    /// Junction of a chip as it stands.
    pub(crate) fn junction(&self, chip: usize) -> f64 {
        let (loss, at, growth) = self.lines[chip];
        let base = self.plate + self.rises[chip][0] + self.rises[chip][1];
        let power = (loss + growth * (base - at)) / (1.0 - growth * CASE_TO_PLATE);
        base + CASE_TO_PLATE * power
    }

    /// Steps on by `lasts` and gives the hottest junction of each chip.
    pub(crate) fn run(&mut self, lasts: f64) -> Vec<f64> {
        let step = 1e-4;
        let mut hottest = vec![f64::NEG_INFINITY; 6];
        for _ in 0..(lasts / step).round() as usize {
            let mut heat = 0.0;
            for (k, &(loss, at, growth)) in self.lines.iter().enumerate() {
                // The case has no capacity: its heat is the loss, which hangs on the junction, which hangs on the case.
                let over_plate = self.rises[k][0] + self.rises[k][1];
                let base = self.plate + over_plate;
                let power = (loss + growth * (base - at)) / (1.0 - growth * CASE_TO_PLATE);
                let junction = base + CASE_TO_PLATE * power;
                hottest[k] = f64::max(hottest[k], junction);
                for (rise, (resistance, time_constant)) in self.rises[k].iter_mut().zip(ELEMENTS) {
                    *rise += step * (resistance * power - *rise) / time_constant;
                }
                heat += PARALLEL * power;
            }
            let leaves = (self.plate - 60.0) / (PLATE + 0.5 / self.rate);
            self.plate += step * (heat - leaves) / PLATE_CAPACITY;
        }
        hottest
    }
}

fn hottest(solved: &Solved<'_>, lane: LaneId) -> Vec<f64> {
    let mut all = Vec::new();
    for side in ["high_side", "low_side"] {
        for leg in ["u", "v", "w"] {
            let path = format!("drive.{side}.{leg}.transistor");
            let ripple = value(solved, lane, &format!("{path}.junction_ripple"));
            all.push(value(solved, lane, &format!("{path}.hottest_junction_temperature")) - ripple);
        }
    }
    all
}

#[test]
fn a_short_hold_after_a_long_press() {
    let unit = plate_of_900("lasts: 5 s");
    let solved = Solved::new(&unit.variants[0]);
    let (from, on) = (lane(solved.variant, "press"), held(solved.variant, "hold", 1));
    let mut double = Double::new(&solved, from).settle();
    double.lines = Double::new(&solved, on).lines;
    let expected = double.run(5.0);
    assert!(solved.is_followed(on));
    for (found, expected) in hottest(&solved, on).iter().zip(&expected) {
        assert!((found - expected).abs() < 0.1, "{found} against {expected}");
    }
}

#[test]
fn a_hold_that_recurs_starts_warmer() {
    let unit = plate_of_900("lasts: 2 s\n    every: 5 s");
    let solved = Solved::new(&unit.variants[0]);
    let (from, on) = (lane(solved.variant, "press"), held(solved.variant, "hold", 1));
    let mut double = Double::new(&solved, from).settle();
    let (rest, hold) = (double.lines.clone(), Double::new(&solved, on).lines);
    let mut expected = Vec::new();
    for _ in 0..8 {
        double.lines = hold.clone();
        expected = double.run(2.0);
        double.lines = rest.clone();
        double.run(3.0);
    }
    for (found, expected) in hottest(&solved, on).iter().zip(&expected) {
        assert!((found - expected).abs() < 0.15, "{found} against {expected}");
    }
}

#[test]
fn a_duty_point_that_lasts_long_enough_settles() {
    for (text, on, from) in [
        (MOSFET, "hold", "press"),
        (TWO_FACES, "hold", "climb"),
        (TWO_FACES, "recovery", "climb"),
        (CHAIN, "hold", "climb"),
    ] {
        let followed = format!("  {on}:\n    lasts: 1000 h\n    starts_from: {from}\n");
        let text = text.replace("    lasts: 20 s\n    every: 200 s\n    starts_from: climb\n", "");
        let unit = unit(&changed(&text, &[(&format!("  {on}:\n"), &followed)]));
        let solved = Solved::new(&unit.variants[0]);
        let mut settles = 0;
        for lane in solved.variant.lane_ids().filter(|&lane| solved.variant.duty_of(lane).name == on) {
            assert!(solved.is_followed(lane));
            for chip in &solved.variant.plan.chips {
                let hottest = solved.figure(chip.figures.hottest(), lane).unwrap();
                let settled = solved.figure(chip.figures.junction_temperature, lane).unwrap();
                // What begins hotter has been hotter.
                let path = solved.variant.path(chip.part);
                assert!(hottest > settled - 1e-6, "{path} in {on}: {hottest} below {settled}");
                settles += usize::from(hottest < settled + 1e-6);
            }
        }
        assert!(settles > 0, "{on}: nothing warms up");
    }
}

#[test]
fn the_growth_of_a_loss_is_what_a_warmer_coolant_brings() {
    let unit = unit(MOSFET);
    let variant = &unit.variants[0];
    let warmer = |inlet: f64| {
        let edit = loadworthy_unit::Edit { input: input(variant, "duty.*.coolant.inlet"), value: inlet };
        Solved::with(variant, &[vec![edit]]).pop().unwrap()
    };
    let (cold, warm) = (warmer(60.0), warmer(60.5));
    let at = lane(variant, "press");
    let of = |solved: &Solved<'_>, name: &str| {
        solved.figure(figure(variant, &format!("drive.high_side.u.transistor.{name}")), at).unwrap()
    };
    let slope = (of(&warm, "loss") - of(&cold, "loss"))
        / (of(&warm, "mean_junction_temperature") - of(&cold, "mean_junction_temperature"));
    close(of(&cold, "loss_per_kelvin"), slope, 0.02, "growth of the loss");
}
