//! What a receiver does to a frame: every mark a little longer, every space as much shorter. Knows no
//! family: it compares a frame with what it should have been.

/// How a frame came through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fit {
    /// By how much marks are longer than they should be, in microseconds.
    pub(super) stretch_us: f64,
    /// How long everything is against what it should be: 1.02 for a remote 2 % slow.
    pub(super) scale: f64,
}

/// Stretch and scale of a frame, by least squares weighted by what a timing may be off, which is a
/// share of its length: `heard = scale * due + stretch` for marks, `- stretch` for spaces.
pub(super) fn fit(heard_us: &[f64], due_us: &[f64]) -> Fit {
    let (mut tt, mut st, mut ss, mut th, mut sh) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (at, (&heard, &due)) in heard_us.iter().zip(due_us).enumerate() {
        let sign = if at.is_multiple_of(2) { 1.0 } else { -1.0 };
        let weight = 1.0 / (due * due);
        tt += weight * due * due;
        st += weight * due * sign;
        ss += weight;
        th += weight * due * heard;
        sh += weight * sign * heard;
    }
    let determinant = tt * ss - st * st;
    if determinant.abs() <= f64::EPSILON * tt * ss {
        return Fit { stretch_us: 0.0, scale: 1.0 };
    }
    Fit { stretch_us: (sh * tt - th * st) / determinant, scale: (th * ss - sh * st) / determinant }
}

/// A frame with the stretch taken out.
pub(super) fn without(pulses_us: &[f64], stretch_us: f64) -> Vec<f64> {
    let signed = |at: usize| if at.is_multiple_of(2) { stretch_us } else { -stretch_us };
    pulses_us.iter().enumerate().map(|(at, us)| us - signed(at)).collect()
}

/// Each pulse the mean over frames of one length.
pub(super) fn mean(frames: &[&[f64]]) -> Vec<f64> {
    let Some(first) = frames.first() else { return Vec::new() };
    let alike: Vec<_> = frames.iter().filter(|frame| frame.len() == first.len()).collect();
    let count = alike.len() as f64;
    (0..first.len()).map(|at| alike.iter().map(|frame| frame[at]).sum::<f64>() / count).collect()
}

/// The middle value; `None` of nothing.
pub(super) fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    let upper = *sorted.get(half)?;
    Some(if sorted.len().is_multiple_of(2) { (sorted[half - 1] + upper) / 2.0 } else { upper })
}
