//! Flashing through a bootloader that keeps to AVR061 byte by byte.

use super::*;
use crate::wire::ResetCause;

fn firmware(length: usize) -> Vec<u8> {
    (0..length).map(|place| (place * 31 + 1) as u8).collect()
}

#[test]
fn a_blank_board_is_flashed_checked_and_met() {
    for (boot_rate, length) in [(115_200, 1_000), (57_600, 128), (57_600, 1)] {
        let mut bench = Bench::at(Board { boot_rate: Some(boot_rate), ..Board::blank() });
        assert_eq!(bench.ask(BoxRequest::Flash(firmware(length))), Ok(()));
        assert_eq!(bench.kinds(), ["Calling", "Writing", "Checking", "Starting", "Identity", "Done Flash"]);
        assert_eq!(bench.board.flash[..length], firmware(length));
        assert!(bench.board.flash[length..].iter().all(|&byte| byte == 0xFF));
        assert_eq!(bench.board.flash.len() % 128, 0);
        let phases = bench.phases();
        assert!(phases.is_sorted(), "{phases:?}");
        assert!(phases.contains(&(Phase::Writing, length)) && phases.contains(&(Phase::Checking, length)));
        assert_eq!(bench.rates.last(), Some(&115_200));
    }
}

#[test]
fn a_box_that_runs_is_flashed_in_its_turn() {
    let mut bench = Bench::met(Board::with_image(&body(40)));
    bench.session.ask(BoxRequest::Read);
    assert_eq!(bench.ask(BoxRequest::Flash(firmware(300))), Ok(()));
    let kinds = bench.kinds();
    let (read, calling) = ("Done Read".to_owned(), "Calling".to_owned());
    let place = |kind: &String| kinds.iter().position(|heard| heard == kind).unwrap();
    assert!(place(&read) < place(&calling), "{kinds:?}");
    assert!(!kinds.contains(&"Restarted External".to_owned()), "{kinds:?}");
    bench.run(100.0);
    assert!(bench.board.streaming);
}

#[test]
fn a_half_flashed_box_is_recognised_and_flashed_again() {
    let mut bench = Bench::at(Board::blank());
    bench.run(12_000.0);
    assert_eq!(bench.kinds(), ["NoProgram true"]);
    assert_eq!(bench.ask(BoxRequest::Flash(firmware(300))), Ok(()));
}

#[test]
fn a_board_without_bootloader_and_program_is_said_to_have_none() {
    let mut bench = Bench::at(Board { boot_rate: None, ..Board::blank() });
    bench.run(15_000.0);
    assert_eq!(bench.kinds(), ["NoProgram false"]);
    let failure = bench.ask(BoxRequest::Flash(firmware(300))).unwrap_err();
    says(
        &failure,
        "No bootloader answers at 115200 or 57600 bits per second.",
        "Check the cable (some carry power alone) and that this is the board's port. Where the port can't reset the \
         board, start again and press its reset button just as it starts.",
    );
    assert!(!failure.half_flashed);
}

#[test]
fn a_board_the_port_can_not_reset_is_flashed_when_its_button_is_pressed() {
    let mut bench = Bench::at(Board { has_reset: false, ..Board::blank() });
    bench.session.ask(BoxRequest::Flash(firmware(300)));
    bench.run(300.0);
    bench.board.restart(ResetCause::External, bench.now_ms);
    bench.run(5_000.0);
    assert_eq!(bench.kinds().last().map(String::as_str), Some("Done Flash"), "{:?}", bench.reports);
}

#[test]
fn another_chip_is_left_alone() {
    let mut bench = Bench::at(Board { signature: [0x1E, 0x94, 0x06], ..Board::blank() });
    let failure = bench.ask(BoxRequest::Flash(firmware(300))).unwrap_err();
    let advice = "Take an ATmega328P board. Nothing on this one was changed.";
    says(&failure, "The chip says 1E 94 06, an ATmega328P says 1E 95 0F.", advice);
    assert!(!failure.half_flashed && bench.board.flash.is_empty());
}

