//! The link as the window and the terminal use it, over real pseudo-terminals: no hardware needed.
#![cfg(all(unix, feature = "serial"))]
#![expect(clippy::expect_used, clippy::panic, reason = "the helpers of a test may fail it")]

use std::io::{self, Read as _, Write as _};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use serialport::{SerialPort as _, TTYPort};
use spokewire::bands::Touch;
use spokewire::link::{Batch, DemoTouch, Link, Report, Request, Target};
use spokewire::signal::RawReading;

/// `TTYPort::pair` is not thread-safe (serialport says so itself).
static PAIR: Mutex<()> = Mutex::new(());

/// How long a test waits for what must come.
const PATIENCE: Duration = Duration::from_secs(10);

/// The probe's end, and the path of the other end, which is closed again: it is exclusive, and
/// the link has to be able to open it.
fn pty() -> (TTYPort, String) {
    let _guard = PAIR.lock().unwrap_or_else(PoisonError::into_inner);
    let (probe, far) = TTYPort::pair().expect("a pseudo-terminal");
    let path = far.name().expect("its name");
    drop(far);
    (probe, path)
}

fn opened(path: &str) -> Link {
    let link = Link::start(|| ());
    link.send(Request::Open(Target::Serial { path: path.to_owned(), rate: None })).expect("sent");
    link
}

/// Reports until `wanted` gives something.
fn until<T>(link: &Link, limit: Duration, mut wanted: impl FnMut(&Report) -> Option<T>) -> T {
    let end = Instant::now() + limit;
    let mut seen = vec![];
    while let Some(report) = link.recv_timeout(end.saturating_duration_since(Instant::now())) {
        if let Some(found) = wanted(&report) {
            return found;
        }
        if !matches!(report, Report::Readings(_)) {
            seen.push(report);
        }
    }
    panic!("it did not come within {limit:?}; seen: {seen:?}");
}

fn trying(report: &Report) -> Option<()> {
    matches!(report, Report::Trying { .. }).then_some(())
}

fn connected(report: &Report) -> Option<u8> {
    match report {
        Report::Connected { wires, .. } => Some(*wires),
        _ => None,
    }
}

/// Writes all of it. Until the link has opened its end, a pseudo-terminal is hung up; while its
/// buffer is full, it times out.
fn write(probe: &mut TTYPort, mut bytes: &[u8]) {
    let end = Instant::now() + PATIENCE;
    while !bytes.is_empty() {
        match probe.write(bytes) {
            Ok(count) => bytes = &bytes[count..],
            Err(e) if Instant::now() < end => {
                assert!(matches!(e.kind(), io::ErrorKind::BrokenPipe | io::ErrorKind::TimedOut), "{e}");
                std::thread::sleep(Duration::from_millis(2));
            }
            Err(e) => panic!("nobody reads: {e}"),
        }
    }
}

/// Everything a link gives until this many readings have come, as one batch.
fn gathered(link: &Link, readings: usize) -> Batch {
    let mut all = Batch::default();
    until(link, PATIENCE, |report| {
        if let Report::Readings(batch) = report {
            assert!(batch.readings.len() <= 512, "{}", batch.readings.len());
            all.readings.extend_from_slice(&batch.readings);
            all.broken_lines += batch.broken_lines;
            all.lost_readings += batch.lost_readings;
        }
        (all.readings.len() as u64 + all.lost_readings >= readings as u64).then_some(())
    });
    all
}

fn one(number: u16) -> [u16; 2] {
    [number, RawReading::NONE]
}

