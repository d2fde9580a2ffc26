use super::*;

const COOLANT: Temperature = Temperature::celsius(65.0);
const PATH: ThermalResistance = ThermalResistance::new(0.4);

fn steady(feedback: Feedback) -> (f64, f64) {
    match feedback {
        Feedback::Steady { temperature, loop_gain } => (temperature.in_celsius(), loop_gain),
        other => panic!("expected a steady state, got {other:?}"),
    }
}

#[test]
fn a_constant_loss_simply_heats() {
    let (t, g) = steady(linear(COOLANT, PATH, Power::new(200.0), 0.0, Temperature::celsius(25.0)));
    assert!((t - 145.0).abs() < 1e-12 && g == 0.0);
}

#[test]
fn linear_loss_satisfies_its_own_balance() {
    let reference = Temperature::celsius(150.0);
    for per_kelvin in [-0.004, 0.002, 0.006] {
        let (t, g) = steady(linear(COOLANT, PATH, Power::new(200.0), per_kelvin, reference));
        let loss = 200.0 * (1.0 + per_kelvin * (t - 150.0));
        assert!((65.0 + 0.4 * loss - t).abs() < 1e-10);
        assert!((g - 0.4 * 200.0 * per_kelvin).abs() < 1e-12);
    }
}

#[test]
fn gain_of_one_does_not_come_to_rest() {
    let feedback = linear(COOLANT, PATH, Power::new(250.0), 0.01, Temperature::celsius(25.0));
    assert_eq!(feedback, Feedback::NoSteadyState { loop_gain: 1.0 });
}

#[test]
fn leakage_satisfies_its_own_balance_up_to_the_critical_coolant() {
    let (constant, leak) = (Power::new(100.0), Power::new(2.0));
    let (reference, fold) = (Temperature::celsius(125.0), TemperatureDifference::new(22.0));
    let critical = critical_coolant_of_leakage(PATH, constant, leak, reference, fold);
    for below in [150.0, 40.0, 3.0, 1e-3, 1e-6] {
        let coolant = critical - TemperatureDifference::new(below);
        let (t, g) = steady(leakage(coolant, PATH, constant, leak, reference, fold));
        let now = 2.0 * libm::exp((t - 125.0) / 22.0);
        assert!((coolant.in_celsius() + 0.4 * (100.0 + now) - t).abs() < 1e-7, "{below} K below");
        assert!((g - 0.4 * now / 22.0).abs() < 1e-7 && g <= 1.0);
    }
    let above = leakage(critical + TemperatureDifference::new(0.01), PATH, constant, leak, reference, fold);
    assert!(matches!(above, Feedback::NoSteadyState { .. }));
}

#[test]
fn stable_gain_inverts_the_bell() {
    // −W₀(−z): W₀(−0.2) = −0.2591711018190737 (tables of the Lambert W function).
    assert!((stable_gain(0.2) - 0.259_171_101_819_073_7).abs() < 1e-14);
    assert!(stable_gain(0.0).abs() < f64::MIN_POSITIVE && stable_gain(-0.1).is_nan());
    assert!((stable_gain(1e-12) - 1e-12).abs() < 1e-23);
    assert!((stable_gain(1.0 / E) - 1.0).abs() < 1e-7);
}

const CHANNEL: QuadraticResistance =
    QuadraticResistance { at_25: Resistance::new(0.008), per_kelvin: 0.004, per_square_kelvin: 1.5e-5 };

/// Hottest coolant with which it still comes to rest, where the two roots of its balance meet:
/// `T_f = 25 °C + (1 − k·a)²/(4·k·b) − k`, `k = R·I²·r_25`.
fn critical_coolant_of_quadratic_resistance(
    path: ThermalResistance,
    rms: Current,
    resistance: QuadraticResistance,
) -> Temperature {
    let k = (rms * rms * resistance.at_25 * path).si();
    let m = 1.0 - k * resistance.per_kelvin;
    let rise = m * m / (4.0 * k * resistance.per_square_kelvin) - k;
    QuadraticResistance::REFERENCE + TemperatureDifference::new(rise)
}

