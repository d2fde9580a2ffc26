//! Parallel devices against all their unknowns solved at once, and the verdict on stability against their
//! temperatures in time.

use loadworthy_physics::sharing::{self, Corner, CornerPoint, OnStateLine, Stability, WarmDevice};
use loadworthy_physics::{Current, LossSlope, Power, Resistance, Temperature, ThermalResistance, Voltage};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;
use crate::switched::balanced;

/// A group and its switching loss: a share that grows with the current and one that grows with its square, each with a
/// growth for each kelvin. What grows with the current of a device whichever it is stands in the corner itself.
#[derive(Clone, Copy, Debug)]
struct Group {
    corner: Corner,
    switching: [f64; 3],
}

impl Group {
    fn switching_loss(&self, factor: f64) -> (f64, f64) {
        let [linear, square, per_kelvin] = self.switching;
        let at_zero = linear * factor + square * factor * factor;
        (at_zero, at_zero * per_kelvin)
    }

    fn point(&self) -> CornerPoint {
        sharing::corner(&self.corner, |factor| {
            let (at_zero, growth) = self.switching_loss(factor);
            (Power::new(at_zero), LossSlope::new(growth))
        })
    }

    /// On-state voltage over the middle one, and reference temperature, of one device.
    fn device(&self, k: usize) -> (f64, f64) {
        let Corner { spread, low_reference, others_reference, .. } = self.corner;
        if k == 0 {
            (1.0 - spread, low_reference.in_celsius())
        } else {
            (1.0 + spread, others_reference.in_celsius())
        }
    }

    fn line(&self, celsius: f64) -> (f64, f64) {
        let OnStateLine { knee, knee_per_kelvin, slope, slope_per_kelvin } = self.corner.line;
        (knee.si() + knee_per_kelvin.si() * celsius, slope.si() + slope_per_kelvin.si() * celsius)
    }

    fn loss(&self, side: f64, factor: f64, celsius: f64) -> f64 {
        let (knee, slope) = self.line(celsius);
        let (mean, rms) = (self.corner.mean.si() * factor, self.corner.rms.si() * factor);
        let (switched, growth) = self.switching_loss(factor);
        let (beside, beside_growth) = self.corner.beside;
        let beside = factor * (beside.si() + beside_growth.si() * celsius);
        side * (knee * mean + slope * rms * rms) + switched + growth * celsius + beside
    }

    fn crest_voltage(&self, side: f64, factor: f64, celsius: f64) -> f64 {
        let (knee, slope) = self.line(celsius);
        side * (knee + slope * self.corner.crest.si() * factor)
    }

    fn junction(&self, reference: f64, loss: f64) -> f64 {
        let Corner { to_case, case_to_reference, other_heat, .. } = self.corner;
        reference + case_to_reference.si() * (loss + other_heat.si()) + to_case.si() * loss
    }

    /// Voltage, currents and temperatures of all devices at once; nothing is said about which are equal.
    fn all_at_once<const N: usize>(&self) -> [f64; N] {
        let n = (N - 1) / 2;
        let crest = self.crest_voltage(1.0, 1.0, 80.0);
        let mut guess = [80.0; N];
        guess[0] = crest;
        guess[1..=n].fill(1.0);
        let mut scales = [10.0; N];
        scales[0] = crest;
        scales[1..=n].fill(1.0);
        balanced(guess, scales, |unknowns| {
            let mut misses = [0.0; N];
            for k in 0..n {
                let (side, reference) = self.device(k);
                let (factor, celsius) = (unknowns[1 + k], unknowns[1 + n + k]);
                misses[k] = self.crest_voltage(side, factor, celsius) / unknowns[0] - 1.0;
                misses[n + k] =
                    (celsius - self.junction(reference, self.loss(side, factor, celsius))) / 100.0;
            }
            misses[2 * n] = unknowns[1..=n].iter().sum::<f64>() / n as f64 - 1.0;
            misses
        })
    }

    fn agrees_at_once<const N: usize>(&self) -> Result<(), TestCaseError> {
        let point = self.point();
        prop_assert_eq!(point.stability, Stability::Stable);
        let all: [f64; N] = self.all_at_once();
        let n = (N - 1) / 2;
        prop_assert!((point.voltage.si() / all[0] - 1.0).abs() < 1e-9);
        prop_assert!((point.factor - all[1]).abs() < 1e-9, "{} against {}", point.factor, all[1]);
        prop_assert!((point.low_junction.in_celsius() - all[1 + n]).abs() < 1e-7);
        for k in 1..n {
            prop_assert!((point.others_factor - all[1 + k]).abs() < 1e-9);
            prop_assert!((point.others_junction.in_celsius() - all[1 + n + k]).abs() < 1e-7);
        }
        let loss = self.loss(1.0 - self.corner.spread, point.factor, point.low_junction.in_celsius());
        prop_assert!((point.low_loss.si() / loss - 1.0).abs() < 1e-9);
        Ok(())
    }

