//! Windings and cores of a whole chain against the currents and fluxes themselves: sampled, taken apart into harmonics, and
//! their heat solved by iteration.

use std::f64::consts::{PI, TAU};

use loadworthy_unit::{LaneId, Solved};

use crate::bench::{CHAIN, changed, close, figure, lane, unit, value};

/// The chain with everything stated of its magnetic components.
fn wound() -> String {
    changed(
        CHAIN,
        &[
            (
                "    core: { loss: 15 W }\n    winding: { resistance: 6 mohm }\n",
                "    tolerance: 10 %
    turns: 40
    core:
      { area: 20 cm^2, volume: 600 cm^3, saturation: { flux_density: [1.5 T, 1.3 T], at: [25 degC, 120 degC] },
        steinmetz:
          { density: 80 kW/m^3, frequency: 10 kHz, flux_density: 0.1 T, frequency_exponent: 1.5, flux_exponent: 1.9, reach: 4 },
        to_case: 0.2 K/W, hottest: 130 degC }
    winding:
      { resistance: 6 mohm, at: 20 degC, conductor: { kind: foil, thickness: 0.8 mm, layers: 12, filling: 90 % },
        to_case: 0.12 K/W, hot_spot: 15 K, hottest: 155 degC }
",
            ),
            (
                "    core: { loss: 4 W }\n    primary: { resistance: 30 mohm }\n    secondary: { resistance: 2 mohm }\n",
                "    primary_turns: 16
    flux_walking: 10 %
    core:
      { area: 3.5 cm^2, volume: 36 cm^3, saturation: { flux_density: 0.36 T, at: 100 degC, fall: 0.004 1/K },
        steinmetz:
          { density: 300 kW/m^3, frequency: 100 kHz, flux_density: 0.2 T, frequency_exponent: 1.45, flux_exponent: 2.5, reach: 4 },
        to_case: 0.5 K/W, hottest: 120 degC }
    primary:
      { resistance: 30 mohm, at: 20 degC,
        conductor: { kind: litz, diameter: 0.1 mm, strands: 200, layers: 2, filling: 80 % }, to_case: 1 K/W,
        hot_spot: 15 K, hottest: 155 degC }
    secondary:
      { resistance: 2 mohm, at: 20 degC, conductor: { kind: foil, thickness: 0.3 mm, layers: 4, filling: 90 % }, to_case: 0.8 K/W,
        hot_spot: 15 K, hottest: 155 degC }
",
            ),
        ],
    )
    .replace("step_up_choke: {}", "step_up_choke: { face_a: 0.1 K/W }")
    .replace("auxiliary_transformer: {}", "auxiliary_transformer: { face_a: 0.5 K/W }")
}

fn resistivity(celsius: f64) -> f64 {
    1.7241e-8 * (1.0 + 0.00393 * (celsius - 20.0))
}

/// Alternating over direct resistance of a stack of sheets, from its complex form: Re of M + (p² − 1)/3·D with
/// M = z·coth z, D = 2·z·tanh(z/2), z = (1 + j)·X.
fn stack(thickness: f64, layers: f64, filling: f64, hertz: f64, celsius: f64) -> f64 {
    let x = thickness * (PI * hertz * 4e-7 * PI / resistivity(celsius)).sqrt() * filling.sqrt();
    // tanh of (1 + j)·x.
    let tanh = |x: f64| {
        let below = libm::cosh(2.0 * x) + libm::cos(2.0 * x);
        (libm::sinh(2.0 * x) / below, libm::sin(2.0 * x) / below)
    };
    let (a, b) = tanh(x);
    let square = a * a + b * b;
    let own = x * (a + b) / square;
    let (c, d) = tanh(0.5 * x);
    own + (layers * layers - 1.0) / 3.0 * 2.0 * x * (c - d)
}

/// Mean squares of the harmonics of samples over a period, the first two hundred.
fn harmonics(samples: &[f64]) -> Vec<f64> {
    let count = samples.len() as f64;
    (1..=200)
        .map(|n| {
            let turn = |k: usize| TAU * f64::from(n) * (k as f64 + 0.5) / count;
            let real: f64 = samples.iter().enumerate().map(|(k, i)| i * libm::cos(turn(k))).sum();
            let imaginary: f64 = samples.iter().enumerate().map(|(k, i)| i * libm::sin(turn(k))).sum();
            2.0 * (real * real + imaginary * imaginary) / (count * count)
        })
        .collect()
}

