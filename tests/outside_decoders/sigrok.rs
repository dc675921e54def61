//! Pulses as a logic analyser would have sampled them, read by the decoders of `sigrok-cli` (Debian
//! package `sigrok-cli`, GPL-3; its decoders share no code with this project). Knows no family.

#![expect(clippy::panic, clippy::unwrap_used, reason = "a test's helpers fail the test")]

use std::process::Command;

/// Samples a second.
const RATE_HZ: u32 = 500_000;
/// How long the line idles before, between and after frames, in microseconds.
const IDLE_US: f64 = 40_000.0;

/// What a decoder says of frames that follow one another, one annotation a line, without its own name.
///
/// The frames are marks and spaces in microseconds, mark first. The command is
/// `sigrok-cli -i FILE -I binary:numchannels=1:samplerate=500000 -P DECODER -A ANNOTATIONS`, and each
/// byte of FILE one sample: 1 in a mark, else 0.
pub(crate) fn read_by(decoder: &str, annotations: &str, frames: &[Vec<f64>]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("frames.bin");
    std::fs::write(&file, samples(frames)).unwrap();
    let form = format!("binary:numchannels=1:samplerate={RATE_HZ}");
    let output = Command::new("sigrok-cli")
        .arg("-i")
        .arg(&file)
        .args(["-I", &form, "-P", decoder, "-A", annotations])
        .output()
        .unwrap_or_else(|error| {
            panic!(
                "sigrok-cli did not start ({error}). It is the Debian package sigrok-cli: \
                 apt-get install --no-install-recommends sigrok-cli"
            )
        });
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "sigrok-cli, {decoder}: {} {said}", output.status);
    let told = |line: &str| line.split_once(": ").map(|(_, told)| told.to_owned());
    String::from_utf8_lossy(&output.stdout).lines().filter_map(told).collect()
}

/// The line sampled. Edges are rounded where they lie, not one after the other, so that no error adds up.
fn samples(frames: &[Vec<f64>]) -> Vec<u8> {
    let mut line = Vec::new();
    let mut now_us = 0.0;
    let mut run = |us: f64, level: u8| {
        now_us += us;
        let until = (now_us * f64::from(RATE_HZ) / 1e6).round() as usize;
        line.resize(until, level);
    };
    run(IDLE_US, 0);
    for frame in frames {
        for (at, &us) in frame.iter().enumerate() {
            run(us, u8::from(at.is_multiple_of(2)));
        }
        run(IDLE_US, 0);
    }
    line
}
