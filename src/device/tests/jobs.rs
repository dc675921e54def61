//! What is asked is done, and told in order.

use super::*;
use crate::device::SlotBytes;
use crate::image::check;
use crate::wire::{Ask, BoxEvent, CapturePart, Counters, NamedReference, ReferenceKind, ResetCause};

#[test]
fn it_begins_with_a_zero_and_the_question_who_is_there() {
    let mut session = BoxSession::new(0.0);
    assert_eq!(session.poll(0.0), Some(Step::SetRate(115_200)));
    let Some(Step::Send(bytes)) = session.poll(0.0) else { panic!("nothing is sent") };
    assert_eq!((bytes[0], bytes[2], bytes[3], bytes[bytes.len() - 1]), (0, 1, 1, 0));
    assert_eq!(session.poll(0.0), None);
    assert_eq!(session.poll(249.0), None);
    assert!(matches!(session.poll(250.0), Some(Step::Send(_))), "it calls again");
}

#[test]
fn a_box_with_an_image_says_who_it_is_and_streams() {
    let mut bench = Bench::at(Board::with_image(&body(40)));
    bench.run(300.0);
    let BoxReport::Identity(identity) = &bench.reports[0] else { panic!("{:?}", bench.reports) };
    assert_eq!(identity.slot.map(|slot| slot.length), Some(40));
    assert_eq!(bench.reports.len(), 1);
    assert!(bench.blocks.len() > 20 && bench.blocks[0].samples[0].raw[0] == 551);
}

#[test]
fn a_box_without_a_reference_waits_for_it_and_streams_then() {
    let mut bench = Bench::met(Board::new());
    assert!(bench.blocks.is_empty() && !bench.board.asked.contains(&Ask::Stream(true)));
    let reference = NamedReference { kind: ReferenceKind::External, feed_monitor: true };
    assert_eq!(bench.ask(BoxRequest::Reference(reference)), Ok(()));
    assert_eq!(bench.kinds(), ["Identity", "Done Reference"]);
    bench.run(50.0);
    assert!(!bench.blocks.is_empty());
    // It forgets it with a reset, and is told again without anyone asking.
    bench.board.restart(ResetCause::External, bench.now_ms);
    bench.blocks.clear();
    bench.run(1_500.0);
    assert!(!bench.blocks.is_empty() && bench.board.asked.contains(&Ask::Reference(reference)));
}

#[test]
fn a_reference_is_not_named_beside_the_images_own() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    assert_eq!(bench.ask(BoxRequest::Reference(NamedReference::default())), Ok(()));
    assert!(!bench.board.asked.iter().any(|ask| matches!(ask, Ask::Reference(_))));
}

#[test]
fn an_image_goes_over_is_read_back_and_taken_into_use() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    assert_eq!(bench.ask(image()), Ok(()));
    let kinds = ["Writing", "Checking", "Starting", "Contents true", "Identity", "Done Write"];
    assert_eq!(bench.kinds(), kinds);
    let steps = [0, 64, 128, 192, 256, 300].map(|done| (Phase::Writing, done)).into_iter();
    let checks = [0, 64, 128, 192, 256, 308].map(|done| (Phase::Checking, done)).into_iter();
    let all: Vec<_> = steps.chain(checks).chain([(Phase::Starting, 0)]).collect();
    assert_eq!(bench.phases(), all);
    let check = check(&body(300));
    let slot = SlotBytes { number: 1, sequence: 2, check, body: body(300) };
    assert!(bench.reports.contains(&BoxReport::Contents(Some(slot))));
    // The other slot still holds what it held.
    assert_eq!(bench.board.eeprom[8..48], body(40));
}

#[test]
fn the_largest_and_the_smallest_image_go_over_whatever_the_box_takes_at_once() {
    for payload_max in [96, 20, 5] {
        for length in [1, 64, 65, 472] {
            let mut bench = Bench::met(Board { payload_max, ..Board::new() });
            assert_eq!(bench.ask(BoxRequest::Write(body(length))), Ok(()), "{length} of {payload_max}");
            assert_eq!(bench.board.eeprom[8..8 + length], body(length));
        }
    }
}

#[test]
fn an_image_that_does_not_fit_is_refused_before_a_byte_is_sent() {
    let mut bench = Bench::met(Board::new());
    let failure = bench.ask(BoxRequest::Write(body(473))).unwrap_err();
    let advice = "Take out raw codes, pairs or commands until the project fits, then write again.";
    says(&failure, "The image has 473 bytes, this box holds 472.", advice);
    let failure = bench.ask(BoxRequest::Write(Vec::new())).unwrap_err();
    says(&failure, "There is nothing to write: the image is empty.", advice);
    assert!(!bench.board.asked.iter().any(|ask| matches!(ask, Ask::WriteBegin { .. })));
}

#[test]
fn reading_gives_what_the_box_holds() {
    let mut bench = Bench::met(Board::with_image(&body(200)));
    assert_eq!(bench.ask(BoxRequest::Read), Ok(()));
    assert_eq!(bench.kinds(), ["Checking", "Contents true", "Done Read"]);
    let check = check(&body(200));
    let slot = SlotBytes { number: 0, sequence: 1, check, body: body(200) };
    assert!(bench.reports.contains(&BoxReport::Contents(Some(slot))));

    let mut bench = Bench::met(Board::new());
    assert_eq!(bench.ask(BoxRequest::Read), Ok(()));
    assert_eq!(bench.kinds(), ["Contents false", "Done Read"]);
}

