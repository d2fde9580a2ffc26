//! Which voltage stands between two circuits of a bridge: its rms value, for distances along surfaces, and its recurring
//! crest, for what lies inside the insulation.

use core::f64::consts::PI;

use crate::{Law, OutOfRange, Voltage};

/// Law of [`working_voltage`].
pub static WORKING_VOLTAGE: Law = Law {
    name: "working voltage between two circuits of a bridge",
    formula: "V·√d between a pole and a rail that is its reference, V·√(M·√3/π) between two poles, V·√(2/3) in six-step, V/2 to an earthed midpoint, V to anything behind a floating bus; crest: that of the square wave and the overshoot",
    validity: "V the largest bus voltage; the share d of time that a pole is high must hold whenever the unit is on: at standstill it may be 1, so that the bound V holds unless standstill is excluded. M up to 2/√3 with one carrier for both poles; a floating bus may live with one pole earthed",
    source: "own derivation, compared with sampled switching patterns; ISO 6469-3 for a first fault to earth",
};

/// What the bus is earthed by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Earthing {
    /// Nothing. A first fault may earth either rail and is allowed to stay.
    Floating,
    /// Its negative rail.
    Negative,
    /// The midpoint of its capacitors.
    Midpoint,
}

/// How two poles of a bridge switch against each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Poles {
    /// Nothing is known, or carriers are displaced: the bound.
    Any,
    /// Two phases a third of a turn apart on one carrier, at a modulation index.
    OneCarrier {
        /// Crest of the phase voltage over half the bus voltage; a common offset of all three phases changes nothing.
        index: f64,
    },
    /// Half a turn high and half a turn low, a third of a turn apart.
    SixStep,
}

/// Two circuits of a bridge. The circuit of a high gate stands on its pole, that of a low gate on the negative rail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pair {
    /// Low and high gate of one leg. `high` is the mean share of time that the pole is high; none for the bound.
    LowToHigh {
        /// Mean share of time that the pole is high.
        high: Option<f64>,
    },
    /// High gates of two legs.
    HighToHigh(Poles),
    /// A high gate and the controller, which stands on the chassis.
    HighToController {
        /// What the bus is earthed by.
        earthing: Earthing,
        /// Mean share of time that the pole is high; none for the bound.
        high: Option<f64>,
    },
    /// A low gate, or a rail, and the controller.
    LowToController {
        /// What the bus is earthed by.
        earthing: Earthing,
    },
}

/// A working voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorkingVoltage {
    /// Its rms value.
    pub rms: Voltage,
    /// Its recurring crest.
    pub crest: Voltage,
}

/// Working voltage between two circuits of a bridge.
///
/// `link` is the largest voltage of the bus and `overshoot` what switching adds to it. See [`WORKING_VOLTAGE`].
///
/// # Errors
/// A share of time outside 0 to 1, or a modulation index outside 0 to 2/√3.
pub fn working_voltage(pair: Pair, link: Voltage, overshoot: Voltage) -> Result<WorkingVoltage, OutOfRange> {
    let crest = link + overshoot;
    Ok(match pair {
        Pair::LowToHigh { high } | Pair::HighToController { earthing: Earthing::Negative, high } => {
            WorkingVoltage { rms: switched(link, high)?, crest }
        }
        Pair::HighToHigh(poles) => WorkingVoltage { rms: between(link, poles)?, crest },
        Pair::HighToController { earthing: Earthing::Floating, .. } => WorkingVoltage { rms: link, crest },
        Pair::HighToController { earthing: Earthing::Midpoint, .. } => {
            WorkingVoltage { rms: link * 0.5, crest: link * 0.5 + overshoot }
        }
        Pair::LowToController { earthing } => {
            let share = match earthing {
                Earthing::Floating => 1.0,
                Earthing::Negative => 0.0,
                Earthing::Midpoint => 0.5,
            };
            let still = link * share;
            WorkingVoltage { rms: still, crest: still }
        }
    })
}

/// Rms value of a wave between zero and the bus voltage.
fn switched(link: Voltage, high: Option<f64>) -> Result<Voltage, OutOfRange> {
    let Some(share) = high else { return Ok(link) };
    OutOfRange::check("share of time that the pole is high", share, 0.0, 1.0, "")?;
    Ok(link * share.sqrt())
}

fn between(link: Voltage, poles: Poles) -> Result<Voltage, OutOfRange> {
    let square = match poles {
        Poles::Any => 1.0,
        Poles::SixStep => 2.0 / 3.0,
        Poles::OneCarrier { index } => {
            OutOfRange::check("modulation index", index, 0.0, 2.0 / 3f64.sqrt() + 1e-12, "")?;
            index * 3f64.sqrt() / PI
        }
    };
    Ok(link * f64::sqrt(square))
}

#[cfg(test)]
mod tests {
    use super::*;

    const V: Voltage = Voltage::new(750.0);
    const MORE: Voltage = Voltage::new(150.0);

    fn of(pair: Pair) -> (f64, f64) {
        let voltage = working_voltage(pair, V, MORE).unwrap();
        (voltage.rms.si(), voltage.crest.si())
    }

    #[test]
    fn a_floating_bus_is_sized_for_all_of_its_voltage() {
        let floating = Earthing::Floating;
        assert_eq!(of(Pair::HighToController { earthing: floating, high: Some(0.5) }), (750.0, 900.0));
        assert_eq!(of(Pair::LowToController { earthing: floating }), (750.0, 750.0));
        let middle = Earthing::Midpoint;
        assert_eq!(of(Pair::HighToController { earthing: middle, high: None }), (375.0, 525.0));
        assert_eq!(of(Pair::LowToController { earthing: middle }), (375.0, 375.0));
        assert_eq!(of(Pair::LowToController { earthing: Earthing::Negative }), (0.0, 0.0));
    }

    #[test]
    fn no_reduced_form_goes_beyond_the_bound() {
        let bound = of(Pair::LowToHigh { high: None });
        assert_eq!(bound, (750.0, 900.0));
        for share in [0.0, 0.3, 1.0] {
            assert!(of(Pair::LowToHigh { high: Some(share) }).0 <= bound.0);
        }
        let last = 2.0 / 3f64.sqrt();
        for poles in [Poles::SixStep, Poles::OneCarrier { index: last }, Poles::OneCarrier { index: 0.0 }] {
            assert!(of(Pair::HighToHigh(poles)).0 <= of(Pair::HighToHigh(Poles::Any)).0);
        }
    }

    #[test]
    fn nothing_is_said_beyond_the_range() {
        let told = |pair| working_voltage(pair, V, MORE).is_ok();
        assert!(!told(Pair::HighToHigh(Poles::OneCarrier { index: 1.16 })));
        assert!(!told(Pair::HighToHigh(Poles::OneCarrier { index: f64::NAN })));
        assert!(!told(Pair::LowToHigh { high: Some(1.1) }));
        let missing = working_voltage(Pair::LowToHigh { high: None }, V, Voltage::new(f64::NAN)).unwrap();
        assert!(missing.crest.si().is_nan() && !missing.rms.si().is_nan());
    }
}
