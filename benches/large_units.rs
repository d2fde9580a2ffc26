//! How the time of a review grows with the unit: reading, building, solving, and the review as a whole.
//!
//! `cargo bench --bench large_units` measures. `cargo bench --bench large_units -- --write FILE STAGES [VARIANTS]` writes
//! the description of such a unit, so that the whole process can be timed with whatever times a process.
#![allow(missing_docs, reason = "the macros of the benchmark harness")]

#[path = "large_units/unit.rs"]
mod unit;

use std::hint::black_box;
use std::process::ExitCode;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group};
use loadworthy_checks::list::policy_vocabulary;
use loadworthy_language::{Files, Input, Reading, read};
use loadworthy_unit::{Solved, Unit};
use unit::Large;

const SIZES: [usize; 3] = [100, 300, 1000];

struct NoFiles;

impl Files for NoFiles {
    fn open(&mut self, _: &str) -> Result<Vec<u8>, String> {
        Err("it stands alone".to_owned())
    }
}

fn reading(text: &str) -> Reading {
    let vocabulary = policy_vocabulary();
    read(
        Input {
            name: "large.yaml",
            bytes: text.as_bytes(),
            written: &[],
            overrides: &[],
            vocabulary: &vocabulary,
        },
        &mut NoFiles,
    )
}

fn sizes(c: &mut Criterion) {
    for stages in SIZES {
        let text = Large::of(stages).text();
        let vocabulary = policy_vocabulary();
        let read = reading(&text);
        assert!(read.problems.is_empty(), "{:?}", read.problems);
        let (unit, beyond) = Unit::build(&read, &vocabulary);
        assert!(beyond.is_empty(), "{beyond:?}");
        let mut group = |name: &str, run: &mut dyn FnMut()| {
            let mut group = c.benchmark_group(name);
            group.sample_size(10).throughput(Throughput::Elements(stages as u64));
            group.bench_with_input(BenchmarkId::from_parameter(stages), &(), |b, ()| b.iter(&mut *run));
            group.finish();
        };
        group("reading", &mut || drop(black_box(reading(black_box(&text)))));
        group("building", &mut || drop(black_box(Unit::build(black_box(&read), &vocabulary))));
        group("solving", &mut || drop(black_box(Solved::new(black_box(&unit.variants[0])))));
        group("review", &mut || drop(black_box(loadworthy_checks::review(black_box(&unit)))));
    }
}

criterion_group!(benches, sizes);

/// Writes the description of a large unit.
fn write(arguments: &[String]) -> Result<(), String> {
    let number = |text: &String| text.parse::<usize>().map_err(|why| format!("{text}: {why}"));
    let [path, stages, more @ ..] = arguments else {
        return Err("--write FILE STAGES [VARIANTS]".to_owned());
    };
    let mut large = Large::of(number(stages)?);
    if let Some(variants) = more.first() {
        large.variants = number(variants)?;
    }
    std::fs::write(path, large.text()).map_err(|why| format!("{path}: {why}"))
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(place) = arguments.iter().position(|argument| argument == "--write") {
        // The harness adds words of its own behind those that were asked for.
        let asked: Vec<String> =
            arguments[place + 1..].iter().filter(|argument| !argument.starts_with("--")).cloned().collect();
        return match write(&asked) {
            Ok(()) => ExitCode::SUCCESS,
            Err(why) => {
                use std::io::Write as _;
                let _ = writeln!(std::io::stderr(), "{why}");
                ExitCode::FAILURE
            }
        };
    }
    benches();
    Criterion::default().configure_from_args().final_summary();
    ExitCode::SUCCESS
}