#[test]
fn all_numbers_are_read_in_order_whatever_the_blocks() {
    let (mut probe, path) = pty();
    let wakes = Arc::new(AtomicUsize::new(0));
    let counter = Arc::clone(&wakes);
    let link = Link::start(move || {
        counter.fetch_add(1, Ordering::Relaxed);
    });
    link.send(Request::Open(Target::Serial { path, rate: None })).expect("sent");
    let numbers: Vec<u16> = (0..5_000).map(|n| n % 1024).collect();
    let text: String = numbers.iter().map(|n| format!("{n}\r\n")).collect();
    let writer = std::thread::Builder::new().spawn(move || {
        write(&mut probe, b"2\r\n"); // the end of a line that was cut by opening
        text.as_bytes().chunks(333).for_each(|block| write(&mut probe, block));
        probe
    });
    let all = gathered(&link, numbers.len());
    assert_eq!(
        all.readings.iter().map(|r| r.raw).collect::<Vec<_>>(),
        numbers.into_iter().map(one).collect::<Vec<_>>()
    );
    assert_eq!((all.broken_lines, all.lost_readings), (0, 0));
    assert!(all.readings.is_sorted_by(|a, b| a.t_ms <= b.t_ms), "time never runs backwards");
    assert!(wakes.load(Ordering::Relaxed) > 0);
    drop(writer.expect("a thread").join().expect("written"));
}

#[test]
fn line_ends_of_every_kind_and_two_wires_are_read() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    write(&mut probe, b"\n1,2\r\n3\t4\n\r5 6\r7;8\n\n9, 10\r\r\n4095 0\n12 13\r\n");
    let wires = until(&link, PATIENCE, connected);
    assert_eq!(wires, 2);
    let raw: Vec<_> = gathered(&link, 7).readings.iter().map(|r| r.raw).collect();
    assert_eq!(raw, [[1, 2], [3, 4], [5, 6], [7, 8], [9, 10], [4095, 0], [12, 13]]);
}

#[test]
fn broken_lines_are_counted_and_shown_and_are_never_readings() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    let good = "512\n".repeat(20);
    write(&mut probe, format!("\n{good}").as_bytes());
    until(&link, PATIENCE, connected);
    write(&mut probe, format!("4096\n1.5\n1 2\n{}\nvolt \x07\n{good}", "9".repeat(70)).as_bytes());
    let all = gathered(&link, 40);
    assert!(all.readings.iter().all(|r| r.raw == one(512)));
    assert_eq!(all.broken_lines, 5);
    assert_eq!(link.broken_sample().as_deref(), Some(r"volt \x07"));
}

#[test]
fn unplugging_is_noticed_within_a_second_and_the_link_comes_back_by_itself() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("probe");
    let plug = |far: &str| std::os::unix::fs::symlink(far, &path).expect("plugged in");
    let (mut probe, far) = pty();
    plug(&far);
    let link = opened(path.to_str().expect("text"));
    write(&mut probe, "300\n".repeat(10).as_bytes());
    until(&link, PATIENCE, connected);

    let unplugged = Instant::now();
    std::fs::remove_file(&path).expect("unplugged");
    drop(probe);
    let gone = until(&link, Duration::from_secs(1), |report| match report {
        Report::Gone { path, .. } => Some(path.clone()),
        _ => None,
    });
    assert_eq!(Path::new(&gone), path);
    println!("unplugging noticed after {:?}", unplugged.elapsed());

    std::thread::sleep(Duration::from_millis(600));
    let (mut probe, far) = pty();
    plug(&far);
    write(&mut probe, "700\n".repeat(10).as_bytes());
    until(&link, Duration::from_secs(2), connected);
    let batch = gathered(&link, 9);
    assert!(batch.readings.iter().all(|r| r.raw == one(700)));
    assert!(batch.readings[0].t_ms > 600.0, "time has gone on: {}", batch.readings[0].t_ms);
}

#[test]
fn a_path_that_vanishes_is_noticed_although_the_port_still_answers() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("probe");
    let (mut probe, far) = pty();
    std::os::unix::fs::symlink(far, &path).expect("plugged in");
    let link = opened(path.to_str().expect("text"));
    write(&mut probe, "300\n".repeat(10).as_bytes());
    until(&link, PATIENCE, connected);
    std::fs::remove_file(&path).expect("unplugged");
    let reason = until(&link, Duration::from_secs(1), |report| match report {
        Report::Gone { reason, .. } => Some(reason.clone()),
        _ => None,
    });
    assert_eq!(reason, "its path is no longer there");
}

