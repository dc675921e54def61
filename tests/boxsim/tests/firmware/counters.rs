//! Counters through a reset by the bootloader, the watchdog, and the rate of the link.

use boxsim::{Bench, Chip, Contact, MS, Supply, TRUE_TIMING, bootloader, demo_body};
use spokewire::image::slot_bytes;
use spokewire::wire::{Ask, BoxEvent, ResetCause};

/// The link's divider, in data space (datasheet, register summary).
const UBRR0: usize = 0xC4;

/// The firmware behind a real bootloader.
fn behind_the_bootloader() -> Bench {
    let loader = bootloader();
    let mut flash = loader.flash.clone();
    let firmware = boxsim::firmware();
    assert!(firmware.len() < 0x7800, "the firmware reaches into the bootloader");
    flash[..firmware.len()].copy_from_slice(&firmware);
    let chip = Chip::boot(&flash, loader.start, Some(&slot_bytes(&demo_body(), 1)), TRUE_TIMING);
    let mut bench = Bench::on(chip, Supply::default());
    bench.run_ms(100);
    bench
}

fn press(bench: &mut Bench, times: usize) {
    for _ in 0..times {
        let now = bench.chip.now();
        bench.ladder.press(2, Contact::Firm(6.0), now, 120);
        bench.run_ms(400);
    }
}

#[test]
fn counters_outlive_the_reset_that_opening_the_port_causes() {
    let mut bench = behind_the_bootloader();
    press(&mut bench, 3);
    bench.chip.send(&[1, 2, 3, 0]);
    bench.run_ms(20);
    let before = bench.counters();
    assert_eq!((before.presses, before.sent, before.link_errors), (3, 3, 1));
    bench.events.clear();
    bench.chip.reset_pin();
    bench.wait_for_start();
    assert!(matches!(bench.events[0].1, BoxEvent::Booted(ResetCause::External)), "{:?}", bench.events[0]);
    let after = bench.counters();
    assert_eq!((after.presses, after.sent, after.link_errors), (3, 3, before.link_errors));
    assert_eq!(after.resets.external, before.resets.external + 1);
    assert!(after.up_ms < 1_000, "{after:?}");
    bench.run_ms(100);
    press(&mut bench, 1);
    assert_eq!(bench.counters().presses, 4);
}

#[test]
fn power_that_comes_clears_them() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    press(&mut bench, 2);
    assert_eq!(bench.counters().presses, 2);
    let mut bench = bench.power_cycled(Supply::default(), boxsim::Torn::Erased);
    let counters = bench.counters();
    assert_eq!((counters.presses, counters.resets.power_on), (0, 1));
}

#[test]
fn a_restart_is_the_watchdogs_and_keeps_the_counters() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    press(&mut bench, 2);
    bench.events.clear();
    let asked = bench.chip.now();
    bench.ask(&Ask::Restart);
    bench.wait_for_start();
    let took_ms = (bench.chip.now() - asked) / MS;
    println!("restarted after {took_ms} ms");
    assert!((100..600).contains(&took_ms), "{took_ms} ms");
    assert!(matches!(bench.events[0].1, BoxEvent::Booted(ResetCause::Watchdog)), "{:?}", bench.events);
    assert_eq!(bench.chip.resets(), 1);
    let counters = bench.counters();
    assert_eq!((counters.presses, counters.resets.watchdog), (2, 1));
    assert!(bench.identify().has_image);
    bench.run_ms(100);
    press(&mut bench, 1);
    assert_eq!(bench.counters().sent, 3);
}

/// Interrupts off for good: the main loop stands still in its next wait, and the watchdog has to come.
#[test]
fn a_program_that_stands_still_is_started_again_with_the_line_released() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    bench.events.clear();
    bench.chip.stall();
    bench.wait_for_start();
    assert!(matches!(bench.events[0].1, BoxEvent::Booted(ResetCause::Watchdog)), "{:?}", bench.events);
    assert!(!bench.chip.is_high('B', 1));
    bench.run_ms(100);
    press(&mut bench, 1);
    assert_eq!(bench.counters().sent, 1);
}

#[test]
fn the_rate_goes_up_on_request_and_back_when_nothing_is_heard() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    assert_eq!(bench.chip.data(UBRR0), 16);
    bench.ask(&Ask::Rate500k(true));
    bench.run_ms(5);
    assert_eq!(bench.chip.data(UBRR0), 3);
    for _ in 0..4 {
        bench.run_ms(1_000);
        assert!(bench.identify().has_image, "it is heard at the new rate");
    }
    assert_eq!(bench.chip.data(UBRR0), 3);
    bench.run_ms(2_100);
    assert_eq!(bench.chip.data(UBRR0), 16, "two seconds of silence");
    assert!(bench.identify().has_image);
    bench.ask(&Ask::Rate500k(true));
    bench.run_ms(5);
    bench.ask(&Ask::Rate500k(false));
    bench.run_ms(5);
    assert_eq!(bench.chip.data(UBRR0), 16);
}

#[test]
fn the_longest_turn_of_the_main_loop_stays_short_while_everything_runs() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    bench.ask(&Ask::Stream(true));
    bench.ask(&Ask::Watch(true));
    for _ in 0..5 {
        press(&mut bench, 1);
        bench.identify();
    }
    let counters = bench.counters();
    println!("longest turn {} us, {} frames lost", counters.longest_loop_us, counters.frames_lost);
    assert!(counters.longest_loop_us < 8_000, "{counters:?}");
    assert_eq!(counters.frames_lost, 0);
}
