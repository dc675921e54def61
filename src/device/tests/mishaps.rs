//! What goes wrong on the way, and what is said then.

use proptest::prelude::*;

use super::*;
use crate::device::Probe;
use crate::wire::{Answer, Ask, BoxEvent, NamedReference, ResetCause, encode_frame};

#[test]
fn a_write_survives_any_one_lost_answer() {
    // Identify and stream on meeting are the first two; then begin, 5 stretches, end, 5 reads, identify, stream.
    for lost in 2..16 {
        let mut bench = Bench::met(Board { lost: vec![lost], ..Board::with_image(&body(40)) });
        assert_eq!(bench.ask(image()), Ok(()), "answer {lost} lost");
        assert_eq!(bench.board.eeprom[board::SLOT + 8..][..300], body(300), "answer {lost} lost");
        assert!(bench.failures().is_empty());
    }
}

#[test]
fn a_box_that_stays_silent_fails_the_job_after_three_tries() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.board.mute = true;
    bench.sent.clear();
    let began_ms = bench.now_ms;
    let failure = bench.ask(BoxRequest::Counters).unwrap_err();
    let what = "Asking for the counters: no answer within 300 ms, asked 3 times.";
    says(&failure, what, "Check the cable and the box's supply, then try again.");
    bench.sent.truncate(3); // then it asks whether anyone is there
    assert!((bench.now_ms - began_ms - 900.0).abs() < 5.0);
    let sequences: std::collections::BTreeSet<_> =
        bench.sent.iter().map(|bytes| bytes[bytes.len() - 5..].to_vec()).collect();
    assert_eq!(sequences.len(), 3, "each has a sequence, and so a CRC, of its own");
    // It is looked for, found missing, and found again when it speaks.
    bench.run(15_000.0);
    assert_eq!(bench.kinds().last().map(String::as_str), Some("NoProgram false"));
    let failure = bench.ask(BoxRequest::Read).unwrap_err();
    let advice = "Check the cable, or flash the firmware if this board has none yet.";
    says(&failure, "Reading the box: no box answers.", advice);
    bench.board.mute = false;
    bench.board.restart(ResetCause::PowerOn, bench.now_ms);
    bench.run(1_500.0);
    assert_eq!(bench.kinds().last().map(String::as_str), Some("Identity"));
}

#[test]
fn an_answer_to_an_earlier_question_is_not_taken_for_this_one() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    let now_ms = bench.now_ms;
    // An answer to READ, under a sequence long gone, with other bytes.
    let stale = Answer::Bytes { slot: 0, offset: 0, bytes: vec![0xEE; 8] };
    for sequence in [0, 1, 200, 255] {
        bench.board.put(&encode_frame(0x89, sequence, &stale.payload()).unwrap(), now_ms);
    }
    assert_eq!(bench.ask(BoxRequest::Read), Ok(()));
    assert!(
        bench
            .reports
            .iter()
            .any(|report| matches!(report, BoxReport::Contents(Some(slot)) if slot.body == body(40)))
    );
}

#[test]
fn answers_that_come_late_are_answers_still() {
    // Later than the first try's patience: the second is on its way when the first is answered, and
    // the second's own answer finds nobody waiting.
    let mut bench = Bench::met(Board { delay_ms: 350.0, ..Board::with_image(&body(40)) });
    bench.run(2_000.0);
    assert_eq!(bench.ask(BoxRequest::Read), Ok(()));
    assert_eq!(bench.ask(BoxRequest::Counters), Ok(()));
    assert!(bench.failures().is_empty());
}

#[test]
fn garbage_between_frames_is_counted_and_nothing_else() {
    let garbage = vec![0x11, 0x22, 0x00, 0xFF, 0x41, 0x00];
    let mut bench = Bench::met(Board { garbage, ..Board::with_image(&body(40)) });
    assert_eq!(bench.ask(image()), Ok(()));
    assert!(bench.session.broken_frames() > 20);
}

#[test]
fn a_busy_box_is_asked_again() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.board.busy = 2;
    assert_eq!(bench.ask(image()), Ok(()));
    bench.board.busy = 3;
    let failure = bench.ask(BoxRequest::Counters).unwrap_err();
    let what = "Asking for the counters: the box answered fault 4. The box is busy with something else.";
    says(&failure, what, "Wait a few seconds and try again.");
}

#[test]
fn the_boxs_own_refusals_come_with_the_place_and_the_figures() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.board.supply_fault = true;
    let failure = bench.ask(image()).unwrap_err();
    says(
        &failure,
        "Writing to the box: the box answered fault 5. The supply is too low to write safely. It measured 4.02 V \
         when it was asked last.",
        "At least 4.5 V is wanted, or 4.1 V before the box was calibrated. Take a shorter cable or another port of \
         the laptop, then write again.",
    );
    assert!(!failure.half_flashed);
}

#[test]
fn a_byte_that_was_not_kept_is_named() {
    let mut bench = Bench::met(Board { worn: Some(board::SLOT + 100), ..Board::with_image(&body(40)) });
    let failure = bench.ask(image()).unwrap_err();
    says(
        &failure,
        "Byte 100 of slot B reads FF where 87 was written.",
        "Write again. If it stays, the chip's memory is worn out: take another board.",
    );
}