/// Loss of a core by the integral over its sampled flux, from the point that its material is described by.
fn by_integral(flux: &[f64], hertz: f64, point: (f64, f64, f64), (alpha, beta): (f64, f64)) -> f64 {
    let (density, at, crest) = point;
    let k = density / (libm::pow(at, alpha) * libm::pow(crest, beta));
    let turn =
        (0..20_000).map(|n| libm::pow(libm::cos(TAU * f64::from(n) / 20_000.0).abs(), alpha)).sum::<f64>();
    let scale = k / (libm::pow(TAU, alpha - 1.0) * (turn * TAU / 20_000.0) * libm::pow(2f64, beta - alpha));
    let swing = flux.iter().copied().fold(f64::MIN, f64::max) - flux.iter().copied().fold(f64::MAX, f64::min);
    let step = 1.0 / (hertz * flux.len() as f64);
    let pace = |n: usize| libm::pow(((flux[(n + 1) % flux.len()] - flux[n]) / step).abs(), alpha);
    scale * libm::pow(swing, beta - alpha) * (0..flux.len()).map(pace).sum::<f64>() / flux.len() as f64
}

#[test]
fn a_choke_of_a_boost_loses_what_its_waveform_says_and_gets_as_hot() {
    let unit = unit(&wound());
    let solved = Solved::new(&unit.variants[0]);
    for lane in solved.variant.lane_ids() {
        choke(&solved, lane);
    }
}

fn choke(solved: &Solved<'_>, lane: LaneId) {
    let of = |path: &str| value(solved, lane, path);
    let (mean, ripple, duty) =
        (of("step_up.leg_current"), of("step_up.choke_ripple_current"), of("step_up.low_side_duty"));
    let count = 4000;
    let phase = |k: usize| (k as f64 + 0.5) / count as f64;
    let shape = |at: f64| if at < duty { at / duty } else { (1.0 - at) / (1.0 - duty) };
    let amps: Vec<f64> = (0..count).map(|k| mean + ripple * (shape(phase(k)) - 0.5)).collect();
    let flux: Vec<f64> = amps.iter().map(|amps| 220e-6 * (amps - mean) / (40.0 * 20e-4)).collect();
    let core = 600e-6 * by_integral(&flux, 10e3, (80e3, 10e3, 0.1), (1.5, 1.9));
    // Below the reach of the flux the loss at its lower end stands.
    let swing = 220e-6 * ripple / (40.0 * 20e-4);
    let core = if swing < 2.0 * 0.1 / 4.0 { core * libm::pow(0.05 / swing, 1.9) } else { core };
    close(of("step_up.step_up_choke.core_loss"), core, 5e-3, "core loss");
    let squares = harmonics(&amps);
    let rms = amps.iter().map(|amps| amps * amps).sum::<f64>() / count as f64;
    let loss = |celsius: f64| {
        let warm = 6e-3 * resistivity(celsius) / resistivity(20.0);
        let excess: f64 = squares
            .iter()
            .zip(1..)
            .map(|(square, n)| square * (stack(0.8e-3, 12.0, 0.9, 10e3 * f64::from(n), celsius) - 1.0))
            .sum();
        warm * (rms + excess)
    };
    let plate = of("step_up.step_up_choke.case_temperature") - 0.1 * of("step_up.step_up_choke.loss");
    let mut celsius = plate;
    for _ in 0..200 {
        let watts = loss(celsius);
        celsius = plate + 0.1 * (watts + core) + 0.12 * watts;
    }
    close(of("step_up.step_up_choke.winding_loss"), loss(celsius), 0.02, "winding loss");
    close(of("step_up.step_up_choke.mean_winding_temperature") - plate, celsius - plate, 0.02, "its warming");
    close(of("step_up.step_up_choke.winding_temperature"), celsius + 15.0, 0.01, "its hottest place");
    // Flux: 10 % more inductance carry 10 % more direct flux, and the same ripple.
    let crest = (220e-6 * 1.1 * mean.abs() + 220e-6 * 0.5 * ripple) / (40.0 * 20e-4);
    close(of("step_up.step_up_choke.flux_density"), crest, 1e-9, "crest of the flux");
}

