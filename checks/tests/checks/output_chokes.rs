//! The two output chokes of a current doubler, which share unevenly.

use loadworthy_unit::plan::{Magnetic, MagneticRole, Topology};
use loadworthy_unit::{LaneId, Solved};

use crate::descriptions::{changed, reviewed, unit};

fn forwarder() -> &'static str {
    include_str!("../../../examples/timber-forwarder.yaml")
}

/// The same with so much more in one choke.
fn uneven(share: &str) -> String {
    let own = "    output_inductor: auxiliary_choke";
    changed(forwarder(), own, &format!("    choke_imbalance: {share}\n{own}"))
}

/// Crest and RMS current of the choke that carries most, those of an even one, the load, and the crest of flux, in the first lane.
fn choke(text: &str) -> [f64; 6] {
    let unit = unit(text);
    let solved = Solved::new(&unit.variants[0]);
    let (plan, lane) = (&solved.variant.plan, LaneId::new(0));
    let is_output = |one: &&Magnetic| one.role == MagneticRole::OutputChoke;
    let choke = plan.magnetics.iter().find(is_output).expect("an output choke");
    let own = choke.uneven.expect("a doubler");
    let stage =
        plan.stages.iter().find(|stage| matches!(stage.topology, Topology::Isolated(_))).expect("one");
    let Topology::Isolated(isolated) = &stage.topology else { unreachable!("found as one") };
    let even = &isolated.figures;
    let flux = choke.core.figures.flux_density;
    [own.peak, own.rms, even.choke_peak, even.choke_rms, stage.ports[1].current, flux]
        .map(|figure| solved.figure(figure, lane).expect("solved"))
}

#[test]
fn the_choke_that_carries_most_of_a_doubler_is_held_to_flux_and_heat() {
    let [peak, rms, even_peak, even_rms, load, flux] = choke(&uneven("10 %"));
    assert!((peak - even_peak - 0.1 * 0.5 * load).abs() < 1e-9 * peak, "{peak} beside {even_peak}");
    let square = even_rms * even_rms + (1.1 * 1.1 - 1.0) * 0.25 * load * load;
    assert!((rms / square.sqrt() - 1.0).abs() < 1e-9, "{rms}");
    let [even, .., of_even] = choke(&uneven("0 %"));
    assert!((even / even_peak - 1.0).abs() < 1e-9);
    assert!(flux > 1.03 * of_even, "{flux} T beside {of_even} T");
    // Where nobody says, 5 % by name.
    let [assumed, ..] = choke(forwarder());
    assert!((assumed - even_peak - 0.05 * 0.5 * load).abs() < 1e-9 * peak);
    assert!(reviewed(&uneven("100 %")).findings.iter().any(|one| {
        one.part.contains("auxiliary_choke") && ["core-saturation", "winding-loading"].contains(&one.check)
    }));
}

/// Two chokes with resistances of 1.1 and 0.9 mohm, one driven in each half period, stepped until their currents stand: 10 V for a
/// third of the period each, on a load of 100 A.
#[test]
fn resistances_divide_the_direct_current_of_a_doubler() {
    let (henry, ohms, load, farad) = (4e-6, [1.1e-3, 0.9e-3], 100.0, 20e-3);
    let (period, steps) = (10e-6, 120);
    let step = period / f64::from(steps);
    let (mut amps, mut volts) = ([50.0, 50.0], 10.0 / 3.0);
    let (mut means, mut squares) = ([0.0; 2], [0.0; 2]);
    let periods = 6000;
    for turn in 0..periods {
        for k in 0..steps {
            let drives = [k < steps / 3, (steps / 2..steps / 2 + steps / 3).contains(&k)];
            let mut sum = 0.0;
            for choke in 0..2 {
                let node = if drives[choke] { 10.0 } else { 0.0 };
                amps[choke] += step * (node - volts - ohms[choke] * amps[choke]) / henry;
                sum += amps[choke];
                if turn >= periods - 200 {
                    means[choke] += amps[choke] / f64::from(200 * steps);
                    squares[choke] += amps[choke] * amps[choke] / f64::from(200 * steps);
                }
            }
            volts += step * (sum - load) / farad;
        }
    }
    // R_1·I_1 = R_2·I_2: a tenth above half of the load.
    assert!((means[1] / 55.0 - 1.0).abs() < 2e-3 && (means[0] / 45.0 - 1.0).abs() < 2e-3, "{means:?}");
    // The ripple stays: what is above the mean is alike in both.
    let ripple = |choke: usize| squares[choke] - means[choke] * means[choke];
    assert!((ripple(0) / ripple(1) - 1.0).abs() < 0.02, "{} and {}", ripple(0), ripple(1));
}
