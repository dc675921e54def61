//! Worst case and root sum square of any reading of any inputs. Knows no circuit.

/// An input and the limits it keeps to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// The least it can be.
    pub low: f64,
    /// What it is meant to be, between the limits.
    pub nominal: f64,
    /// The most it can be.
    pub high: f64,
}

impl Limits {
    /// A nominal value and its tolerance to either side, as a share of it.
    #[must_use]
    pub fn within(nominal: f64, share: f64) -> Self {
        let off = nominal.abs() * share;
        Self { low: nominal - off, nominal, high: nominal + off }
    }

    /// The mean of what is uniform between the limits.
    #[must_use]
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// The standard uncertainty of what is uniform between the limits: half their distance over √3
    /// (NIST TN 1297 §4.6).
    #[must_use]
    pub fn uncertainty(&self) -> f64 {
        0.5 * (self.high - self.low) / 3.0_f64.sqrt()
    }
}

/// The lowest and the highest of a reading that rises or falls with each of its inputs wherever the
/// others stand: of all corners of the inputs' limits the two that matter are found by trying each
/// input's ends alone, and the reading is computed there. It is the true extreme, which nominal value
/// plus the sum of slopes times tolerances is not (FACTS C2, C3).
pub fn worst_case(inputs: &[Limits], reading: impl Fn(&[f64]) -> f64) -> (f64, f64) {
    let mut at: Vec<f64> = inputs.iter().map(|input| input.nominal).collect();
    let (mut low, mut high) = (at.clone(), at.clone());
    for (place, input) in inputs.iter().enumerate() {
        at[place] = input.low;
        let at_low = reading(&at);
        at[place] = input.high;
        let at_high = reading(&at);
        at[place] = input.nominal;
        (low[place], high[place]) =
            if at_low <= at_high { (input.low, input.high) } else { (input.high, input.low) };
    }
    (reading(&low), reading(&high))
}

/// A reading with its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Propagated {
    /// The reading with every input in the middle of its limits.
    pub mean: f64,
    /// Its combined standard uncertainty.
    pub uncertainty: f64,
}

/// The uncertainty of a reading by the law of propagation, `u² = Σ (∂f/∂x)² u(x)²`, the inputs
/// independent and each uniform between its limits (NIST TN 1297 §5 and App. A: "root sum of squares").
///
/// A slope is the difference quotient across an input's own uncertainty, so that it holds over the
/// width it is used for.
pub fn root_sum_square(inputs: &[Limits], reading: impl Fn(&[f64]) -> f64) -> Propagated {
    let mut at: Vec<f64> = inputs.iter().map(Limits::middle).collect();
    let mean = reading(&at);
    let mut square = 0.0;
    for (place, input) in inputs.iter().enumerate() {
        let (middle, uncertainty) = (at[place], input.uncertainty());
        at[place] = middle - uncertainty;
        let below = reading(&at);
        at[place] = middle + uncertainty;
        let above = reading(&at);
        at[place] = middle;
        square += (0.5 * (above - below)).powi(2);
    }
    Propagated { mean, uncertainty: square.sqrt() }
}
