//! Heat in a regulator, and what its junction comes to. Knows no vehicle.

/// What a regulator turns into heat, and how hot its junction gets by it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// In watts.
    pub heat_w: f64,
    /// Its junction, in °C.
    pub junction_c: f64,
}

/// Heat in a linear regulator, in watts: `(Vin − Vout) · I`, and what it draws for itself.
#[must_use]
pub fn linear_heat_w(input_v: f64, output_v: f64, load_amp: f64, quiescent_amp: f64) -> f64 {
    (input_v - output_v).max(0.0) * load_amp + input_v * quiescent_amp
}

/// Heat in a buck converter, in watts: `Vout · I · (1/η − 1)`, and what it draws for itself.
#[must_use]
pub fn buck_heat_w(input_v: f64, output_v: f64, load_amp: f64, efficiency: f64, quiescent_amp: f64) -> f64 {
    output_v * load_amp * (1.0 / efficiency - 1.0) + input_v * quiescent_amp
}

/// A junction's temperature, in °C: the air's, and `P · Rth`.
#[must_use]
pub fn junction_c(ambient_c: f64, heat_w: f64, k_per_w: f64) -> f64 {
    ambient_c + heat_w * k_per_w
}

/// The heat that brings a junction to its limit, in watts; 0 where the air alone does.
#[must_use]
pub fn rated_heat_w(junction_max_c: f64, ambient_c: f64, k_per_w: f64) -> f64 {
    ((junction_max_c - ambient_c) / k_per_w).max(0.0)
}
