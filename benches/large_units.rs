//! How the time of a review grows with the unit: reading, building, solving, and the review as a whole, for units that grow in
//! different directions.
//!
//! `cargo bench --bench large_units` measures. `cargo bench --bench large_units -- --write FILE STAGES [VARIANTS]` writes
//! the description of such a unit, so that the whole process can be timed with whatever times a process, and
//! `--write FILE SIZE SHAPE` one of another shape: `chain`, `sources` or `loads`.
#![allow(missing_docs, reason = "the macros of the benchmark harness")]

#[path = "large_units/shapes.rs"]
mod shapes;
#[path = "large_units/unit.rs"]
mod unit;

use std::hint::black_box;
use std::process::ExitCode;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group};
use loadworthy_checks::list::policy_vocabulary;
use loadworthy_language::{Files, Input, Reading, read};
use loadworthy_unit::{Solved, Unit};
use shapes::Shape;
use unit::Large;

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
    let all = Shape::ALL.into_iter().flat_map(|(shape, sizes)| sizes.map(|size| (shape, size)));
    for (shape, size) in all {
        let text = shape.text(size);
        let vocabulary = policy_vocabulary();
        let read = reading(&text);
        assert!(read.problems.is_empty(), "{:?}", read.problems);
        let (unit, beyond) = Unit::build(&read, &vocabulary);
        assert!(beyond.is_empty(), "{beyond:?}");
        let mut group = |name: &str, run: &mut dyn FnMut()| {
            let mut group = c.benchmark_group(format!("{} {name}", shape.word()));
            group.sample_size(10).throughput(Throughput::Elements(size as u64));
            group.bench_with_input(BenchmarkId::from_parameter(size), &(), |b, ()| b.iter(&mut *run));
            group.finish();
        };
        group("reading", &mut || drop(black_box(reading(black_box(&text)))));
        group("building", &mut || drop(black_box(Unit::build(black_box(&read), &vocabulary))));
        group("solving", &mut || drop(black_box(Solved::new(black_box(&unit.variants[0])))));
        group("review", &mut || drop(black_box(loadworthy_checks::review(black_box(&unit)))));
    }
}

criterion_group!(benches, sizes);

/// Writes the description of a large unit: of islands, of so many variants where a number is asked for, or of another shape.
fn write(arguments: &[String]) -> Result<(), String> {
    let number = |text: &String| text.parse::<usize>().map_err(|why| format!("{text}: {why}"));
    let [path, stages, more @ ..] = arguments else {
        return Err("--write FILE STAGES [VARIANTS], or --write FILE SIZE SHAPE".to_owned());
    };
    let size = number(stages)?;
    let named = more.first().and_then(|word| Shape::ALL.into_iter().find(|(shape, _)| shape.word() == word));
    let text = match (named, more.first()) {
        (Some((shape, _)), _) => shape.text(size),
        (None, Some(variants)) => Large { variants: number(variants)?, ..Large::of(size) }.text(),
        (None, None) => Large::of(size).text(),
    };
    std::fs::write(path, text).map_err(|why| format!("{path}: {why}"))
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