#[test]
fn what_a_flood_loses_is_counted_and_what_must_be_known_is_kept() {
    const BLOCK: usize = 512;
    let (mut probe, path) = pty();
    let link = opened(&path);
    let stop = Arc::new(AtomicBool::new(false));
    let stopped = Arc::clone(&stop);
    let writer = std::thread::Builder::new().spawn(move || {
        let block = "1023\n".repeat(BLOCK);
        write(&mut probe, b"\n");
        let (start, mut blocks) = (Instant::now(), 0_usize);
        while !stopped.load(Ordering::Relaxed) {
            write(&mut probe, block.as_bytes());
            blocks += 1;
        }
        println!("{:.1} MB/s", (blocks * block.len()) as f64 / 1e6 / start.elapsed().as_secs_f64());
        std::thread::sleep(Duration::from_millis(300)); // what is on its way arrives
        drop(probe);
        blocks * BLOCK
    });
    // Nobody takes anything for longer than the queue holds.
    std::thread::sleep(Duration::from_secs(2));
    stop.store(true, Ordering::Relaxed);
    let sent = writer.expect("a thread").join().expect("written") as u64;
    std::thread::sleep(Duration::from_millis(200));
    // What was lost at the end is told as soon as there is room.
    let (mut got, mut lost, mut broken, mut kept) = (0, 0, 0, vec![]);
    while let Some(report) = link.recv_timeout(Duration::from_millis(300)) {
        match report {
            Report::Readings(batch) => {
                got += batch.readings.len() as u64;
                lost += batch.lost_readings;
                broken += batch.broken_lines;
            }
            other => kept.push(other),
        }
    }
    println!("sent {sent}, got {got}, lost {lost}");
    assert!(got <= 131_072, "bounded: {got}");
    assert!(lost > 0 && sent > got, "the flood was more than is held");
    assert_eq!((got + lost, broken), (sent, 0));
    assert!(matches!(kept.first(), Some(Report::Ports(_) | Report::Trying { .. })), "{kept:?}");
    assert!(kept.iter().any(|report| connected(report).is_some()), "{kept:?}");
    assert!(kept.iter().any(|report| matches!(report, Report::Gone { .. })), "{kept:?}");
}

#[test]
fn a_consumer_that_keeps_up_with_a_flood_of_a_megabyte_a_second_loses_nothing() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    let total = 400_000;
    let writer = std::thread::Builder::new().spawn(move || {
        write(&mut probe, b"\n");
        let start = Instant::now();
        let block = "1023\n".repeat(200);
        for at in 0..total / 200 {
            write(&mut probe, block.as_bytes());
            // 1 MB/s is a block of 1000 bytes each millisecond.
            let due = Duration::from_millis(at as u64);
            std::thread::sleep(due.saturating_sub(start.elapsed()));
        }
        println!("{:.2} MB/s", total as f64 * 5e-6 / start.elapsed().as_secs_f64());
        probe
    });
    let all = gathered(&link, total);
    assert_eq!((all.readings.len(), all.lost_readings, all.broken_lines), (total, 0, 0));
    drop(writer.expect("a thread").join().expect("written"));
}

#[test]
fn garbage_is_given_up_with_advice_and_never_a_reading() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    let stop = Arc::new(AtomicBool::new(false));
    let stopped = Arc::clone(&stop);
    let writer = std::thread::Builder::new().spawn(move || {
        let mut seed = 1_u32;
        while !stopped.load(Ordering::Relaxed) {
            let block: Vec<u8> = (0..1000)
                .map(|_| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    (seed >> 24) as u8
                })
                .collect();
            if probe.write_all(&block).is_err() {
                std::thread::sleep(Duration::from_millis(5)); // not open yet, or given up
            }
        }
    });
    let (what, advice) = until(&link, Duration::from_secs(20), |report| match report {
        Report::Failed { what, advice } => Some((what.clone(), advice.clone())),
        Report::Readings(batch) => panic!("{batch:?}"),
        _ => None,
    });
    stop.store(true, Ordering::Relaxed);
    writer.expect("a thread").join().expect("written");
    assert!(what.starts_with(&format!("Bytes come from {path}, but at none of the rates")), "{what}");
    assert!(advice.contains("one or two numbers"), "{advice}");
}

