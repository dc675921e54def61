//! How long the whole E96 plan of a wheel of sixteen buttons takes: 50 ms at most.
//! Run with `cargo bench --bench plan`.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use spokewire::circuit::{Circuit, PlanInput, PlanNoise, PlanRung, plan};
use spokewire::units::Series;

fn whole_plan(c: &mut Criterion) {
    let circuit = Circuit::recommended();
    // Each step a third more than the ohms before it.
    let mut ohm = 60.0;
    let mut rungs: Vec<PlanRung> = (0..16)
        .map(|_| {
            ohm += 40.0 + ohm / 3.0;
            PlanRung { wire: 1, ohm, is_rest: false }
        })
        .collect();
    rungs.push(PlanRung { wire: 1, ohm: 2.0 * ohm, is_rest: true });
    let noise = PlanNoise {
        converter_error_count: 2.0,
        within_count: 1.0,
        between_ohm: 3.0,
        wear_ohm: 100.0,
        tolerance_factor: 5.0,
    };
    let input = PlanInput { circuit: &circuit, rungs: &rungs, noise, series: Series::E96, drawer_ohm: &[] };
    c.bench_function("the whole E96 plan of sixteen buttons", |b| b.iter(|| plan(black_box(&input))));
}

criterion_group!(benches, whole_plan);
criterion_main!(benches);