#[test]
fn a_transformer_of_a_bridge_loses_by_its_trapezoid() {
    let unit = unit(&wound());
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "climb");
    let of = |path: &str| value(&solved, lane, path);
    let duty = of("auxiliary.effective_duty");
    let swing = 500e-6 * of("auxiliary.magnetising_ripple_current") / (16.0 * 3.5e-4);
    let count = 4000;
    let flux: Vec<f64> = (0..count)
        .map(|k| {
            let at = f64::from(k) / f64::from(count);
            let (half, sign) = if at < 0.5 { (2.0 * at, 1.0) } else { (2.0 * at - 1.0, -1.0) };
            sign * swing * ((half / duty).min(1.0) - 0.5)
        })
        .collect();
    let core = 36e-6 * by_integral(&flux, 120e3, (300e3, 100e3, 0.2), (1.45, 2.5));
    close(of("auxiliary.auxiliary_transformer.core_loss"), core, 5e-3, "core loss");
    // Each choke of the doubler sees the secondary in one of two half periods, so that it gives twice the output's volts.
    let driven = 2.0 * of("auxiliary.driven_voltage") * 4.0 / (2.0 * 120e3 * 16.0 * 3.5e-4);
    close(swing, driven, 0.03, "swing of the flux");
    close(of("auxiliary.auxiliary_transformer.flux_density"), 1.1 * 0.5 * swing, 1e-9, "crest with walking");
    let warm = of("auxiliary.auxiliary_transformer.core_temperature");
    let carries = if warm < 100.0 { 0.36 } else { 0.36 * (1.0 - 0.004 * (warm - 100.0)) };
    close(of("auxiliary.auxiliary_transformer.saturation"), carries, 1e-9, "saturation");
}

#[test]
fn what_they_lose_stands_in_the_loss_of_the_stage_and_in_the_coolant() {
    let unit = unit(&wound());
    let solved = Solved::new(&unit.variants[0]);
    let variant = solved.variant;
    for lane in variant.lane_ids() {
        let plan = &variant.plan;
        for magnetic in &plan.magnetics {
            let of = |id| solved.figure(id, lane).expect("a figure");
            let sum: f64 = magnetic.windings.iter().map(|winding| of(winding.loss)).sum();
            close(of(magnetic.loss), sum + of(magnetic.core.figures.loss), 1e-12, "sum of its losses");
        }
        let path = plan.coolant.as_ref().expect("a coolant path");
        let places: f64 = path.places.iter().map(|place| solved.figure(place.heat, lane).unwrap()).sum();
        close(solved.figure(path.heat, lane).unwrap(), places, 1e-9, "heat of the loop");
        let derivation = solved.derivation(lane);
        for (k, replayed) in derivation.figures.iter().enumerate() {
            let stored = solved.raw(loadworthy_unit::FigureId::new(k), lane);
            assert_eq!(replayed.to_bits(), stored.to_bits(), "a replay differs");
        }
        for (group, residual) in &derivation.steps.together {
            assert!(*residual <= 1e-9, "{residual} K left over at {}", variant.tables.figure_path(group[0]));
        }
    }
}

#[test]
fn beyond_the_reach_of_its_material_nothing_is_known() {
    let text =
        wound().replace("frequency: 10 kHz, flux_density: 0.1 T", "frequency: 50 kHz, flux_density: 0.1 T");
    let unit = unit(&text);
    let solved = Solved::new(&unit.variants[0]);
    let lane = lane(solved.variant, "climb");
    let loss = figure(solved.variant, "step_up.step_up_choke.core_loss");
    assert!(solved.figure(loss, lane).is_none(), "10 kHz is a fifth of the frequency of the point");
    let causes = solved.missing(loss, lane);
    assert!(
        matches!(causes.as_slice(), [loadworthy_unit::Cause::Beyond { reach: Some(reach), .. }] if reach.what == "frequency"),
        "{causes:?}"
    );
}