#[test]
fn silence_is_told_each_second_and_the_end_comes_within_200_ms() {
    let (_probe, path) = pty();
    let link = opened(&path);
    let mut told = vec![];
    until(&link, Duration::from_secs(4), |report| {
        if let Report::Silent { ms, bytes_came } = report {
            assert!(!bytes_came);
            told.push(*ms);
        }
        (told.len() == 2).then_some(())
    });
    assert!((1_000..1_900).contains(&told[0]) && (2_000..2_900).contains(&told[1]), "{told:?}");
    let start = Instant::now();
    drop(link);
    assert!(start.elapsed() < Duration::from_millis(200), "{:?}", start.elapsed());
}

#[test]
fn a_flood_does_not_keep_the_link_from_ending_within_200_ms() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    let stop = Arc::new(AtomicBool::new(false));
    let stopped = Arc::clone(&stop);
    let writer = std::thread::Builder::new().spawn(move || {
        let block = "1023\n".repeat(200);
        while !stopped.load(Ordering::Relaxed) {
            let _ = probe.write(block.as_bytes()); // hung up before and after
        }
    });
    until(&link, PATIENCE, connected);
    std::thread::sleep(Duration::from_millis(300));
    let start = Instant::now();
    drop(link);
    let took = start.elapsed();
    stop.store(true, Ordering::Relaxed);
    writer.expect("a thread").join().expect("written");
    assert!(took < Duration::from_millis(200), "{took:?}");
}

fn failure(link: &Link) -> (String, String) {
    until(link, PATIENCE, |report| match report {
        Report::Failed { what, advice } => Some((what.clone(), advice.clone())),
        _ => None,
    })
}

#[test]
fn a_port_that_is_open_already_is_refused_with_advice() {
    let (_probe, path) = pty();
    let first = opened(&path);
    until(&first, PATIENCE, trying);
    let (what, advice) = failure(&opened(&path));
    assert_eq!(what, format!("{path} is in use."));
    assert_eq!(advice, "Another program has it open: close it, then connect again.");
}

#[test]
fn a_missing_path_says_so() {
    let (what, advice) = failure(&opened("/dev/ttyNONE"));
    assert_eq!(what, "There is no port at /dev/ttyNONE.");
    assert!(advice.starts_with("Plug it in"), "{advice}");
}

#[test]
fn closing_frees_the_port_and_the_same_link_opens_it_again() {
    let (mut probe, path) = pty();
    let link = opened(&path);
    write(&mut probe, "1 2\n".repeat(10).as_bytes());
    until(&link, PATIENCE, connected);
    link.send(Request::Close).expect("sent");
    until(&link, PATIENCE, |report| (*report == Report::Closed).then_some(()));
    link.send(Request::Open(Target::Serial { path, rate: Some(9_600) })).expect("sent");
    until(&link, PATIENCE, trying);
    write(&mut probe, "\n5 6\n".repeat(10).as_bytes());
    assert_eq!(until(&link, PATIENCE, connected), 2);
    // Nothing is ever sent to a probe that only prints numbers.
    probe.set_timeout(Duration::from_millis(50)).expect("set");
    assert!(probe.read(&mut [0; 8]).is_err());
}

#[test]
fn the_demo_is_pressed_and_let_go() {
    let link = Link::start(|| ());
    link.send(Request::Open(Target::Demo { speed: 10 })).expect("sent");
    until(&link, PATIENCE, connected);
    let rest = gathered(&link, 1_000);
    let times: Vec<_> = rest.readings.iter().take(3).map(|r| r.t_ms).collect();
    assert_eq!(times, [0.0, 1.0, 2.0]);
    let median = |batch: &Batch| {
        let mut raw: Vec<_> = batch.readings.iter().rev().take(501).map(|r| r.raw[0]).collect();
        raw.sort_unstable();
        raw[raw.len() / 2]
    };
    let at_rest = median(&rest);
    link.send(Request::Demo(DemoTouch::Press { button: 0, touch: Touch::Firm })).expect("sent");
    let pressed = median(&gathered(&link, 3_000));
    // 14.9 kΩ against 1.0 kΩ at rest, 82 Ω and its contact when pressed.
    assert!(at_rest > 900 && pressed < 200, "{at_rest} {pressed}");
    link.send(Request::Demo(DemoTouch::Release)).expect("sent");
    assert!(median(&gathered(&link, 3_000)).abs_diff(at_rest) < 5);
}

