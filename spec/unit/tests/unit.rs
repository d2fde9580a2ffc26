//! The solver against balances, replays and an independent time-stepping of whole units.

#[path = "unit/bench.rs"]
mod bench;

#[test]
fn show() {
    let unit = bench::unit(include_str!("igbt.yaml"));
    let variant = &unit.variants[0];
    let solved = loadworthy_unit::Solved::new(variant);
    for lane in variant.lane_ids() {
        println!("== {} {:?}", variant.duty_of(lane).name, solved.state(lane));
        for k in 0..variant.tables.figures().len() {
            let id = loadworthy_unit::FigureId::new(k);
            let path = variant.tables.figure_path(id);
            if path.contains(".v.") || path.contains(".w") {
                continue;
            }
            println!("{path} = {:?} {}", solved.raw(id, lane), variant.tables.figure_of(id).dimension.unit());
        }
    }
}