    /// Whether a small excess of one of two equal devices has grown after many thermal time constants.
    ///
    /// Each junction follows its own loss with one time constant; the current parts by equal voltage at the
    /// crest at every instant.
    fn grows(&self) -> bool {
        let (_, reference) = self.device(0);
        let crest = self.corner.crest.si();
        let settle = |celsius: f64, loss: f64| self.junction(reference, loss) - celsius;
        let mut middle = reference;
        for _ in 0..20_000 {
            middle += 0.02 * settle(middle, self.loss(1.0, 1.0, middle));
        }
        let start = 1e-4;
        let (mut one, mut other) = (middle + start, middle - start);
        for _ in 0..20_000 {
            let ((knee1, slope1), (knee2, slope2)) = (self.line(one), self.line(other));
            // V_1 + r_1·k·Î = V_2 + r_2·(2 − k)·Î.
            let factor = (knee2 - knee1 + 2.0 * slope2 * crest) / ((slope1 + slope2) * crest);
            let (rise1, rise2) = (
                settle(one, self.loss(1.0, factor, one)),
                settle(other, self.loss(1.0, 2.0 - factor, other)),
            );
            one += 0.02 * rise1;
            other += 0.02 * rise2;
            if (one - other).abs() > 1.0 {
                return true;
            }
        }
        (one - other).abs() > 2.0 * start
    }
}

/// Groups of any kind: knee and slope that rise or fall with temperature, alternating or direct current.
fn groups(devices: u32) -> impl Strategy<Value = Group> {
    (
        (0.0..0.2f64, 0.0..1.2f64, -2e-3..1e-3f64, 1.5e-3..4e-3f64, 0.0..1.5e-5f64),
        (60.0..250.0f64, 0.4..1.0f64, 0.05..0.2f64, 0.02..0.1f64, 0.0..60.0f64),
        (40.0..75.0f64, -6.0..6.0f64, 0.0..60.0f64, 0.0..20.0f64, 0.0..3e-3f64),
        (0.0..40.0f64, -0.02..0.05f64),
    )
        .prop_map(
            move |(
                (spread, knee, knee_per_kelvin, slope, slope_per_kelvin),
                (crest, fill, to_case, case_to_reference, other_heat),
                (reference, step, linear, square, per_kelvin),
                (beside, beside_growth),
            )| Group {
                corner: Corner {
                    low_edges: 1.0,
                    beside: (Power::new(beside), LossSlope::new(beside_growth)),
                    devices,
                    spread,
                    line: OnStateLine {
                        knee: Voltage::new(knee),
                        knee_per_kelvin: Voltage::new(knee_per_kelvin * knee),
                        slope: Resistance::new(slope),
                        slope_per_kelvin: Resistance::new(slope_per_kelvin),
                    },
                    mean: Current::new(crest * fill * 0.5),
                    rms: Current::new(crest * fill * 0.7),
                    crest: Current::new(crest),
                    to_case: ThermalResistance::new(to_case),
                    case_to_reference: ThermalResistance::new(case_to_reference),
                    other_heat: Power::new(other_heat),
                    low_reference: Temperature::celsius(reference),
                    others_reference: Temperature::celsius(reference + step),
                },
                switching: [linear, square, per_kelvin],
            },
        )
}

