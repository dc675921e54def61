//! What counts as settled, tried on made readings with seeded normal noise.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::*;

struct Noise(ChaCha8Rng);

impl Noise {
    fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A whole number, as a 10-bit converter gives.
    fn reading(&mut self, exact: f64, sigma: f64) -> f64 {
        (exact + sigma * self.0.sample::<f64, _>(StandardNormal)).floor().clamp(0.0, TOP_COUNT)
    }
}

fn made(rate_per_s: f64, ms: f64, sigma: f64, seed: u64, exact: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let mut noise = Noise::new(seed);
    let readings = (ms * rate_per_s / 1e3) as usize;
    (0..=readings)
        .map(|k| {
            let t_ms = k as f64 * 1e3 / rate_per_s;
            (t_ms, noise.reading(exact(t_ms), sigma))
        })
        .collect()
}

fn part(readings: &[(f64, f64)]) -> Result<Stretch, NotSettled> {
    settled_part(readings.iter().copied(), &Settling::default(), |_| false)
}

#[test]
fn the_stretch_has_the_median_and_spread_of_its_readings_worked_out_by_hand() {
    // 7 readings 50 ms apart: sorted 500 500 501 501 501 502 503, median 501; squares about it
    // 1+1+0+0+0+1+4 = 7, over 6 degrees of freedom: √(7/6).
    let readings = [501.0, 500.0, 503.0, 501.0, 500.0, 502.0, 501.0];
    let readings: Vec<_> = readings.iter().enumerate().map(|(k, &c)| (k as f64 * 50.0, c)).collect();
    let stretch = part(&readings).unwrap();
    assert_eq!(stretch.median_count, 501.0);
    assert!((stretch.spread_count - (7.0_f64 / 6.0).sqrt()).abs() < 1e-12);
    assert_eq!((stretch.from_ms, stretch.to_ms, stretch.readings), (0.0, 300.0, 7));
}

#[test]
fn it_settles_at_any_rate_from_ten_to_five_thousand_a_second() {
    for rate in [10.0, 25.0, 100.0, 1_000.0, 5_000.0] {
        for sigma in [0.3, 0.9, 3.0] {
            for seed in 0..5 {
                let readings = made(rate, 1_000.0, sigma, seed, |_| 551.5);
                let limits = Settling::default().with_noise(sigma);
                let stretch = settled_part(readings.into_iter(), &limits, |_| false)
                    .unwrap_or_else(|e| panic!("{rate}/s ± {sigma}: {e}"));
                let error = 1.0 + 5.0 * 1.253 * sigma / f64::from(stretch.readings).sqrt();
                assert!((stretch.median_count - 551.0).abs() <= error, "{rate} {sigma}: {stretch:?}");
                assert!(stretch.readings >= 5 && stretch.length_ms() >= 300.0);
            }
        }
    }
}

#[test]
fn it_is_not_settled_before_its_time_nor_with_too_few_readings() {
    let mut tracker = Tracker::new(Settling::default());
    for (t_ms, count) in made(1_000.0, 299.0, 0.9, 1, |_| 400.5) {
        tracker.push(t_ms, Level::from_count(count));
        assert!(!matches!(tracker.state(), Settle::Settled { .. }));
    }
    assert!(matches!(tracker.state(), Settle::Settling { progress, .. } if progress > 0.99));
    tracker.push(300.0, Level::from_count(400.0));
    assert!(matches!(tracker.state(), Settle::Settled { .. }));
    let few = [(0.0, 400.0), (150.0, 400.0), (300.0, 401.0), (310.0, 400.0)];
    assert_eq!(part(&few), Err(NotSettled::TooFew { readings: 4, wanted: 5 }));
}

#[test]
fn spikes_are_dropped_and_leave_no_mark_on_the_median_or_the_spread() {
    let mut readings = made(1_000.0, 900.0, 0.9, 2, |_| 551.5);
    let clean = part(&readings).unwrap();
    for k in (40..900).step_by(60) {
        readings[k].1 = if k % 120 == 40 { 0.0 } else { 1023.0 };
    }
    let spiked = part(&readings).unwrap();
    assert_eq!(spiked.median_count, clean.median_count);
    assert!((spiked.spread_count - clean.spread_count).abs() < 0.05, "{spiked:?} {clean:?}");
    assert!(spiked.length_ms() > 880.0);
}

#[test]
fn a_slow_slide_never_settles_however_quiet_it_is() {
    for slope_count_per_s in [15.0, 40.0, 150.0, 1_000.0] {
        for seed in 0..4 {
            let readings = made(1_000.0, 900.0, 0.7, seed, |t| 900.0 - slope_count_per_s * t / 1e3);
            let found = part(&readings);
            assert!(found.is_err(), "{slope_count_per_s}/s: {found:?}");
        }
    }
}

