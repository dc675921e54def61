//! What a receiver does to a frame: every mark a little longer, every space as much shorter. Knows no
//! family: it compares a frame with what it should have been.

use super::super::read::Estimate;

/// By how much marks are longer than they should be, in microseconds, with what the remote's clock
/// does left aside; 0 where nothing tells.
pub(super) fn stretch_us(heard_us: &[f64], due_us: &[f64]) -> f64 {
    let mut estimate = Estimate::default();
    for (at, (&heard, &due)) in heard_us.iter().zip(due_us).enumerate() {
        estimate.take(heard, due, at.is_multiple_of(2));
    }
    estimate.found().map_or(0.0, |(stretch_us, _)| stretch_us)
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
