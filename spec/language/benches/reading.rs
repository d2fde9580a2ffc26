//! How fast a description is read: a large one with all its problems, and the one that a person edits.

use std::fmt::Write as _;
use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loadworthy_language::{Files, Input, read, schema};

struct NoFiles;

impl Files for NoFiles {
    fn open(&mut self, _: &str) -> Result<Vec<u8>, String> {
        Err("no files here".to_owned())
    }
}

const FORWARDER: &str = include_str!("../../../tests/schema/valid/timber_forwarder.yaml");
const WHOLE: &str = include_str!("../../../tests/schema/valid/log_forwarder.yaml");

/// A description of about ten megabytes: devices with comments and both styles, and duty points. One entry in
/// `faulty` has a slip.
fn large(faulty: usize) -> String {
    let mut text = String::from(
        "edition: 2026\nunit: { name: Large }\nmachines: { motor: { kind: permanent_magnet } }\ndevices:\n",
    );
    let mut number = 0;
    while text.len() < 7_000_000 {
        let unit = if faulty > 0 && number % faulty == 0 { "A" } else { "V" };
        let _ = write!(
            text,
            "  ig{number}: # as bought\n    package: {{ circuit: half_bridge, cooled_faces: 2 }}\n    transistor:\n      kind: igbt\n      \
             blocking_voltage: 1200 {unit}\n      current: {{ continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }}\n      \
             junction_limit: 175 °C\n      on_state:\n        - {{ junction: 25 degC, current: [100 A, 450 A], voltage: [1.05 V, 1.65 V] }}\n        \
             - {{ junction: 150 degC, current: [100 A, 450 A], voltage: [1.10 V, 1.90 V] }}\n      energies: {{ voltage: 600 V, \
             junction: 150 degC, current: [150 A, 450 A], turn_on: [13 mJ, 36 mJ], turn_off: [17 mJ, 45 mJ] }}\n      \
             thermal_impedance: [[0.020 K/W, 5 ms], [0.046 K/W, 80 ms]]\n"
        );
        number += 1;
    }
    text.push_str("duty:\n");
    while text.len() < 10_000_000 {
        let _ = write!(
            text,
            "  point{number}:\n    lasts: 20 s\n    coolant: {{ inlet: 65 degC }}\n    loads:\n      motor: {{ electrical_power: 70 kW, \
             line_voltage: 330 V rms, power_factor: 0.88, frequency: 160 Hz }}\n"
        );
        number += 1;
    }
    text
}

/// A description of many names that lead to one another: branches, conductors, gate supplies.
fn names() -> String {
    let count = 20_000;
    let mut text = String::from(
        "edition: 2026\nsources: { pack: { kind: battery } }\nstages: { s: { topology: boost, legs: 32 } }\nbuses:\n",
    );
    for number in 0..count {
        let _ = writeln!(text, "  bus{number}: {{ negative_rail: minus, nominal: 28 V }}");
    }
    text.push_str("conductors:\n");
    for number in 0..count {
        let _ = writeln!(
            text,
            "  bar{number}: {{ kind: busbar, width: 25 mm, thickness: 3 mm, length: 180 mm }}"
        );
    }
    text.push_str("branches:\n");
    for number in 0..count {
        let _ = writeln!(text, "  feed{number}: {{ from: pack, to: bus{number}, through: [bar{number}] }}");
    }
    text.push_str("controllers:\n");
    for number in 0..count {
        let _ = writeln!(text, "  controller{number}: {{ domain: low_voltage, from: bus{number} }}");
    }
    text
}

fn benches(criterion: &mut Criterion) {
    let read = |text: &str| {
        let input = Input {
            name: "large.yaml",
            bytes: text.as_bytes(),
            written: &[],
            overrides: &[],
            vocabulary: &[],
        };
        read(input, &mut NoFiles)
    };
    let mut group = criterion.benchmark_group("reading");
    group.sample_size(10);
    for (name, text) in [("sound", large(0)), ("faulty", large(3))] {
        group.throughput(Throughput::Bytes(text.len() as u64));
        group.bench_function(name, |bencher| bencher.iter(|| black_box(read(&text))));
    }
    group.throughput(Throughput::Bytes(FORWARDER.len() as u64));
    group.bench_function("as edited", |bencher| bencher.iter(|| black_box(read(FORWARDER))));
    group.throughput(Throughput::Bytes(WHOLE.len() as u64));
    group.bench_function("a whole unit", |bencher| bencher.iter(|| black_box(read(WHOLE))));
    let names = names();
    group.throughput(Throughput::Bytes(names.len() as u64));
    group.bench_function("names", |bencher| bencher.iter(|| black_box(read(&names))));
    group.bench_function("schema", |bencher| bencher.iter(|| black_box(schema(&[], &[]))));
    group.bench_function("tree alone", |bencher| {
        let text = large(0);
        bencher.iter(|| {
            let mut tree = loadworthy_source::Tree::new();
            black_box(tree.read("large.yaml", text.as_bytes(), &mut Vec::new()));
        });
    });
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
