//! How many lanes are solved in a second: of one bridge, of a chain of stages with a pack, a boost, two bridges and an
//! auxiliary converter, and of a whole example with everything that is reckoned of it.
#![allow(missing_docs, reason = "the macros of the benchmark harness")]
#![allow(clippy::unwrap_used, reason = "a benchmark may stop where its own description is wrong")]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use loadworthy_language::{Files, Input, read};
use loadworthy_unit::solver::{Block, Scratch, solve};
use loadworthy_unit::trace::Silent;
use loadworthy_unit::{DutyId, Unit};
use std::hint::black_box;

/// Files beside a description.
struct Beside;

impl Files for Beside {
    fn open(&mut self, path: &str) -> Result<Vec<u8>, String> {
        match path.rsplit('/').next() {
            Some("semiconductors.yaml") => {
                Ok(include_bytes!("../../../examples/parts/semiconductors.yaml").to_vec())
            }
            Some("capacitors.yaml") => Ok(include_bytes!("../../../examples/parts/capacitors.yaml").to_vec()),
            _ => Err("nothing to open".to_owned()),
        }
    }
}

fn lanes(c: &mut Criterion) {
    of(c, "bridge lanes", include_str!("../tests/igbt.yaml"));
    of(c, "chain lanes", include_str!("../tests/chain.yaml"));
    of(c, "forwarder lanes", include_str!("../../../examples/timber-forwarder.yaml"));
}

fn of(c: &mut Criterion, name: &str, text: &str) {
    let input =
        Input { name: "bench.yaml", bytes: text.as_bytes(), written: &[], overrides: &[], vocabulary: &[] };
    let (unit, _) = Unit::build(&read(input, &mut Beside), &[]);
    let variant = unit.variants.first().unwrap();
    let plan = &variant.plan;
    let mut scratch = Scratch::<8>::new(plan);
    let mut group = c.benchmark_group(name);
    group.throughput(Throughput::Elements(8));
    for (duty, point) in variant.duties.iter().enumerate() {
        let mut block = Block::<8>::new(variant.tables.inputs().len(), variant.tables.figures().len());
        let lane = variant.lanes.iter().find(|lane| lane.duty == DutyId::new(duty)).unwrap();
        for (input, values) in variant.tables.inputs().iter().zip(block.inputs.iter_mut()) {
            *values = [input.values[if input.values.len() == 1 { 0 } else { duty }].value; 8];
        }
        block.crest = [lane.crest; 8];
        group.bench_function(&point.name, |b| {
            b.iter(|| solve(plan, black_box(&mut block), &mut scratch, &mut Silent));
        });
    }
    group.finish();
}

criterion_group!(benches, lanes);
criterion_main!(benches);
