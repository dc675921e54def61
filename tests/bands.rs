//! Bands against what lies outside the project: tolerance factors by another library, and
//! simulated wheels and presses.

use spokewire::bands::Tolerance;

/// `tests/golden/tolerance`: SciPy's adaptive quadrature of the same definition.
#[test]
fn tolerance_factors_agree_with_an_adaptive_quadrature() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/tolerance/factors.csv");
    let mut reader = csv::Reader::from_path(path).unwrap();
    let mut worst = 0.0_f64;
    let mut compared = 0;
    for row in reader.deserialize() {
        let (coverage, confidence, presses, freedom, factor): (f64, f64, u32, f64, f64) = row.unwrap();
        let ours = Tolerance::new(coverage, confidence, presses).factor(freedom);
        worst = worst.max((ours / factor - 1.0).abs());
        compared += 1;
    }
    assert_eq!(compared, 151);
    assert!(worst < 1e-6, "off by 1 part in {:.0}", 1.0 / worst);
}