#[test]
fn a_slot_that_is_torn_says_so() {
    let mut board = Board::with_image(&body(20));
    board.eeprom[12] ^= 1;
    let mut bench = Bench::met(board);
    let failure = bench.ask(BoxRequest::Read).unwrap_err();
    let (said, mut torn) = (check(&body(20)), body(20));
    torn[4] ^= 1;
    let found = check(&torn);
    let what = format!("Slot A says its checksum is {said:04X}, its 20 bytes give {found:04X}.");
    says(&failure, &what, "Read again. If it stays, write the project to the box.");

    bench.board.eeprom[3] = 0;
    let failure = bench.ask(BoxRequest::Read).unwrap_err();
    assert!(
        failure.what.starts_with("Slot A does not begin like an image: B5 01 01 00 14 00"),
        "{}",
        failure.what
    );
}

#[test]
fn the_small_jobs_are_done() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    assert_eq!(bench.ask(BoxRequest::Watch(true)), Ok(()));
    assert!(bench.board.watching);
    assert_eq!(bench.ask(BoxRequest::Counters), Ok(()));
    assert_eq!(bench.reports[0], BoxReport::Counters(Counters { presses: 12, ..Counters::default() }));
    let record = vec![0x01, 0x59, 0x16];
    assert_eq!(bench.ask(BoxRequest::Try { record: record.clone(), held_ms: 100, toggle: true }), Ok(()));
    assert_eq!(bench.board.asked.last(), Some(&Ask::Send { held_ms: 100, toggle: true, record }));
    bench.run(100.0);
    assert!(bench.reports.contains(&BoxReport::Sent { frames: 3 }));
    assert_eq!(bench.ask(BoxRequest::StopTry), Ok(()));
    assert_eq!(bench.board.asked.last(), Some(&Ask::StopSending));
    assert_eq!(bench.ask(BoxRequest::Identify), Ok(()));
    assert_eq!(bench.kinds(), ["Identity", "Done Identify"]);
}

#[test]
fn calibrating_shows_in_the_identity_and_what_can_not_be_is_refused() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    assert_eq!(bench.ask(BoxRequest::Calibrate(Some(1_100))), Ok(()));
    let is_calibrated =
        |report: &BoxReport| matches!(report, BoxReport::Identity(identity) if identity.calibrated);
    assert!(bench.reports.iter().any(is_calibrated));
    let failure = bench.ask(BoxRequest::Calibrate(Some(1_301))).unwrap_err();
    let what = "A bandgap of 1301 mV can't be: this chip's lies within 900 to 1300 mV.";
    says(&failure, what, "Measure the 5 V again and type it anew.");
}

#[test]
fn a_code_longer_than_a_message_is_refused() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    let request = BoxRequest::Try { record: vec![0; 94], held_ms: 100, toggle: false };
    let failure = bench.ask(request).unwrap_err();
    let what = "The code takes 97 bytes, a message to this box 96.";
    says(&failure, what, "Write it to the box and press its button instead.");
}

#[test]
fn a_captured_code_is_put_together() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    assert_eq!(bench.ask(BoxRequest::Listen(true)), Ok(()));
    let now_ms = bench.now_ms;
    for (from, count, last) in [(0, 40, false), (40, 27, true)] {
        let part = CapturePart { from, last, overflow: false, timings_us: vec![562; count] };
        bench.board.tell(BoxEvent::Capture(part), now_ms);
    }
    bench.run(5.0);
    let whole = BoxReport::Captured { timings_us: vec![562.0; 67], overflow: false };
    assert!(bench.reports.contains(&whole));
    let part = CapturePart { from: 40, last: true, ..CapturePart::default() };
    bench.board.tell(BoxEvent::Capture(part), now_ms);
    bench.run(5.0);
    let what = "A part of the remote's code was lost on the way: timing 0 was to come, 40 came.";
    says(bench.failures()[0], what, "Press the remote's button again.");
}

#[test]
fn a_restart_is_waited_for_and_what_was_on_is_on_again() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.ask(BoxRequest::Watch(true)).unwrap();
    bench.ask(BoxRequest::Listen(true)).unwrap();
    assert_eq!(bench.ask(BoxRequest::Restart), Ok(()));
    assert_eq!(bench.kinds(), ["Identity", "Done Restart"], "it was asked for, so it is not told as news");
    assert!(bench.board.watching && bench.board.listening && bench.board.streaming);
}

#[test]
fn jobs_wait_in_order_and_not_without_end() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    for request in [BoxRequest::Read, BoxRequest::Counters, BoxRequest::Watch(true)] {
        bench.session.ask(request);
    }
    bench.run(500.0);
    let done: Vec<_> = bench.kinds().into_iter().filter(|kind| kind.starts_with("Done")).collect();
    assert_eq!(done, ["Done Read", "Done Counters", "Done Watch"]);

    bench.reports.clear();
    for _ in 0..20 {
        bench.session.ask(BoxRequest::Counters);
    }
    bench.run(1_000.0);
    assert_eq!(bench.failures().len(), 4);
    let what = "Asking for the counters was not begun: 16 requests wait already.";
    says(bench.failures()[0], what, "Wait until they are done, or cancel them.");
}
