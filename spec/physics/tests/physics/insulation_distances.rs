//! Distances of insulation: worse conditions never ask for less, and no number brings the tables down.

use loadworthy_physics::insulation::altitude::altitude_factor;
use loadworthy_physics::insulation::clearance::{Clearance, ClearanceAsked, clearance};
use loadworthy_physics::insulation::creepage::{CreepageAsked, creepage};
use loadworthy_physics::insulation::material::{MaterialGroup, material_group};
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_physics::insulation::rated_impulse::{OvervoltageCategory, rated_impulse};
use loadworthy_physics::insulation::voltage_class::voltage_class;
use loadworthy_physics::insulation::{Between, PollutionDegree};
use loadworthy_physics::{Length, Voltage, cosmic_rays};
use proptest::prelude::*;

use crate::bridge_waveforms::repeatable;

const DEGREES: [PollutionDegree; 3] = [PollutionDegree::One, PollutionDegree::Two, PollutionDegree::Three];
const GROUPS: [MaterialGroup; 4] =
    [MaterialGroup::I, MaterialGroup::II, MaterialGroup::IIIa, MaterialGroup::IIIb];
const KINDS: [Insulation; 5] = [
    Insulation::Functional,
    Insulation::Basic,
    Insulation::Supplementary,
    Insulation::Double,
    Insulation::Reinforced,
];
const BETWEEN: [Between; 2] = [Between::Interpolate, Between::NextRow];

fn through_air() -> impl Strategy<Value = ClearanceAsked> {
    // As often a preferred value as any other.
    let impulse = prop_oneof![
        100.0..60e3_f64,
        proptest::sample::select(vec![330.0, 500.0, 800.0, 1500.0, 2500.0, 4000.0, 6000.0, 8000.0, 12e3]),
    ];
    (impulse, 0..3_usize, 0..5_usize, 0.0..20e3_f64, any::<bool>(), (0..2_usize, 0..2_usize)).prop_map(
        |(impulse, degree, kind, altitude, printed_wiring, (rows, altitudes))| ClearanceAsked {
            impulse: Voltage::new(impulse),
            degree: DEGREES[degree],
            insulation: KINDS[kind],
            altitude: Length::new(altitude),
            printed_wiring,
            between_rows: BETWEEN[rows],
            between_altitudes: BETWEEN[altitudes],
        },
    )
}

fn along() -> impl Strategy<Value = CreepageAsked> {
    (1.0..600.0_f64, 0.0..16.0_f64, 0..3_usize, 0..4_usize, 0..5_usize, any::<bool>(), 0..2_usize).prop_map(
        |(low, scale, degree, group, kind, printed_wiring, rows)| CreepageAsked {
            rms: Voltage::new(low * if scale < 8.0 { 1.0 } else { scale }),
            degree: DEGREES[degree],
            group: GROUPS[group],
            insulation: KINDS[kind],
            printed_wiring,
            between_rows: BETWEEN[rows],
        },
    )
}

fn metres(asked: &ClearanceAsked) -> f64 {
    clearance(asked).expect("within the table").required.si()
}

