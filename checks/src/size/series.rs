//! The series that sizes come from.

use loadworthy_physics::conductors::cable;

/// Widths of bars in common stock, in m: EN 13601 leaves them to the maker, these are preferred numbers of ISO 3 rounded
/// as makers stock them.
const BAR_WIDTHS: [f64; 17] = [
    0.010, 0.012, 0.015, 0.020, 0.025, 0.030, 0.040, 0.050, 0.060, 0.080, 0.100, 0.120, 0.140, 0.160, 0.180,
    0.200, 0.250,
];
/// Thicknesses of bars in common stock, in m.
const BAR_THICKNESSES: [f64; 10] = [0.002, 0.003, 0.004, 0.005, 0.006, 0.008, 0.010, 0.012, 0.015, 0.020];
/// Thicknesses of sheet that laminated bars are cut from, in m, below those of bars.
const SHEET_THICKNESSES: [f64; 4] = [0.0005, 0.0008, 0.001, 0.0015];
/// Widths of tracks in m: R10 of ISO 3, rounded.
const FOIL_WIDTHS: [f64; 21] = [
    0.001, 0.00125, 0.0016, 0.002, 0.0025, 0.00315, 0.004, 0.005, 0.0063, 0.008, 0.010, 0.0125, 0.016, 0.020,
    0.025, 0.0315, 0.040, 0.050, 0.063, 0.080, 0.100,
];
/// Thicknesses of the copper of boards in m: half an ounce to the square foot and multiples of a whole one, as far as the law of
/// its temperature reaches.
const FOIL_THICKNESSES: [f64; 4] = [0.000018, 0.000035, 0.000070, 0.000105];
/// Rated currents of fuses in A: IEC 60269-1, 5.3.1, which takes them from the series R10 of ISO 3.
const FUSES: [f64; 26] = [
    2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0,
    200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0,
];
/// Least number of legs that is tried at most, and the most that a description may state.
const LEGS: (u32, f64) = (6, 32.0);
/// Least number of devices that is tried at most.
const DEVICES: u32 = 8;
/// Least number of capacitors that is tried at most.
const CAPACITORS: u32 = 16;
/// Cubic metres a second in a litre a minute.
const LITRE_A_MINUTE: f64 = 1e-3 / 60.0;

/// Counts up to twice what is described, and up to six at least.
pub(super) fn legs(described: f64) -> Vec<f64> {
    let (least, most) = LEGS;
    counts(described.min(0.5 * most), 2.0, least)
}

/// Counts up to twice what is described, and up to eight at least.
pub(super) fn devices(described: f64) -> Vec<f64> {
    counts(described, 2.0, DEVICES)
}

/// Counts up to four times what is described, and up to sixteen at least.
pub(super) fn capacitors(described: f64) -> Vec<f64> {
    counts(described, 4.0, CAPACITORS)
}

fn counts(described: f64, times: f64, least: u32) -> Vec<f64> {
    const MOST: f64 = 4096.0;
    // What is described stands among the sizes by itself, however many that is.
    let most = (times * described).min(MOST).max(f64::from(least));
    (1..).map(f64::from).take_while(|&count| count <= most).collect()
}

/// Widths of bars.
pub(crate) fn bar_widths() -> Vec<f64> {
    BAR_WIDTHS.to_vec()
}

/// Thicknesses of bars, of laminated ones also those of sheet.
pub(super) fn bar_thicknesses(is_laminated: bool) -> Vec<f64> {
    let sheet = SHEET_THICKNESSES.iter().filter(|_| is_laminated);
    sheet.chain(&BAR_THICKNESSES).copied().collect()
}

/// Widths of tracks on a board.
pub(super) fn foil_widths() -> Vec<f64> {
    FOIL_WIDTHS.to_vec()
}

/// Thicknesses of the copper of a board.
pub(super) fn foil_thicknesses() -> Vec<f64> {
    FOIL_THICKNESSES.to_vec()
}

/// Sections of flexible cables: the table of class 5 of IEC 60228.
pub(crate) fn cable_sections() -> Vec<f64> {
    cable::sections().map(|section| section.si()).collect()
}

/// Rated currents of fuses.
pub(super) fn fuses() -> Vec<f64> {
    FUSES.to_vec()
}

/// Flows up to what is described, which is the last of them: a pump gives no more. In steps of 0.1 L/min up to 10 L/min,
/// of 0.5 L/min beyond.
pub(super) fn flows(described: f64) -> Vec<f64> {
    const MOST: f64 = 1000.0;
    let litres = described / LITRE_A_MINUTE;
    let fine = (1..100).map(|tenths| f64::from(tenths) / 10.0);
    let coarse = (20..).map(|halves| f64::from(halves) / 2.0);
    let below = fine.chain(coarse).take_while(|&flow| flow < litres.min(MOST) * (1.0 - 1e-9));
    below.map(|flow| flow * LITRE_A_MINUTE).chain([described]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_series_rises() {
        let all = [
            legs(1.0),
            legs(32.0),
            devices(1.0),
            devices(36.0),
            capacitors(6.0),
            bar_widths(),
            bar_thicknesses(true),
            bar_thicknesses(false),
            foil_widths(),
            foil_thicknesses(),
            cable_sections(),
            fuses(),
            flows(14.0 * LITRE_A_MINUTE),
            flows(0.25 * LITRE_A_MINUTE),
        ];
        for series in all {
            assert!(series.windows(2).all(|pair| pair[0] < pair[1]), "{series:?}");
        }
    }

    #[test]
    fn a_flow_is_never_more_than_the_described_one() {
        let litres = |flows: Vec<f64>| flows.iter().map(|flow| flow / LITRE_A_MINUTE).collect::<Vec<_>>();
        let all = litres(flows(11.2 * LITRE_A_MINUTE));
        assert_eq!(all.len(), 99 + 3 + 1, "0.1 to 9.9, then 10, 10.5, 11, then what is described");
        assert!((all[all.len() - 1] - 11.2).abs() < 1e-9);
        assert!((all[all.len() - 2] - 11.0).abs() < 1e-9);
    }

    #[test]
    fn counts_reach_beyond_what_is_described() {
        assert_eq!(legs(2.0).len(), 6);
        assert_eq!(legs(20.0).len(), 32);
        assert_eq!(devices(1.0).len(), 8);
        assert_eq!(devices(6.0).len(), 12);
        assert_eq!(capacitors(32.0).len(), 128);
        assert_eq!(capacitors(1e9).len(), 4096);
    }
}
