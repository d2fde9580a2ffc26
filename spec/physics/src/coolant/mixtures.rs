//! Water with ethylene glycol, by share of volume: fits of the published tables, straight between the shares.

/// Lowest share of glycol for which properties are known.
pub const LOWEST_GLYCOL: f64 = 0.3;
/// Highest share of glycol for which properties are known.
pub const HIGHEST_GLYCOL: f64 = 0.6;
/// Shares between two rows of the table.
const STEP: f64 = 0.05;

/// One mixture: when it freezes, and polynomials of its properties.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mixture {
    /// Freezing point in °C.
    pub(super) freezing: f64,
    /// Share of the mass that is glycol.
    pub(super) by_mass: f64,
    /// kg/m³ over °C.
    pub(super) density: [f64; 3],
    /// J/(kg·K) over °C.
    pub(super) specific_heat: [f64; 2],
    /// W/(m·K) over °C.
    pub(super) conductivity: [f64; 3],
    /// ln(Pa·s) over 1000/T.
    pub(super) viscosity: [f64; 5],
}

/// From 30 to 60 % of the volume in steps of 5 %: ASHRAE Handbook Fundamentals, ch. 31, aqueous ethylene glycol.
/// Density within 0.001 %, specific heat within 0.02 %, conductivity within 0.16 %, viscosity within 1.8 %.
const TABLE: [Mixture; 7] = [
    Mixture {
        freezing: -15.7,
        by_mass: 0.3235,
        density: [1051.78, -0.277_58, -2.4328e-3],
        specific_heat: [3588.64, 2.8359],
        conductivity: [0.429_16, 1.3348e-3, -5.9032e-6],
        viscosity: [-100.239, 108.4337, -48.035_74, 9.483_002, -0.688_674_4],
    },
    Mixture {
        freezing: -19.9,
        by_mass: 0.3745,
        density: [1059.41, -0.292_38, -2.4328e-3],
        specific_heat: [3495.86, 3.0971],
        conductivity: [0.411_43, 1.2186e-3, -5.3566e-6],
        viscosity: [-104.2566, 112.7357, -49.666_57, 9.742_637, -0.702_232_3],
    },
    Mixture {
        freezing: -24.8,
        by_mass: 0.425,
        density: [1066.81, -0.307_42, -2.4324e-3],
        specific_heat: [3400.97, 3.3548],
        conductivity: [0.3947, 1.1079e-3, -4.8324e-6],
        viscosity: [-100.6464, 107.9863, -47.302_68, 9.225_971, -0.659_783_7],
    },
    Mixture {
        freezing: -30.5,
        by_mass: 0.4745,
        density: [1074.02, -0.322_67, -2.4321e-3],
        specific_heat: [3303.55, 3.6096],
        conductivity: [0.378_85, 1.0027e-3, -4.329e-6],
        viscosity: [-90.700_11, 95.780_28, -41.698_21, 8.092_352, -0.573_960_4],
    },
    Mixture {
        freezing: -37.0,
        by_mass: 0.524,
        density: [1081.08, -0.338_15, -2.4319e-3],
        specific_heat: [3203.37, 3.862_12],
        conductivity: [0.363_779, 9.0216e-4, -3.8243e-6],
        viscosity: [-24.6930, 14.123_85, -4.128_387, 0.478_896, 0.0],
    },
    Mixture {
        freezing: -44.4,
        by_mass: 0.573,
        density: [1087.98, -0.353_89, -2.4316e-3],
        specific_heat: [3100.72, 4.1119],
        conductivity: [0.349_55, 8.0938e-4, -3.3859e-6],
        viscosity: [-70.550_21, 71.710_57, -31.083_62, 6.051_83, -0.428_400_3],
    },
    Mixture {
        freezing: -52.0,
        by_mass: 0.622,
        density: [1094.64, -0.369_83, -2.4325e-3],
        specific_heat: [2996.61, 4.3603],
        conductivity: [0.3362, 7.2045e-4, -2.9385e-6],
        viscosity: [-59.715_62, 58.773_24, -25.456_52, 4.999_534, -0.356_282_9],
    },
];

impl Mixture {
    /// Of no known share.
    const UNKNOWN: Self = Self {
        freezing: f64::NAN,
        by_mass: f64::NAN,
        density: [f64::NAN; 3],
        specific_heat: [f64::NAN; 2],
        conductivity: [f64::NAN; 3],
        viscosity: [f64::NAN; 5],
    };

    /// The mixture of a share of glycol by volume, straight between the rows of the table: a property is linear in its
    /// coefficients, so that this is the line between two properties, and for viscosity between their logarithms.
    pub(super) fn of(glycol: f64) -> Self {
        if !(LOWEST_GLYCOL..=HIGHEST_GLYCOL).contains(&glycol) {
            return Self::UNKNOWN;
        }
        let place = (glycol - LOWEST_GLYCOL) / STEP;
        let nearest = place.round();
        // What is written as 50 % is the row of 50 %, whatever rounding made of it.
        if (place - nearest).abs() < 1e-9 {
            return TABLE.get(nearest as usize).copied().unwrap_or(Self::UNKNOWN);
        }
        let below = place.floor() as usize;
        let (Some(low), Some(high)) = (TABLE.get(below), TABLE.get(below + 1)) else { return Self::UNKNOWN };
        let along = place - below as f64;
        let between = |one: f64, other: f64| one + along * (other - one);
        Self {
            freezing: between(low.freezing, high.freezing),
            by_mass: between(low.by_mass, high.by_mass),
            density: core::array::from_fn(|k| between(low.density[k], high.density[k])),
            specific_heat: core::array::from_fn(|k| between(low.specific_heat[k], high.specific_heat[k])),
            conductivity: core::array::from_fn(|k| between(low.conductivity[k], high.conductivity[k])),
            viscosity: core::array::from_fn(|k| between(low.viscosity[k], high.viscosity[k])),
        }
    }
}
