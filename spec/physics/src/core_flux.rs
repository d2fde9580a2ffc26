//! Flux in a magnetic core: its crest, and what its material carries at a temperature.

use crate::{Area, Current, FluxDensity, FluxLinkage, Inductance, Law, Temperature};

/// Kelvins above the hottest stated point up to which a saturation is still taken to fall in a straight line.
pub const HOTTER: f64 = 40.0;

/// Law of [`choke_peak`].
pub static CHOKE_PEAK: Law = Law {
    name: "crest of the flux density in a choke",
    formula: "B̂ = L·((1 + t)·I + Î − I)/(N·A)",
    validity: "volt-seconds of the ripple are given by the voltages, so that a tolerance t of the inductance moves the direct part alone; narrowest section of the core",
    source: "L·I = N·A·B; Erickson, Maksimović, Fundamentals of Power Electronics, 3rd ed., 2020",
};

/// Law of [`resting_choke_peak`].
pub static RESTING_CHOKE_PEAK: Law = Law {
    name: "crest of the flux density in a choke whose current rests",
    formula: "B̂ = √(1 + t)·L·Î/(N·A)",
    validity: "current from zero to zero in each period at a given mean: its crest goes with 1/√L; tolerance t of the inductance",
    source: "L·I = N·A·B; balance of volt-seconds",
};

/// Law of [`linked_peak`].
pub static LINKED_PEAK: Law = Law {
    name: "crest of the flux density from a flux linkage",
    formula: "B̂ = λ/(N·A)",
    validity: "narrowest section of the core; all turns link the whole flux",
    source: "induction law",
};

/// Law of [`saturation_at`].
pub static SATURATION: Law = Law {
    name: "saturation flux density at a temperature",
    formula: "straight between the stated temperatures; colder as at the coldest; hotter along the last line, of one point with its share for each kelvin",
    validity: "up to 40 K above the hottest stated temperature",
    source: "data sheets of core materials",
};

/// Law of [`softened`].
pub static SOFTENED: Law = Law {
    name: "flux linkage of a softening choke",
    formula: "λ = (1 + t)·∫ L di from 0 to Î",
    validity: "straight between the stated currents; not beyond the last one",
    source: "definition of the incremental inductance",
};

/// Law of [`softened_swing`].
pub static SOFTENED_SWING: Law = Law {
    name: "ripple of a softening choke's current, peak to peak",
    formula: "∫ L di from I − ΔI/2 to I + ΔI/2 = volt-seconds",
    validity: "straight between the stated currents, beyond the last one as there; the mean taken for the middle, of which the crest stands up to a twelfth of the ripple times the share of inductance lost across it higher",
    source: "balance of volt-seconds over the incremental inductance",
};

/// Law of [`softened_rise`].
pub static SOFTENED_RISE: Law = Law {
    name: "current of a softening choke after volt-seconds",
    formula: "∫ L di from I_0 to I = volt-seconds",
    validity: "straight between the stated currents; not beyond the last one: a core that loses more lets more through",
    source: "induction law",
};

/// Crest of the flux density in a choke from the mean and the crest of its current. See [`CHOKE_PEAK`].
#[inline]
pub fn choke_peak(
    inductance: Inductance,
    tolerance: f64,
    mean: Current,
    peak: Current,
    turns: f64,
    area: Area,
) -> FluxDensity {
    let mean = mean.abs();
    linked_peak(inductance * (mean * (1.0 + tolerance) + peak - mean), turns, area)
}

/// The same where its current comes to rest in each period. See [`RESTING_CHOKE_PEAK`].
#[inline]
pub fn resting_choke_peak(
    inductance: Inductance,
    tolerance: f64,
    peak: Current,
    turns: f64,
    area: Area,
) -> FluxDensity {
    linked_peak(inductance * peak * (1.0 + tolerance).sqrt(), turns, area)
}

/// Crest of the flux density from the flux linkage of a winding. See [`LINKED_PEAK`].
#[inline]
pub fn linked_peak(linkage: FluxLinkage, turns: f64, area: Area) -> FluxDensity {
    FluxDensity::new(linkage.si() / (turns * area.si()))
}

/// What a core carries at a temperature: points by rising temperature, and the share of the last one that is lost for
/// each kelvin above it where it stands alone. See [`SATURATION`].
pub fn saturation_at(points: &[(Temperature, FluxDensity)], fall: f64, now: Temperature) -> FluxDensity {
    let missing = FluxDensity::new(f64::NAN);
    let (Some(&(coldest, most)), Some(&(hottest, least))) = (points.first(), points.last()) else {
        return missing;
    };
    let (coldest, hottest, now) = (coldest.in_celsius(), hottest.in_celsius(), now.in_celsius());
    if now.is_nan() || now > hottest + HOTTER {
        return missing;
    }
    if now <= coldest {
        return most;
    }
    let between = points.windows(2).find(|pair| now <= pair[1].0.in_celsius());
    let last = points.len().checked_sub(2).map(|place| &points[place..]);
    match between.or(last) {
        Some(pair) => {
            let (from, to) = (pair[0].0.in_celsius(), pair[1].0.in_celsius());
            pair[0].1 + (pair[1].1 - pair[0].1) * ((now - from) / (to - from))
        }
        None => least * (1.0 - fall * (now - hottest)),
    }
}

