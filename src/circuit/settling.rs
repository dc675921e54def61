//! How long a sampling capacitor takes to settle behind a resistance. Knows no converter in
//! particular.

/// Time constants until a step is within half a step of an N-bit converter: `ln 2^(N+1)`
/// (TI SLYW038D).
#[must_use]
pub fn settle_time_constants(bits: u32) -> f64 {
    f64::from(bits + 1) * std::f64::consts::LN_2
}

/// Seconds until `farad` behind `ohm` is within half a step of an N-bit converter.
#[must_use]
pub fn settle_s(ohm: f64, farad: f64, bits: u32) -> f64 {
    ohm * farad * settle_time_constants(bits)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FACTS C14: TI SLYW038D.
    #[test]
    fn time_constants_agree_with_the_published_table() {
        for (bits, expected) in [(8, 6.238), (10, 7.625), (12, 9.011)] {
            assert!((settle_time_constants(bits) - expected).abs() < 0.0005, "{bits}");
        }
    }

    /// FACTS C15: AN119 and a settling-time calculator. A quarter step of 12 bits is half a step of
    /// 13, an eighth half a step of 14.
    #[test]
    fn settling_times_agree_with_published_examples() {
        assert!((settle_s(10e3, 12e-12, 13) - 1.164e-6).abs() < 0.5e-9);
        assert!((settle_s(100e3, 10e-12, 14) - 10.4e-6).abs() < 0.05e-6);
    }

    /// FACTS C16, C17: computed there from the ATmega328P datasheet's 14 pF behind at most 100 kΩ,
    /// whose sampling lasts 12 µs, and for two usual filters.
    #[test]
    fn the_chip_and_the_filters_settle_as_computed_for_the_datasheet() {
        assert!((settle_s(100e3, 14e-12, 10) - 10.7e-6).abs() < 0.05e-6);
        assert!((settle_s(110e3, 14e-12, 10) - 11.7e-6).abs() < 0.05e-6);
        assert!((settle_s(1e3, 100e-9, 10) - 0.762e-3).abs() < 0.001e-3);
        assert!((settle_s(10e3, 100e-9, 10) - 7.62e-3).abs() < 0.01e-3);
    }
}