proptest! {
    #![proptest_config(repeatable(40))]

    #[test]
    fn two_devices(group in groups(2)) {
        group.agrees_at_once::<5>()?;
    }

    #[test]
    fn three_devices(group in groups(3)) {
        group.agrees_at_once::<7>()?;
    }

    #[test]
    fn six_devices(group in groups(6)) {
        group.agrees_at_once::<13>()?;
    }

    #[test]
    fn without_spread_all_are_alike(group in groups(4)) {
        let alike = Corner { spread: 0.0, others_reference: group.corner.low_reference, ..group.corner };
        let point = Group { corner: alike, ..group }.point();
        prop_assert_eq!(point.factor.to_bits(), 1.0f64.to_bits());
        prop_assert_eq!(point.others_factor.to_bits(), 1.0f64.to_bits());
        prop_assert_eq!(point.low_junction, point.others_junction);
    }

    #[test]
    fn a_gain_above_one_is_an_imbalance_that_grows(
        group in groups(2), knee in 0.7..1.3f64, falling in 1e-3..4e-3f64, to_case in 0.05..1.2f64,
    ) {
        let Group { corner, .. } = group;
        let line = OnStateLine {
            knee: Voltage::new(knee),
            knee_per_kelvin: Voltage::new(-falling),
            slope_per_kelvin: Resistance::ZERO,
            ..corner.line
        };
        let corner = Corner {
            spread: 0.0,
            line,
            to_case: ThermalResistance::new(to_case),
            other_heat: Power::ZERO,
            others_reference: corner.low_reference,
            ..corner
        };
        let group = Group { corner, switching: group.switching };
        let point = group.point();
        // Close to one neither grows nor dies out in the time that is watched.
        if (point.hogging_gain - 1.0).abs() > 0.02 && point.thermal_gain < 0.98 {
            let stable = point.stability == Stability::Stable;
            prop_assert_eq!(stable, point.hogging_gain < 1.0);
            prop_assert_eq!(group.grows(), !stable, "gain {}", point.hogging_gain);
        }
    }

    #[test]
    fn unequal_devices_with_direct_current(
        spreads in prop::array::uniform4(-0.2..0.2f64), coolants in prop::array::uniform4(40.0..70.0f64),
        knee in 0.0..1.0f64, drift in -1e-3..1e-3f64, total in 100.0..1500.0f64,
    ) {
        let devices: Vec<WarmDevice> = (0..4)
            .map(|k| WarmDevice {
                line: OnStateLine {
                    knee: Voltage::new(knee),
                    knee_per_kelvin: Voltage::new(drift * knee),
                    slope: Resistance::new(2e-3 * (1.0 + spreads[k])),
                    slope_per_kelvin: Resistance::new(8e-6),
                },
                path: ThermalResistance::new(0.15),
                reference: Temperature::celsius(coolants[k]),
                other_heat: Power::new(20.0),
            })
            .collect();
        let mut rest = [(Current::ZERO, Temperature::celsius(0.0)); 4];
        let voltage = sharing::warm_split(&devices, Current::new(total), &mut rest);
        let all: [f64; 9] = balanced(
            [1.0, total / 4.0, total / 4.0, total / 4.0, total / 4.0, 80.0, 80.0, 80.0, 80.0],
            [1.0, total, total, total, total, 10.0, 10.0, 10.0, 10.0],
            |unknowns| {
                let mut misses = [0.0; 9];
                for k in 0..4 {
                    let (current, celsius) = (unknowns[1 + k], unknowns[5 + k]);
                    let own = devices[k].line.voltage(Current::new(current), Temperature::celsius(celsius));
                    misses[k] = own.si() / unknowns[0] - 1.0;
                    misses[4 + k] = (celsius - coolants[k] - 0.15 * (unknowns[0] * current + 20.0)) / 100.0;
                }
                misses[8] = unknowns[1..5].iter().sum::<f64>() / total - 1.0;
                misses
            },
        );
        prop_assert!((voltage.si() / all[0] - 1.0).abs() < 1e-9);
        for k in 0..4 {
            prop_assert!((rest[k].0.si() / all[1 + k] - 1.0).abs() < 1e-8);
            prop_assert!((rest[k].1.in_celsius() - all[5 + k]).abs() < 1e-6);
        }
    }
}

#[test]
fn the_gain_of_equal_devices_is_that_of_the_plain_formula() {
    let line = OnStateLine {
        knee: Voltage::new(0.9),
        knee_per_kelvin: Voltage::new(-2e-3),
        slope: Resistance::new(3e-3),
        slope_per_kelvin: Resistance::new(6e-6),
    };
    let share = Current::new(100.0);
    let corner = Corner {
        low_edges: 1.0,
        beside: (Power::ZERO, LossSlope::ZERO),
        devices: 3,
        spread: 0.0,
        line,
        mean: share,
        rms: share,
        crest: share,
        to_case: ThermalResistance::new(0.2),
        case_to_reference: ThermalResistance::new(0.1),
        other_heat: Power::ZERO,
        low_reference: Temperature::celsius(65.0),
        others_reference: Temperature::celsius(65.0),
    };
    let point = sharing::corner(&corner, |_| (Power::ZERO, LossSlope::ZERO));
    let per_kelvin = line.knee_per_kelvin + line.slope_per_kelvin * share;
    let own = ThermalResistance::new(0.3);
    let slope = line.slope_at(point.low_junction);
    let gain = sharing::hogging_gain(own, ThermalResistance::ZERO, point.voltage, per_kelvin, slope);
    assert!((point.hogging_gain - gain).abs() < 1e-9, "{} against {gain}", point.hogging_gain);
    let common = 0.3 * 100.0 * per_kelvin.si();
    assert!((point.thermal_gain - common).abs() < 1e-12);
}