#[test]
fn a_box_that_starts_anew_in_the_middle_fails_the_job_and_is_met_again() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.session.ask(image());
    bench.session.ask(BoxRequest::Counters);
    bench.until(Phase::Writing, 128);
    bench.board.boot_rate = None;
    bench.board.restart(ResetCause::BrownOut, bench.now_ms);
    bench.run(500.0);
    assert_eq!(
        bench.kinds(),
        ["Writing", "Restarted BrownOut", "Failed Write", "Identity", "Counters", "Done Counters"]
    );
    says(
        bench.failures()[0],
        "Writing to the box, at byte 128 of 300: the box started anew (its supply fell too low).",
        "Take a shorter cable or another port of the laptop, then start again.",
    );
    assert!(bench.board.streaming);
}

#[test]
fn unplugging_fails_what_runs_and_what_waits() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.session.ask(image());
    bench.session.ask(BoxRequest::Counters);
    bench.until(Phase::Checking, 64);
    bench.reports.clear();
    bench.session.unplugged();
    bench.tick();
    let advice = "Plug the box in again. It keeps the image it had; then start again.";
    let failures = bench.failures();
    says(failures[0], "Writing to the box, at byte 64 of 308 read back: the port went away.", advice);
    says(failures[1], "Asking for the counters: the port went away before it was begun.", advice);
}

#[test]
fn cancelling_ends_what_runs_and_what_waits() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.session.ask(image());
    bench.session.ask(BoxRequest::Read);
    bench.until(Phase::Writing, 64);
    bench.session.ask(BoxRequest::Cancel);
    bench.run(100.0);
    let said: Vec<_> = bench.failures().iter().map(|failure| failure.what.as_str()).collect();
    let write = "Writing to the box, at byte 64 of 300: it was cancelled.";
    assert_eq!(said, [write, "Reading the box: it was cancelled before it was begun."]);
    // The image it had is still in use, and the next job is none the worse.
    assert_eq!(bench.ask(BoxRequest::Read), Ok(()));
    assert!(
        bench
            .reports
            .iter()
            .any(|report| matches!(report, BoxReport::Contents(Some(slot)) if slot.body == body(40)))
    );
    bench.session.ask(BoxRequest::Cancel);
    bench.reports.clear();
    bench.run(50.0);
    assert!(bench.reports.is_empty(), "there was nothing to cancel");
}

#[test]
fn a_box_of_another_protocol_is_not_talked_to() {
    let mut bench = Bench::at(Board { protocol: 2, ..Board::with_image(&body(40)) });
    bench.run(500.0);
    assert_eq!(bench.kinds(), ["Identity", "Failed Identify"]);
    let advice = "Take a newer version of this program, or flash the firmware that comes with this one.";
    says(bench.failures()[0], "The box speaks version 2 of the link, this program version 1.", advice);
    assert!(bench.ask(image()).is_err());
    assert_eq!(bench.board.asked, [Ask::Identify]);
}

#[test]
fn a_streaming_box_that_falls_quiet_is_asked_whether_it_is_there() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.board.streaming = false; // as after a reset nobody heard of
    bench.run(2_500.0);
    assert!(bench.board.streaming);
}

#[test]
fn the_probe_tells_a_box_from_a_printer_of_numbers() {
    let mut probe = Probe::new(0.0);
    let call = probe.poll(0.0).unwrap();
    assert_eq!((call[0], call[2]), (0, 1));
    assert_eq!(probe.poll(249.0), None);
    assert!(probe.poll(250.0).is_some());
    assert!(!probe.take(b"551\r\n552\r\n1023,4\r\n"));
    assert!(!probe.take(&call), "its own question back from a line that echoes");
    let mut board = Board::new();
    board.take(&call, 0.0);
    let answer = board.give(10.0);
    let (first, second) = answer.split_at(7);
    assert!(!probe.take(first));
    assert!(probe.take(second));
    let booted = BoxEvent::Booted(ResetCause::External);
    assert!(Probe::new(0.0).take(&[&[0], &encode_frame(0xC0, 1, &booted.encode()).unwrap()[..]].concat()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn noise_never_stops_a_session(
        noise in proptest::collection::vec((0_u8..8, proptest::collection::vec(any::<u8>(), 0..60)), 1..60)
    ) {
        let mut bench = Bench::met(Board::with_image(&body(40)));
        for (what, bytes) in noise {
            match what {
                0 => bench.session.ask(BoxRequest::Read),
                1 => bench.session.ask(image()),
                2 => bench.session.ask(BoxRequest::Cancel),
                3 => bench.session.ask(BoxRequest::Reference(NamedReference::default())),
                4 => bench.session.ask(BoxRequest::Flash(vec![1; 300])),
                5 => bench.board.put(&encode_frame(0xC0 + bytes.len() as u8 % 6, 0, &bytes).unwrap(), bench.now_ms),
                6 => bench.board.put(&encode_frame(0x81 + bytes.len() as u8 % 15, 3, &bytes).unwrap(), bench.now_ms),
                _ => bench.board.put(&bytes, bench.now_ms),
            }
            bench.run(30.0);
        }
        // Left alone it comes to rest, and answers.
        bench.session.ask(BoxRequest::Cancel);
        bench.run(20_000.0);
        prop_assert_eq!(bench.ask(BoxRequest::Counters), Ok(()));
    }
}