/// Inductance that is left at a current, and the flux linkage up to it: points by rising current, the first at zero. Not
/// a number beyond the last one. See [`SOFTENED`].
pub fn softened(points: &[(Current, Inductance)], current: Current) -> (Inductance, FluxLinkage) {
    let mut linkage = FluxLinkage::ZERO;
    for pair in points.windows(2) {
        let ((from, whole), (to, left)) = (pair[0], pair[1]);
        if current <= to {
            let here = whole + (left - whole) * ((current - from) / (to - from));
            return (here, linkage + (whole + here) * 0.5 * (current - from));
        }
        linkage = linkage + (whole + left) * 0.5 * (to - from);
    }
    (Inductance::new(f64::NAN), FluxLinkage::new(f64::NAN))
}

/// Flux linkage at a current of either sign; beyond the last point with the inductance there.
pub fn softened_linkage(points: &[(Current, Inductance)], current: Current) -> FluxLinkage {
    held(points, current).1
}

/// Inductance at a current of either sign; beyond the last point as there.
pub fn held_inductance(points: &[(Current, Inductance)], current: Current) -> Inductance {
    held(points, current).0
}

/// Inductance and flux linkage at a current of either sign, held beyond the last point.
fn held(points: &[(Current, Inductance)], current: Current) -> (Inductance, FluxLinkage) {
    let missing = (Inductance::new(f64::NAN), FluxLinkage::new(f64::NAN));
    let Some(&(last, least)) = points.last() else { return missing };
    let amps = current.abs();
    let (left, linked) = if amps > last {
        (least, softened(points, last).1 + least * (amps - last))
    } else {
        softened(points, amps)
    };
    (left, if current.si() < 0.0 { -linked } else { linked })
}

/// Current of a softening choke that volt-seconds have lifted it to. Not a number beyond the last point. See
/// [`SOFTENED_RISE`].
pub fn softened_rise(points: &[(Current, Inductance)], from: Current, volt_seconds: FluxLinkage) -> Current {
    let risen = least_rise(points, from, volt_seconds);
    match points.last() {
        Some(&(last, _)) if risen <= last && from <= last => risen,
        _ => Current::new(f64::NAN),
    }
}

/// The least that it comes to: beyond the last point the core loses no more.
pub fn least_rise(points: &[(Current, Inductance)], from: Current, volt_seconds: FluxLinkage) -> Current {
    let mut left = softened_linkage(points, from) + volt_seconds;
    for pair in points.windows(2) {
        let ((low, whole), (high, least)) = (pair[0], pair[1]);
        let all = (whole + least) * 0.5 * (high - low);
        if left <= all {
            // Of L·x + (dL/di)·x²/2 = λ the root that a curve without a slope has as well.
            let slope = (least - whole).si() / (high - low).si();
            let root = (whole.si() * whole.si() + 2.0 * slope * left.si()).sqrt();
            return low + Current::new(2.0 * left.si() / (whole.si() + root));
        }
        left = left - all;
    }
    points.last().map_or(Current::new(f64::NAN), |&(last, least)| last + left / least)
}

/// Ripple of a softening choke's current about a mean, peak to peak, from its volt-seconds. See [`SOFTENED_SWING`].
pub fn softened_swing(points: &[(Current, Inductance)], mean: Current, volt_seconds: FluxLinkage) -> Current {
    // The linkage rises with the current, so that steps along its slope close in.
    let mut half = volt_seconds / held(points, mean).0 * 0.5;
    for _ in 0..STEPS {
        let ((low, from), (high, to)) = (held(points, mean - half), held(points, mean + half));
        half = half + (volt_seconds - (to - from)) / (low + high);
    }
    half * 2.0
}

/// Steps in which the swing of a softening choke is found.
const STEPS: usize = 6;

#[cfg(test)]
mod tests {
    use super::*;

    fn warm(celsius: f64) -> Temperature {
        Temperature::celsius(celsius)
    }

    #[test]
    fn a_ferrite_loses_a_quarter_on_the_way_to_100_degrees() {
        let ferrite = [(warm(25.0), FluxDensity::new(0.47)), (warm(100.0), FluxDensity::new(0.36))];
        let at = |celsius: f64| saturation_at(&ferrite, f64::NAN, warm(celsius)).si();
        assert!((at(62.5) - 0.415).abs() < 1e-12);
        assert!((at(0.0) - 0.47).abs() < 1e-12, "cold cores are not credited with more");
        assert!((at(130.0) - 0.316).abs() < 1e-12);
        assert!(at(140.1).is_nan() && at(f64::NAN).is_nan());
        let point = [(warm(100.0), FluxDensity::new(0.36))];
        assert!((saturation_at(&point, 0.004, warm(110.0)).si() - 0.36 * 0.96).abs() < 1e-12);
        assert!(saturation_at(&[], 0.0, warm(20.0)).si().is_nan());
    }