#[test]
fn a_demo_nobody_takes_from_waits_and_still_hears_its_requests() {
    let link = Link::start(|| ());
    link.send(Request::Open(Target::Demo { speed: 1_000 })).expect("sent");
    std::thread::sleep(Duration::from_secs(1));
    link.send(Request::Close).expect("sent");
    std::thread::sleep(Duration::from_millis(200));
    let (mut readings, mut closed) = (vec![], false);
    while let Some(report) = link.try_recv() {
        match report {
            Report::Readings(batch) => {
                assert_eq!(batch.lost_readings, 0);
                readings.extend(batch.readings);
            }
            Report::Closed => closed = true,
            _ => {}
        }
    }
    assert!(closed && readings.len() <= 131_072, "{closed} {}", readings.len());
    assert!(readings.iter().enumerate().all(|(at, r)| r.t_ms == at as f64), "none is missing");
}

fn replayed(text: &str, speed: u32) -> (Vec<Report>, Batch, Duration) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("drive.csv");
    std::fs::write(&path, text).expect("written");
    let link = Link::start(|| ());
    let start = Instant::now();
    link.send(Request::Open(Target::Replay { path, speed })).expect("sent");
    let (mut others, mut all) = (vec![], Batch::default());
    until(&link, PATIENCE, |report| {
        match report {
            Report::Readings(batch) => {
                all.readings.extend_from_slice(&batch.readings);
                all.broken_lines += batch.broken_lines;
                all.lost_readings += batch.lost_readings;
            }
            Report::Ports(_) => {}
            other => others.push(other.clone()),
        }
        matches!(report, Report::Closed | Report::Failed { .. }).then_some(())
    });
    (others, all, start.elapsed())
}

#[test]
fn a_recording_is_replayed_whole_as_fast_as_it_is_taken() {
    let rows: String = (0..300_000).map(|n| format!("{},{}\n", n + 7, n % 1024)).collect();
    let (others, all, _) = replayed(&format!("t_ms,wire1\n{rows}"), 0);
    assert_eq!(connected(&others[0]), Some(1));
    assert_eq!(others[1..], [Report::Closed]);
    assert_eq!((all.readings.len(), all.lost_readings, all.broken_lines), (300_000, 0, 0));
    let right = |(n, r): (usize, &RawReading)| r.t_ms == n as f64 && r.raw == one((n % 1024) as u16);
    assert!(all.readings.iter().enumerate().all(right));
}

#[test]
fn a_recording_is_replayed_at_its_pace() {
    let rows: String = (0..=600).map(|n| format!("{n},5,6\n")).collect();
    let (others, all, took) = replayed(&format!("t_ms,wire1,wire2\n{rows}"), 2);
    assert_eq!(connected(&others[0]), Some(2));
    assert_eq!(all.readings.len(), 601);
    assert!((Duration::from_millis(300)..Duration::from_secs(3)).contains(&took), "{took:?}");
}

#[test]
fn rows_without_a_reading_are_counted_and_files_without_one_are_refused() {
    let (_, all, _) = replayed("t_ms,wire1\n0,1\nx,2\n1,9999\n2,3\n", 0);
    assert_eq!((all.readings.len(), all.broken_lines), (2, 2));
    for text in ["", "t_ms,wire1\n", "time\n1\n", "\u{0}\u{1}\u{2}"] {
        let (others, ..) = replayed(text, 0);
        assert!(matches!(others[..], [Report::Failed { .. }]), "{text:?}: {others:?}");
    }
}