#[test]
fn what_is_missing_is_not_judged_and_one_device_shares_with_nobody() {
    let corner = Corner {
        low_edges: 1.0,
        beside: (Power::ZERO, LossSlope::ZERO),
        devices: 4,
        spread: 0.1,
        line: OnStateLine {
            knee: Voltage::new(0.8),
            knee_per_kelvin: Voltage::ZERO,
            slope: Resistance::new(2e-3),
            slope_per_kelvin: Resistance::new(1e-5),
        },
        mean: Current::new(50.0),
        rms: Current::new(80.0),
        crest: Current::new(160.0),
        to_case: ThermalResistance::new(0.1),
        case_to_reference: ThermalResistance::new(0.05),
        other_heat: Power::new(30.0),
        low_reference: Temperature::celsius(65.0),
        others_reference: Temperature::celsius(65.0),
    };
    let none = |_: f64| (Power::ZERO, LossSlope::ZERO);
    assert_eq!(sharing::corner(&corner, none).stability, Stability::Stable);
    let holed = [
        Corner { spread: f64::NAN, ..corner },
        Corner { mean: Current::new(f64::NAN), ..corner },
        Corner { crest: Current::new(f64::NAN), ..corner },
        Corner { other_heat: Power::new(f64::NAN), ..corner },
        Corner { others_reference: Temperature::celsius(f64::NAN), ..corner },
        Corner { devices: 0, ..corner },
        Corner { devices: 1, to_case: ThermalResistance::new(f64::NAN), ..corner },
    ];
    for inputs in holed {
        let point = sharing::corner(&inputs, none);
        assert_eq!(point.stability, Stability::NotJudged, "{inputs:?}");
        assert!(point.factor.is_nan() && point.low_junction.in_celsius().is_nan());
    }
    let missing = sharing::corner(&corner, |_| (Power::new(f64::NAN), LossSlope::ZERO));
    assert_eq!(missing.stability, Stability::NotJudged);

    let single = sharing::corner(&Corner { devices: 1, ..corner }, none);
    assert_eq!(single.stability, Stability::Stable);
    assert_eq!(single.factor.to_bits(), 1.0f64.to_bits());
    // A junction that warms itself faster than it cools has no rest, alone or in a group.
    let hot = Corner { to_case: ThermalResistance::new(50.0), ..corner };
    assert_eq!(sharing::corner(&hot, none).stability, Stability::NoStableSharing);
    assert_eq!(sharing::corner(&Corner { devices: 1, ..hot }, none).stability, Stability::NoStableSharing);
}

#[test]
fn a_current_too_small_for_the_knees_of_the_others_is_carried_by_one_device() {
    let corner = Corner {
        low_edges: 1.0,
        beside: (Power::ZERO, LossSlope::ZERO),
        devices: 3,
        spread: 0.2,
        line: OnStateLine {
            knee: Voltage::new(0.9),
            knee_per_kelvin: Voltage::new(-1e-4),
            slope: Resistance::new(2e-3),
            slope_per_kelvin: Resistance::new(5e-6),
        },
        mean: Current::new(5.0),
        rms: Current::new(8.0),
        crest: Current::new(16.0),
        to_case: ThermalResistance::new(0.1),
        case_to_reference: ThermalResistance::new(0.05),
        other_heat: Power::ZERO,
        low_reference: Temperature::celsius(65.0),
        others_reference: Temperature::celsius(65.0),
    };
    let none = |_: f64| (Power::ZERO, LossSlope::ZERO);
    // 48 A through the low device leave 0.8·(0.89 V + 2.4 mOhm·48 A) = 0.80 V, and the knee of the others is 1.07 V.
    let point = sharing::corner(&corner, none);
    assert_eq!(point.stability, Stability::Stable);
    assert_eq!((point.factor.to_bits(), point.others_factor.to_bits()), (3.0f64.to_bits(), 0.0f64.to_bits()));
    assert!(point.voltage < corner.line.knee_at(point.others_junction) * 1.2);
    // The factor comes to n without a step as the current falls to where the others stop conducting; also where the low
    // device gets there by its warmth alone, and where it is the one that switches first.
    for (per_kelvin, low_edges) in [(-1e-4, 1.0), (-2e-3, 1.0), (-2e-3, 1.6)] {
        let line = OnStateLine { knee_per_kelvin: Voltage::new(per_kelvin), ..corner.line };
        let mut before = 3.0;
        for amps in 1..400 {
            let crest = Current::new(f64::from(amps));
            let (rms, mean) = (crest / 2.0, crest / 3.2);
            let edges = |factor: f64| (Power::new(0.5 * f64::from(amps) * factor), LossSlope::ZERO);
            let here = Corner { line, low_edges, crest, rms, mean, ..corner };
            let point = sharing::corner(&here, edges);
            assert_eq!(point.stability, Stability::Stable, "{amps} A, {per_kelvin}");
            assert!(point.hogging_gain < 0.5, "{amps} A: a gain of {}", point.hogging_gain);
            assert!(
                point.factor <= before + 1e-12 && before - point.factor < 0.1,
                "{amps} A: {before} {}",
                point.factor
            );
            before = point.factor;
        }
    }
}
