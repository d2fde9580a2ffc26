//! How fast a long description becomes a tree.

use std::fmt::Write as _;
use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loadworthy_source::Tree;

const SIZE: usize = 10_000_000;

/// Device entries as they stand in a parts file: block and flow style, comments, units.
fn description() -> String {
    let mut text = "edition: 2026\ndevices:\n".to_owned();
    let mut number = 0;
    while text.len() < SIZE {
        number += 1;
        let _ = write!(
            text,
            "  module_{number}:                      # data sheet, revision C\n    package: {{ circuit: half_bridge, cooled_faces: 2 }}\n    transistor:\n      kind: igbt\n      blocking_voltage: 1200 V\n      current: {{ continuous: 450 A, at_case: 80 degC, repetitive_peak: 900 A }}\n      junction_limit: 175 degC\n      on_state:\n        - {{ junction: 25 degC, current: [100 A, 450 A], voltage: [1.05 V, 1.65 V] }}\n        - {{ junction: 150 degC, current: [100 A, 450 A], voltage: [1.10 V, 1.90 V] }}\n      dead_time: 2 µs\n      note: 'fitted with 1.5 Ω at the gate'\n"
        );
    }
    text
}

fn reading(criterion: &mut Criterion) {
    let text = description();
    let mut group = criterion.benchmark_group("reading");
    group.throughput(Throughput::Bytes(text.len() as u64)).sample_size(10);
    group.bench_function("10 MB to a tree with its structural problems", |bencher| {
        bencher.iter(|| {
            let mut tree = Tree::new();
            let mut problems = Vec::new();
            let root = tree.read("unit.yaml", black_box(text.as_bytes()), &mut problems);
            assert!(root.is_some() && problems.is_empty());
            tree
        });
    });
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