#[test]
fn channel_satisfies_its_own_balance_up_to_the_critical_coolant() {
    let rms = Current::new(90.0);
    let critical = critical_coolant_of_quadratic_resistance(PATH, rms, CHANNEL);
    for below in [250.0, 100.0, 5.0, 1e-3] {
        let coolant = critical - TemperatureDifference::new(below);
        let (t, g) = steady(quadratic_resistance(coolant, PATH, rms, CHANNEL));
        let loss = rms * rms * CHANNEL.at(Temperature::celsius(t));
        assert!((coolant + loss * PATH - Temperature::celsius(t)).si().abs() < 1e-8);
        let slope = 90.0 * 90.0 * 0.008 * (0.004 + 3e-5 * (t - 25.0));
        assert!((g - 0.4 * slope).abs() < 1e-7 && g < 1.0);
    }
    let above = critical + TemperatureDifference::new(0.01);
    assert!(matches!(quadratic_resistance(above, PATH, rms, CHANNEL), Feedback::NoSteadyState { .. }));
}

#[test]
fn a_straight_resistance_equals_the_linear_loss() {
    let straight = QuadraticResistance { per_square_kelvin: 0.0, ..CHANNEL };
    let rms = Current::new(90.0);
    let loss = rms * rms * straight.at_25;
    let by_parabola = steady(quadratic_resistance(COOLANT, PATH, rms, straight));
    let by_line = steady(linear(COOLANT, PATH, loss, 0.004, Temperature::celsius(25.0)));
    assert!((by_parabola.0 - by_line.0).abs() < 1e-10 && (by_parabola.1 - by_line.1).abs() < 1e-12);
}

#[test]
fn a_resistance_that_outgrew_its_cooling_is_told_apart_from_a_cold_one_that_holds() {
    // k·a = 1.3: at 25 °C the line alone runs away. Colder, the parabola is flat enough to hold.
    let (path, rms) = (ThermalResistance::new(0.65), Current::new(250.0));
    assert!(matches!(quadratic_resistance(COOLANT, path, rms, CHANNEL), Feedback::NoSteadyState { .. }));
    // Both roots of the parabola lie far below this coolant; neither may be given.
    let hot = Temperature::celsius(2000.0);
    match quadratic_resistance(hot, path, rms, CHANNEL) {
        Feedback::NoSteadyState { loop_gain } => assert!(loop_gain > 10.0),
        other => panic!("nothing holds there, got {other:?}"),
    }
    let critical = critical_coolant_of_quadratic_resistance(PATH, Current::new(150.0), CHANNEL);
    let (t, _) = steady(quadratic_resistance(
        critical - TemperatureDifference::new(20.0),
        PATH,
        Current::new(150.0),
        CHANNEL,
    ));
    assert!(t > critical.in_celsius() - 20.0);
}

#[test]
fn almost_no_current_almost_does_not_heat() {
    for celsius in [-60.0, -0.3, 0.0, 25.0, 65.3] {
        for rms in [0.0, 1e-9, 1e-6, 1e-3] {
            let (t, g) =
                steady(quadratic_resistance(Temperature::celsius(celsius), PATH, Current::new(rms), CHANNEL));
            assert!((t - celsius).abs() < 1e-6 && g.abs() < 1e-6);
        }
    }
}

#[test]
fn a_resistance_that_flattens_out_holds_where_a_straight_one_does_not() {
    let flattening = QuadraticResistance { per_square_kelvin: -1e-5, ..CHANNEL };
    let (path, rms) = (ThermalResistance::new(0.5), Current::new(110.0));
    let (t, g) = steady(quadratic_resistance(COOLANT, path, rms, flattening));
    let loss = rms * rms * flattening.at(Temperature::celsius(t));
    assert!((COOLANT + loss * path - Temperature::celsius(t)).si().abs() < 1e-9 && g < 1.0);
}

#[test]
fn a_missing_input_is_not_judged() {
    let unknown = Temperature::celsius(f64::NAN);
    let reference = Temperature::celsius(25.0);
    assert_eq!(linear(unknown, PATH, Power::new(1.0), 0.0, reference), Feedback::NotJudged);
    assert_eq!(linear(COOLANT, PATH, Power::new(1.0), f64::NAN, reference), Feedback::NotJudged);
    let fold = TemperatureDifference::new(22.0);
    assert_eq!(
        leakage(unknown, PATH, Power::new(1.0), Power::new(1.0), reference, fold),
        Feedback::NotJudged
    );
    assert_eq!(quadratic_resistance(COOLANT, PATH, Current::new(f64::NAN), CHANNEL), Feedback::NotJudged);
}