#[test]
fn a_byte_that_does_not_take_is_named_after_three_tries() {
    let mut bench = Bench::at(Board { stuck: Some(200), ..Board::blank() });
    // The stuck byte lies in the second page: the first is written alone before it is there.
    bench.board.flash = vec![0xFF; 256];
    let failure = bench.ask(BoxRequest::Flash(firmware(300))).unwrap_err();
    let written = firmware(300)[200];
    says(
        &failure,
        &format!("Byte 0x00C8 reads 00 where {written:02X} was written."),
        "Flash again. If the same byte stays wrong, the chip is worn out: take another board. The box has no whole \
         program until then.",
    );
    assert!(failure.half_flashed);
    assert!(bench.phases().is_sorted(), "{:?}", bench.phases());
}

#[test]
fn a_bootloader_that_falls_silent_once_is_called_again() {
    let mut bench = Bench::at(Board { dies_after: Some((2, 1)), ..Board::blank() });
    assert_eq!(bench.ask(BoxRequest::Flash(firmware(600))), Ok(()));
    let phases = bench.phases();
    assert!(phases.is_sorted(), "{phases:?}");
    assert_eq!(bench.board.flash[..600], firmware(600));
}

#[test]
fn one_that_falls_silent_for_good_says_where_and_that_the_box_is_half_flashed() {
    let mut bench = Bench::at(Board { dies_after: Some((2, 99)), ..Board::blank() });
    let failure = bench.ask(BoxRequest::Flash(firmware(600))).unwrap_err();
    says(
        &failure,
        "The bootloader fell silent while a page was written, at byte 0 of 600.",
        "Check the cable, close other programs that use the port, and flash again. The box has no whole program until \
         then.",
    );
    assert!(failure.half_flashed);
}

#[test]
fn cancelling_in_the_middle_says_that_the_box_is_half_flashed() {
    let mut bench = Bench::at(Board::blank());
    bench.session.ask(BoxRequest::Flash(firmware(2_000)));
    bench.until(Phase::Writing, 256);
    bench.session.ask(BoxRequest::Cancel);
    bench.run(10.0);
    let failure = bench.failures()[0];
    says(
        failure,
        "Flashing the firmware, after 256 of 2000 bytes: it was cancelled.",
        "Flash again: the box has no whole program until then. Start it again when ready.",
    );
    assert!(failure.half_flashed);
    assert_eq!(bench.ask(BoxRequest::Flash(firmware(2_000))), Ok(()));
}

#[test]
fn unplugging_in_the_middle_says_so_too() {
    let mut bench = Bench::at(Board::blank());
    bench.session.ask(BoxRequest::Flash(firmware(2_000)));
    bench.until(Phase::Checking, 256);
    bench.session.unplugged();
    bench.tick();
    let failure = bench.failures()[0];
    assert_eq!(
        failure.what,
        "Flashing the firmware, all bytes written, 256 of 2000 read back: the port went away."
    );
    assert!(failure.half_flashed);
}

#[test]
fn a_bootloader_that_leaves_without_a_word_has_flashed_all_the_same() {
    let mut bench = Bench::at(Board { leaves_silently: true, ..Board::blank() });
    assert_eq!(bench.ask(BoxRequest::Flash(firmware(300))), Ok(()));
}

#[test]
fn a_program_that_does_not_answer_after_the_flash_is_a_failure() {
    let mut bench = Bench::at(Board { protocol: 1, ..Board::blank() });
    bench.session.ask(BoxRequest::Flash(firmware(300)));
    bench.until(Phase::Starting, 0);
    bench.board.mute = true;
    bench.run(20_000.0);
    says(
        bench.failures()[0],
        "Flashing the firmware: every byte was read back right, but the program does not answer.",
        "Press the board's reset button. If nothing happens, flash again.",
    );
    assert!(bench.failures()[0].half_flashed);
}

#[test]
fn a_firmware_that_is_empty_or_too_long_is_refused_with_its_size() {
    for length in [0, 0x7801] {
        let mut bench = Bench::at(Board::blank());
        let failure = bench.ask(BoxRequest::Flash(firmware(length))).unwrap_err();
        says(
            &failure,
            &format!(
                "A firmware of {length} bytes can't be flashed: 1 to 30720 bytes fit beside the bootloader."
            ),
            "Take the firmware that comes with this program.",
        );
    }
}