proptest! {
    #![proptest_config(repeatable(600))]

    #[test]
    fn a_worse_place_never_lets_parts_come_closer(asked in through_air(), more in 1.0..1.6_f64) {
        let own = metres(&asked);
        let higher = Length::new((asked.altitude.si() * more).min(20e3));
        let mut worse = vec![
            ClearanceAsked { altitude: higher, ..asked },
            ClearanceAsked { between_rows: Between::NextRow, ..asked },
            ClearanceAsked { between_altitudes: Between::NextRow, ..asked },
            ClearanceAsked { insulation: Insulation::Reinforced, ..asked },
            ClearanceAsked { degree: PollutionDegree::Three, ..asked },
            ClearanceAsked { degree: PollutionDegree::Two.max(asked.degree), ..asked },
        ];
        // Reinforced insulation may ask for less a little above a preferred value, whose next step is farther than 160 %.
        if !asked.insulation.is_double() {
            worse.push(ClearanceAsked { impulse: asked.impulse * more, ..asked });
        }
        // Printed wiring has a least distance of its own, which degree 1 alone goes below.
        if asked.degree > PollutionDegree::One {
            worse.push(ClearanceAsked { printed_wiring: false, ..asked });
        }
        for worse in worse {
            prop_assert!(metres(&worse) >= own - 1e-15, "{:?}", worse);
        }
        let Clearance { required, up_to_2000_m, altitude, rows, read_at, .. } = clearance(&asked).expect("known");
        prop_assert!((required.si() - up_to_2000_m.si() * altitude.factor).abs() < 1e-12);
        prop_assert!(rows.lower <= rows.upper && read_at <= rows.upper && read_at >= asked.impulse);
    }

    #[test]
    fn a_worse_surface_never_lets_parts_come_closer(asked in along(), more in 1.0..1.6_f64, through in through_air()) {
        let length = |asked: &CreepageAsked| creepage(asked, None).map(|it| it.required.si());
        let Ok(own) = length(&asked) else {
            // Only one kind of surface is refused here.
            prop_assert!(asked.group == MaterialGroup::IIIb && asked.degree == PollutionDegree::Three);
            return Ok(());
        };
        let worse = [
            CreepageAsked { printed_wiring: false, ..asked },
            CreepageAsked { between_rows: Between::NextRow, ..asked },
            CreepageAsked { insulation: Insulation::Double, ..asked },
            CreepageAsked { group: MaterialGroup::IIIa.max(asked.group), ..asked },
            CreepageAsked { degree: PollutionDegree::Three, ..asked },
        ];
        for worse in worse {
            prop_assert!(length(&worse).is_err() || length(&worse).is_ok_and(|length| length >= own - 1e-15), "{:?}", worse);
        }
        let higher = CreepageAsked { rms: asked.rms * more, ..asked };
        prop_assert!(length(&higher).is_err() || length(&higher).is_ok_and(|length| length >= own));
        let through = clearance(&through).expect("known");
        let both = creepage(&asked, Some(&through)).expect("known");
        prop_assert!(both.required >= through.required && both.required.si() >= own);
        prop_assert_eq!(both.by_clearance, through.required.si() > own);
    }

    #[test]
    fn no_number_brings_the_tables_down(
        number in any::<f64>(),
        other in any::<f64>(),
        through in through_air(),
        surface in along(),
        category in 0..4_usize,
    ) {
        use OvervoltageCategory::{I, II, III, IV};
        let finite = |length: Length| length.si().is_finite() && length.si() > 0.0;
        let asked = ClearanceAsked { impulse: Voltage::new(number), altitude: Length::new(other), ..through };
        prop_assert!(clearance(&asked).is_ok_and(|it| finite(it.required)) || clearance(&asked).is_err());
        let asked = CreepageAsked { rms: Voltage::new(number), ..surface };
        prop_assert!(creepage(&asked, None).is_ok_and(|it| finite(it.required)) || creepage(&asked, None).is_err());
        let rated = rated_impulse(Voltage::new(number), [I, II, III, IV][category]);
        prop_assert!(rated.is_ok() == (0.0..=1000.0).contains(&number));
        prop_assert!(voltage_class(Voltage::new(number), Voltage::new(other)).is_ok()
            == ((0.0..=1500.0).contains(&number) && (0.0..=1000.0).contains(&other)));
        prop_assert!(material_group(Voltage::new(number)).is_ok() == (number >= 100.0));
        let factor = altitude_factor(Length::new(number), BETWEEN[category / 2]);
        prop_assert!(factor.is_ok() == (number <= 20e3));
        prop_assert!(cosmic_rays::altitude_factor(Length::new(number)).is_ok() == (0.0..=12e3).contains(&number));
    }
}
