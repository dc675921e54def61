//! The plain-number probe: what it prints, Spokewire's link reads.

use boxsim::{Chip, Contact, Ladder, MS, Supply};
use spokewire::link::{PlainParser, Verdict, judge};

#[test]
fn the_probe_prints_numbers_that_the_link_reads() {
    let mut chip = Chip::new(&boxsim::probe());
    let ladder = Ladder::demo(Supply::default(), 3);
    chip.power(ladder.clone());
    ladder.press(5, Contact::Firm(6.0), 1_000 * MS, 500);
    chip.run_ms(2_000);
    let bytes: Vec<u8> = chip.sent().into_iter().map(|(_, byte)| byte).collect();
    let mut parser = PlainParser::new();
    let mut numbers = Vec::new();
    parser.feed(&bytes, |first, second| numbers.push((first, second)));
    assert!((980..=1_000).contains(&numbers.len()), "{} lines in 2 s: 500 a second are due", numbers.len());
    assert_eq!(judge(&parser.tally()), Verdict::Right { wires: 1 }, "{:?}", parser.tally());
    assert_eq!(parser.broken_sample(), None);
    assert!(numbers.iter().all(|(_, second)| second.is_none()), "one wire");
    // Rest 1024 · 14862 / 15862 = 959, Answer 1024 · 2168 / 3168 = 700 (floor of the datasheet's formula).
    assert!(numbers[100].0.abs_diff(959) <= 5, "{:?}", numbers[100]);
    let pressed = numbers.iter().filter(|(first, _)| first.abs_diff(700) <= 5).count();
    assert!((245..=255).contains(&pressed), "{pressed} lines of a press of 500 ms");
}