#[test]
fn it_snaps_to_the_settled_part_of_a_slow_press() {
    // Down an exponential of 80 ms time constant from 30 kΩ, held, and let go again.
    let ohm = |t: f64| match t {
        t if t < 200.0 => 14_900.0,
        t if t < 1_800.0 => (1_162.0 + 30_000.0 * (-(t - 200.0) / 80.0_f64).exp()).min(14_900.0),
        _ => 14_900.0,
    };
    let readings = made(1_000.0, 2_000.0, 0.9, 3, |t| 1024.0 * ohm(t) / (ohm(t) + 1_000.0));
    let stretch = part(&readings).unwrap();
    assert!((stretch.median_count - 550.0).abs() <= 1.0, "{stretch:?}");
    assert!(stretch.from_ms > 600.0 && stretch.to_ms < 1_800.0 && stretch.length_ms() > 700.0, "{stretch:?}");
}

#[test]
fn why_it_is_not_settled_is_said_with_the_values() {
    let short: Vec<_> = (0..=12).map(|k| (f64::from(k) * 10.0, 552.0)).collect();
    assert_eq!(part(&short).unwrap_err().to_string(), "too short: 0.12 s settled, 0.30 s wanted");
    let noisy = part(&made(1_000.0, 1_000.0, 40.0, 5, |_| 500.0)).unwrap_err();
    let NotSettled::TooNoisy { spread_count, .. } = noisy else { panic!("{noisy}") };
    assert!((25.0..60.0).contains(&spread_count), "{spread_count}");
    assert!(noisy.to_string().starts_with("too noisy: ± "));
    let top = part(&made(1_000.0, 1_000.0, 0.9, 6, |_| 1_030.0)).unwrap_err();
    assert_eq!(top.to_string(), "at the top of the range: 1023; check the return wire");
    assert_eq!(part(&[]).unwrap_err(), NotSettled::Empty);
    assert_eq!(part(&[(f64::NAN, 3.0), (1.0, f64::NAN)]).unwrap_err(), NotSettled::Empty);
    let slid = part(&made(1_000.0, 600.0, 0.5, 7, |t| 900.0 - t)).unwrap_err();
    assert_eq!(slid.to_string(), "never settled: it went from 899 to 299; hold the button still");
}

#[test]
fn a_loss_a_gap_and_a_clock_that_runs_back_end_the_stretch() {
    for breaker in [(500.5, f64::NAN), (900.0, 400.0), (100.0, 400.0)] {
        let mut tracker = Tracker::new(Settling::default());
        for (t_ms, count) in made(1_000.0, 500.0, 0.5, 8, |_| 400.5) {
            assert_eq!(tracker.push(t_ms, Level::from_count(count)), None);
        }
        let ended = tracker.push(breaker.0, Level::from_count(breaker.1)).unwrap();
        assert_eq!(ended.to_ms, 500.0);
        assert_eq!(tracker.state(), Settle::Moving);
        assert_eq!(tracker.end(), None);
    }
}

#[test]
fn two_places_are_two_stretches() {
    let mut tracker = Tracker::new(Settling::default());
    let mut ended = Vec::new();
    for (t_ms, count) in made(1_000.0, 1_000.0, 0.9, 9, |t| if t < 500.0 { 400.5 } else { 430.5 }) {
        ended.extend(tracker.push(t_ms, Level::from_count(count)));
    }
    ended.extend(tracker.end());
    let medians: Vec<_> = ended.iter().map(|s| s.median_count).collect();
    assert_eq!(medians, [400.0, 430.0]);
}

#[test]
fn noise_that_rest_did_not_show_is_found_out() {
    // A wire that rests at the rail says its noise is nothing.
    let limits = Settling { noise_count: 0.0, ..Settling::default() };
    let mut settled = 0;
    for seed in 0..20 {
        let readings = made(1_000.0, 900.0, 3.0, seed, |_| 300.5);
        settled += u32::from(settled_part(readings.into_iter(), &limits, |_| false).is_ok());
    }
    assert_eq!(settled, 20);
}

#[test]
fn the_window_keeps_the_medians_of_its_halves_exactly() {
    let mut noise = Noise::new(11);
    let mut window = Window::default();
    let limits = Settling { window_ms: 40.0, ..Settling::default() };
    for k in 0..500 {
        let steps = (noise.reading(500.0, 60.0) * Level::PER_COUNT) as u16;
        window.push(f64::from(k), steps);
        window.shorten(&limits);
        let all: Vec<u16> = window.ring.iter().map(|&(_, steps)| steps).collect();
        let (early, late) = all.split_at(window.early.len());
        let sorted = |half: &[u16]| {
            let mut half = half.to_vec();
            half.sort_unstable();
            half
        };
        assert_eq!((&window.early, &window.late), (&sorted(early), &sorted(late)));
        assert!(window.late.len() - window.early.len() <= 1 && all.len() <= 42);
    }
}
