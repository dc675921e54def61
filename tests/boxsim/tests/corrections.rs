//! What the simulator gets wrong, and that the wrapper puts it right: each correction beside the
//! datasheet's figure (ATmega48/88/168/328, 8161D), with and without.

use std::path::PathBuf;
use std::process::Command;
use std::sync::OnceLock;

use boxsim::{Chip, Power, TRUE_TIMING, Timing, parse_hex};

const PLAIN: Timing = Timing { uart: false, converter: false, eeprom: false, pull_ups: false, entry: false };

/// A steady voltage on every channel, of a supply of 5 V.
struct Steady(f64);
impl Power for Steady {
    fn supply_v(&self, _: u64) -> f64 {
        5.0
    }
    fn reference_pin_v(&self) -> Option<f64> {
        Some(5.0)
    }
    fn volt(&mut self, _: u8, _: u64) -> f64 {
        self.0
    }
}

fn tool(name: &str, arguments: &[&str]) {
    let done = Command::new(name).args(arguments).status();
    assert!(done.as_ref().is_ok_and(std::process::ExitStatus::success), "{name}: {done:?}. Install gcc-avr.");
}

fn program() -> &'static [u8] {
    static BUILT: OnceLock<Vec<u8>> = OnceLock::new();
    BUILT.get_or_init(|| {
        let source = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/quirks.c");
        let out = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
        let [elf, hex] =
            ["quirks.elf", "quirks.hex"].map(|name| out.join(name).to_string_lossy().into_owned());
        let flags = ["-mmcu=atmega328p", "-std=c99", "-Os", "-Wall", "-Wextra", "-Werror"];
        tool("avr-gcc", &[&flags[..], &[source, "-o", &elf]].concat());
        tool("avr-objcopy", &["-O", "ihex", "-j", ".text", "-j", ".data", &elf, &hex]);
        parse_hex(&std::fs::read_to_string(&hex).expect("just made"))
    })
}

fn chip(timing: Timing) -> Chip {
    let mut chip = Chip::boot(program(), 0, None, timing);
    chip.power(Steady(2.5));
    chip.run_ms(5);
    chip.sent();
    chip
}

/// The number that comes for a letter; what happens meanwhile is `meanwhile`.
fn ask_while(chip: &mut Chip, letter: u8, meanwhile: impl FnOnce(&mut Chip)) -> u32 {
    chip.send(&[letter]);
    meanwhile(chip);
    let mut line = Vec::new();
    for _ in 0..100 {
        chip.run_ms(1);
        line.extend(chip.sent().into_iter().map(|(_, byte)| byte));
        if line.ends_with(b"\n") {
            break;
        }
    }
    let text = String::from_utf8_lossy(&line);
    text.trim().trim_start_matches('U').parse().unwrap_or_else(|_| panic!("{text:?}"))
}

fn ask(chip: &mut Chip, letter: u8) -> u32 {
    ask_while(chip, letter, |_| {})
}

/// What plain and corrected simulators say to the same question.
fn both(name: &str, letter: u8, meanwhile: impl Fn(&mut Chip)) -> (u32, u32) {
    let said = [PLAIN, TRUE_TIMING].map(|timing| ask_while(&mut chip(timing), letter, &meanwhile));
    println!("{name}: {} plain, {} corrected", said[0], said[1]);
    (said[0], said[1])
}

#[test]
fn a_conversion_takes_thirteen_of_the_converters_clocks() {
    let (plain, right) = both("conversion at /128", b'a', |_| {});
    assert!((1_664..1_694).contains(&right) && !(1_600..1_720).contains(&plain), "{plain}, {right}");
    let (plain, right) = both("conversion at /64", b'b', |_| {});
    assert!((832..862).contains(&right) && !(800..900).contains(&plain), "{plain}, {right}");
}

#[test]
fn the_converters_full_scale_is_1024_steps() {
    // floor(1024 · V / 5 V), at voltages in the middle of a step and just beside its ends.
    let mut chip = chip(TRUE_TIMING);
    for step in [0_u32, 1, 2, 82, 511, 512, 700, 959, 1_022, 1_023] {
        for inside in [0.02, 0.5, 0.98] {
            chip.power(Steady((f64::from(step) + inside) * 5.0 / 1_024.0));
            assert_eq!(ask(&mut chip, b'v'), step, "{inside} into the step");
        }
    }
    chip.power(Steady(6.0));
    assert_eq!(ask(&mut chip, b'v'), 1_023);
}

#[test]
fn a_byte_of_memory_takes_3_4_ms_and_its_interrupt_is_a_level() {
    let (plain, right) = both("EEPROM busy", b'e', |_| {});
    assert!((54_300..54_500).contains(&right) && plain < 1_000, "{plain}, {right}");
    let (plain, right) = both("EE_READY enabled while idle", b'r', |_| {});
    assert_eq!((plain, right), (0, 1));
}

#[test]
fn a_pulled_up_input_that_is_held_low_stays_low() {
    let low = |chip: &mut Chip| {
        chip.drive('B', 0, true);
        chip.run_us(300);
        chip.drive('B', 0, false);
    };
    let (plain, right) = both("changes x 10 + level", b'p', low);
    assert_eq!(right, 0);
    assert_ne!(plain, 0, "the simulator has learned it: take the correction out");
}

#[test]
fn entering_an_interrupt_takes_four_cycles() {
    let (plain, right) = both("compare to handler", b'i', |_| {});
    assert_eq!(right - plain, 4);
}

#[test]
fn a_byte_on_the_link_takes_ten_bits() {
    for (timing, bits) in [(PLAIN, 11), (TRUE_TIMING, 10)] {
        let mut chip = chip(timing);
        chip.send(b"u");
        chip.run_ms(10);
        let at: Vec<u64> = chip.sent().into_iter().map(|(cycle, _)| cycle).collect();
        let each = (at[40] - at[10]) / 30;
        println!("{each} cycles a byte");
        // A divider of 17 and the doubled speed: 136 cycles a bit.
        assert!(each.abs_diff(bits * 136) <= 8, "{each} cycles a byte");
    }
}

#[test]
fn bytes_that_nobody_takes_are_counted_as_lost() {
    let mut chip = chip(TRUE_TIMING);
    ask_while(&mut chip, b'o', |chip| {
        chip.run_us(200);
        chip.send(&[0x41; 10]);
    });
    // Ten came; the receiver holds three.
    assert_eq!(chip.overruns(), 7);
}
