//! How many boxes a second are built and judged: ten buttons, six conditions each, on one thread and on
//! two, beside the same model in numpy (`boxes.py`), one after the other in one run, with the ratio.
//! Run with `cargo bench --bench boxes`; without numpy that line says so.
#![expect(clippy::expect_used, reason = "a benchmark may fail")]

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use spokewire::circuit::tolerance::BoxRun;
use spokewire::work::each_of;

#[path = "../tolerance/case.rs"]
mod case;

/// Ten buttons on one wire, nothing learned.
const TEN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/boxes/ten.json");

const BOXES: u64 = 1_000_000;

/// Each is timed so often, and the median is told.
const TIMES: usize = 7;

/// Seconds for so many boxes.
fn seconds(case: &case::Case, threads: usize) -> f64 {
    let mut all: Vec<f64> = (0..TIMES as u64)
        .map(|seed| {
            let began = Instant::now();
            let run = BoxRun::new(&case.model, BOXES, seed);
            let mut sum = run.none();
            let all =
                each_of(run.chunks(), threads, &|| false, &|chunk| run.tally(chunk), &mut |_, tally| {
                    sum.add(&tally);
                });
            assert!(all && black_box(&sum).boxes == BOXES, "all were built");
            let theirs = case.expected["ignoring"].as_f64().expect("the table's number");
            assert!((sum.ignoring as f64 / theirs - 1.0).abs() < 0.1, "they are numpy's boxes");
            began.elapsed().as_secs_f64()
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[TIMES / 2]
}

/// Seconds that numpy needs for as many, by its own clock, imports and reading left out.
fn numpy_seconds() -> Option<f64> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/benches/boxes.py");
    let out = Command::new("python3").arg(script).arg(TEN).args(["--boxes", "1000000"]).output().ok()?;
    let report: serde_json::Value = serde_json::from_slice(&out.stdout).ok()?;
    report["seconds"].as_f64()
}

fn main() {
    let case = case::read(TEN).expect("the case of ten buttons");
    let rate = |seconds: f64| BOXES as f64 / seconds / 1e6;
    let one = seconds(&case, 1);
    let two = seconds(&case, 2);
    println!("a million boxes of ten buttons, median of {TIMES}");
    println!("  one thread   {one:.3} s  {:.2} million a second", rate(one));
    println!("  two threads  {two:.3} s  {:.2} million a second, {:.2} times one", rate(two), one / two);
    match numpy_seconds() {
        Some(numpy) => println!(
            "  numpy        {numpy:.3} s  {:.2} million a second: one thread is {:.1} times as fast, two {:.1}",
            rate(numpy),
            numpy / one,
            numpy / two
        ),
        None => println!("  numpy        not there (python3 -c 'import numpy'): nothing to compare with"),
    }
}