    #[test]
    fn a_tolerance_moves_the_direct_part_alone() {
        let (turns, area) = (38.0, Area::new(9e-4));
        let peak = |tolerance| {
            choke_peak(
                Inductance::new(430e-6),
                tolerance,
                Current::new(-70.0),
                Current::new(80.0),
                turns,
                area,
            )
            .si()
        };
        assert!((peak(0.0) - 430e-6 * 80.0 / (38.0 * 9e-4)).abs() < 1e-12);
        assert!((peak(0.1) / peak(0.0) - 87.0 / 80.0).abs() < 1e-12);
    }

    #[test]
    fn a_softening_choke_swings_until_its_volt_seconds_are_met() {
        let points = [(0.0, 250e-6), (80.0, 250e-6), (160.0, 130e-6), (200.0, 100e-6)]
            .map(|(amps, henry)| (Current::new(amps), Inductance::new(henry)));
        for (mean, swing) in [(0.0, 40.0), (-40.0, 30.0), (118.0, 62.0), (170.0, 90.0), (5.0, 300.0)] {
            let ends = [mean - 0.5 * swing, mean + 0.5 * swing];
            let steps = 20_000;
            // The area under the curve in small steps, whatever the sign.
            let at = |amps: f64| {
                let amps = amps.abs().min(200.0);
                match amps {
                    _ if amps < 80.0 => 250e-6,
                    _ if amps < 160.0 => 250e-6 - 1.5e-6 * (amps - 80.0),
                    _ => 130e-6 - 0.75e-6 * (amps - 160.0),
                }
            };
            let step = (ends[1] - ends[0]) / f64::from(steps);
            let area: f64 = (0..steps).map(|k| step * at(ends[0] + step * (f64::from(k) + 0.5))).sum();
            let found = softened_swing(&points, Current::new(mean), FluxLinkage::new(area)).si();
            assert!((found / swing - 1.0).abs() < 1e-6, "{mean}: {found} against {swing}");
        }
        assert!(softened_swing(&points, Current::new(f64::NAN), FluxLinkage::new(1e-3)).si().is_nan());
    }

    #[test]
    fn volt_seconds_lift_a_softening_choke_the_further_the_less_inductance_is_left() {
        let points = [(0.0, 24e-6), (40.0, 20e-6), (80.0, 12e-6), (160.0, 4e-6)]
            .map(|(amps, henry)| (Current::new(amps), Inductance::new(henry)));
        let rise = |from: f64, volts: f64, seconds: f64| {
            softened_rise(&points, Current::new(from), FluxLinkage::new(volts * seconds)).si()
        };
        // By hand: 7.52 µH at 124.8 A and 4 µH at 160 A take 203 µVs of 594. Where the curve has ended the rest adds
        // 391/4 A at least, and nobody knows how much more.
        let by_hand = 160.0 + (594.0 - 0.5 * (7.52 + 4.0) * 35.2) / 4.0;
        let least = least_rise(&points, Current::new(124.8), FluxLinkage::new(99.0 * 6e-6)).si();
        assert!((least - by_hand).abs() < 1e-9, "{least}");
        assert!(rise(124.8, 99.0, 6e-6).is_nan() && rise(160.1, 0.0, 1e-6).is_nan());
        // di/dt = V/L(i) in small steps.
        let mut amps: f64 = 20.0;
        let step = 1e-10;
        for _ in 0..120_000 {
            amps += 99.0 / held_inductance(&points, Current::new(amps)).si() * step;
        }
        assert!((rise(20.0, 99.0, 12e-6) / amps - 1.0).abs() < 1e-4, "{amps}");
        assert!((rise(30.0, 0.0, 1e-6) - 30.0).abs() < 1e-12);
        assert!(rise(f64::NAN, 99.0, 1e-6).is_nan() && rise(30.0, f64::NAN, 1e-6).is_nan());
    }

    #[test]
    fn what_softens_links_the_area_under_its_curve() {
        let points = [(0.0, 100e-6), (50.0, 80e-6), (100.0, 20e-6)]
            .map(|(amps, henry)| (Current::new(amps), Inductance::new(henry)));
        let (left, linked) = softened(&points, Current::new(75.0));
        assert!((left.si() - 50e-6).abs() < 1e-15);
        assert!((linked.si() - (90e-6 * 50.0 + 65e-6 * 25.0)).abs() < 1e-15);
        assert!(softened(&points, Current::new(101.0)).0.si().is_nan());
        assert!(softened(&points, Current::new(f64::NAN)).1.si().is_nan());
    }
}
