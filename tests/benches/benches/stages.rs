//! Every stage of a diagnosis, a whole tube, and the sample lot.
//!
//!     cargo bench -p sweepbook-benches

#![allow(missing_docs, reason = "criterion's macros make the functions")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use sweepbook_tests::{samples, workloads};
use sweepbook_timed::{Bench, WORKS, lot};

/// A sound tube and one with a fault that takes a search, by their numbers.
const TUBES: [usize; 2] = [0, 1];

fn stages(criterion: &mut Criterion) {
    for number in TUBES {
        let Some(work) = workloads::twin_triode(number) else { continue };
        let Some(mut bench) = Bench::new(work.text.as_bytes()) else { continue };
        let mut group = criterion.benchmark_group(&work.name);
        for what in WORKS {
            group.bench_function(what, |timing| timing.iter(|| black_box(bench.run(what))));
        }
        group.finish();
    }
}

fn whole_lot(criterion: &mut Criterion) {
    let files: Vec<Vec<u8>> =
        samples::files().into_iter().filter(|f| f.0.ends_with(".csv")).map(|f| f.1.into_bytes()).collect();
    criterion.bench_function("the sample lot", |timing| timing.iter(|| black_box(lot(&files))));
}

criterion_group!(all, stages, whole_lot);
criterion_main!(all);
