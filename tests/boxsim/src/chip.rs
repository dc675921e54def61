//! One simulated chip: runs instruction by instruction, corrects what the simulator gets wrong, and
//! gives tests its pins, converter, link and memory. Not safe, like `heard.rs` and `pty.rs`.

#![expect(unsafe_code, reason = "drives a C library; every pointer is its own and lives as long as the chip")]

mod outside;

use std::collections::VecDeque;
use std::ffi::{CStr, c_int, c_void};
use std::ptr;

use simavr_ffi as ffi;

use crate::heard::{
    Dead, EEPE, Heard, keep_quiet, never_sleep, on_convert, on_eeprom, on_full, on_interrupt, on_ready,
    on_sent,
};

/// The chip's clock, in hertz.
pub const HZ: u64 = 16_000_000;
/// Bytes of EEPROM.
pub const EEPROM_BYTES: usize = 1_024;
/// Bytes of flash.
pub const FLASH_BYTES: usize = 32_768;
/// How long a byte of EEPROM takes, erased and written: 3.4 ms (datasheet, EEPROM programming time).
const EEPROM_CYCLES: u64 = HZ * 34 / 10_000;
/// Entering an interrupt (datasheet: four cycles at least).
const ENTRY_CYCLES: u64 = 4;
/// Bytes the receiver of the real chip holds: two in its buffer, one in its shift register.
const RECEIVER_BYTES: usize = 3;

// Registers looked at, in data space (datasheet, register summary).
const PORTS: [(char, usize); 3] = [('B', 0x23), ('C', 0x26), ('D', 0x29)]; // PIN; DDR and PORT follow
const EECR: usize = 0x3F;
const EEAR: usize = 0x41;
const MCUSR: usize = 0x54;
const ADCSRA: usize = 0x7A;
const UCSR0A: usize = 0xC0;
const UBRR0: usize = 0xC4;
const EERIE: u8 = 1 << 3;
const EXTRF: u8 = 1 << 1;

/// A level that changed on a pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edge {
    /// When, in cycles since power came.
    pub cycle: u64,
    /// What the pin drives, or high where it is released (an outside pull-up).
    pub high: bool,
}

/// Which of the simulator's errors are corrected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timing {
    /// A byte on the link takes 10 bits, not 11.
    pub uart: bool,
    /// A conversion takes 13 converter clocks, whatever the divider.
    pub converter: bool,
    /// The EEPROM is busy for 3.4 ms, and its interrupt is a level.
    pub eeprom: bool,
    /// A pulled-up input that is held low reads low.
    pub pull_ups: bool,
    /// Entering an interrupt takes four cycles.
    pub entry: bool,
}

/// Everything corrected.
pub const TRUE_TIMING: Timing =
    Timing { uart: true, converter: true, eeprom: true, pull_ups: true, entry: true };

/// What the byte that was being written becomes when power is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Torn {
    /// Erased and not yet written.
    Erased,
    /// Both at once: the bits that either has cleared.
    Both,
    /// Anything.
    Junk(u8),
}

/// A simulated chip.
pub struct Chip {
    avr: *mut ffi::avr_t,
    uart: *mut ffi::avr_uart_t,
    adc: *mut ffi::avr_adc_t,
    eeprom: *mut ffi::avr_eeprom_t,
    uart_in: *mut ffi::avr_irq_t,
    heard: Box<Heard>,
    timing: Timing,
    to_chip: VecDeque<u8>,
    next_byte_at: u64,
    overruns: u32,
    inputs: VecDeque<(u64, char, u8, bool)>,
    driven: [[Option<bool>; 8]; 3],
    ports: [(u8, u8); 3],
    edges: [[Vec<Edge>; 8]; 3],
    shadow: Vec<u8>,
    busy: Option<Busy>,
    writes: Vec<(u64, usize, u8)>,
    worn: Vec<usize>,
    resets: u32,
}

struct Busy {
    until: u64,
    at: usize,
    old: u8,
    new: u8,
}

const fn ioctl(name: &[u8; 4]) -> u32 {
    u32::from_be_bytes(*name)
}

fn port_index(port: char) -> usize {
    PORTS.iter().position(|(name, _)| *name == port).unwrap_or_else(|| panic!("no port {port}"))
}

impl Chip {
    /// A chip with this program from address 0 on, power just come, everything erased.
    #[must_use]
    pub fn new(program: &[u8]) -> Self {
        Self::boot(program, 0, None, TRUE_TIMING)
    }

    /// A chip that starts at `start`, with this EEPROM, and with these corrections.
    ///
    /// # Panics
    /// If the simulator can't be set up.
    #[must_use]
    pub fn boot(program: &[u8], start: u32, eeprom: Option<&[u8]>, timing: Timing) -> Self {
        // SAFETY: the library's documented way to make a chip; all pointers stay valid until
        // `avr_terminate` in drop.
        unsafe {
            ffi::avr_global_logger_set(Some(keep_quiet));
            let avr = ffi::avr_make_mcu_by_name(c"atmega328p".as_ptr());
            assert!(!avr.is_null(), "the simulator knows the chip");
            assert_eq!(ffi::avr_init(avr), 0);
            (*avr).frequency = HZ as u32;
            (*avr).sleep = Some(never_sleep);
            (*avr).reset_pc = start;
            (*avr).pc = start;
            (*avr).options.set_no_pullups(timing.pull_ups as _);
            let mut code = program.to_vec();
            if !code.is_empty() {
                ffi::avr_loadcode(avr, code.as_mut_ptr(), code.len() as u32, 0);
            }
            // Low, high, extended: a crystal, a bootloader of 2 KB, brown-out at 4.3 V. Told, not modelled.
            (*avr).fuse = [0xFF, 0xDA, 0xFC, 0xFF, 0xFF, 0xFF];
            let find = |kind: &CStr| {
                let mut part = (*avr).io_port;
                while !part.is_null() && CStr::from_ptr((*part).kind) != kind {
                    part = (*part).next;
                }
                assert!(!part.is_null(), "{kind:?}");
                part
            };
            let irq = |name: &[u8; 4], number: u32| ffi::avr_io_getirq(avr, ioctl(name), number as c_int);
            let mut heard = Box::new(Heard {
                avr,
                adc: irq(b"adc0", 0),
                base: 0,
                sent: VecDeque::new(),
                can_receive: true,
                write_enabled_at: None,
                write_started: false,
                interrupted: false,
                power: Box::new(Dead),
                shorted: false,
            });
            let to = ptr::from_mut(&mut *heard).cast::<c_void>();
            let mut flags: u32 = 0; // neither echo nor real-time waits
            ffi::avr_ioctl(avr, ioctl(b"uas0"), ptr::from_mut(&mut flags).cast());
            ffi::avr_irq_register_notify(irq(b"uar0", ffi::UART_IRQ_OUTPUT), Some(on_sent), to);
            ffi::avr_irq_register_notify(irq(b"uar0", ffi::UART_IRQ_OUT_XON), Some(on_ready), to);
            ffi::avr_irq_register_notify(irq(b"uar0", ffi::UART_IRQ_OUT_XOFF), Some(on_full), to);
            ffi::avr_irq_register_notify(irq(b"adc0", ffi::ADC_IRQ_OUT_TRIGGER), Some(on_convert), to);
            let any = ffi::avr_get_interrupt_irq(avr, ffi::AVR_INT_ANY as u8);
            ffi::avr_irq_register_notify(any.add(ffi::AVR_INT_IRQ_RUNNING as usize), Some(on_interrupt), to);
            let eecr = ffi::avr_iomem_getirq(avr, EECR as _, ptr::null(), ffi::AVR_IOMEM_IRQ_ALL as _);
            ffi::avr_irq_register_notify(eecr, Some(on_eeprom), to);
            let mut chip = Self {
                avr,
                uart: find(c"uart").cast(),
                adc: find(c"adc").cast(),
                eeprom: find(c"eeprom").cast(),
                uart_in: irq(b"uar0", ffi::UART_IRQ_INPUT),
                heard,
                timing,
                to_chip: VecDeque::new(),
                next_byte_at: 0,
                overruns: 0,
                inputs: VecDeque::new(),
                driven: Default::default(),
                ports: Default::default(),
                edges: Default::default(),
                shadow: vec![0xFF; EEPROM_BYTES],
                busy: None,
                writes: Vec::new(),
                worn: Vec::new(),
                resets: 0,
            };
            if let Some(bytes) = eeprom {
                chip.set_eeprom(bytes);
            }
            chip
        }
    }

    /// Cycles since power came.
    #[must_use]
    pub fn now(&self) -> u64 {
        self.heard.now()
    }

    /// A byte of data space.
    #[must_use]
    pub fn data(&self, at: usize) -> u8 {
        assert!(at < 0x900, "data space ends at 0x8FF");
        // SAFETY: within the chip's data space.
        unsafe { *(*self.avr).data.add(at) }
    }

    /// Sets a byte of data space.
    pub fn set_data(&mut self, at: usize, value: u8) {
        assert!(at < 0x900, "data space ends at 0x8FF");
        // SAFETY: within the chip's data space.
        unsafe { *(*self.avr).data.add(at) = value }
    }

    fn word(&self, at: usize) -> usize {
        usize::from(self.data(at)) | usize::from(self.data(at + 1)) << 8
    }

    /// The flash.
    #[must_use]
    pub fn flash(&self) -> Vec<u8> {
        // SAFETY: the chip's flash is this long.
        unsafe { std::slice::from_raw_parts((*self.avr).flash, FLASH_BYTES) }.to_vec()
    }

    /// Resets so far, power-on not counted.
    #[must_use]
    pub const fn resets(&self) -> u32 {
        self.resets
    }

    // ---- running

    /// The reset pin, low and high again: what DTR does on a board with a serial bootloader.
    pub fn reset_pin(&mut self) {
        let causes = self.data(MCUSR) | EXTRF;
        self.set_data(MCUSR, causes);
        // SAFETY: the chip is whole.
        let before = unsafe {
            let before = (*self.avr).cycle;
            ffi::avr_reset(self.avr);
            before
        };
        self.after_reset(before);
    }

    fn after_reset(&mut self, before: u64) {
        self.heard.base += before;
        self.resets += 1;
        self.busy = None;
        self.next_byte_at = 0;
        // The library forgets what is driven from outside.
        for (index, (port, _)) in PORTS.iter().enumerate() {
            for pin in 0..8 {
                if let Some(high) = self.driven[index][pin] {
                    self.drive(*port, pin as u8, high);
                }
            }
        }
    }

    /// One instruction, or the way into an interrupt.
    pub fn step(&mut self) {
        let now = self.now();
        while let Some(&(at, port, pin, high)) = self.inputs.front()
            && at <= now
        {
            self.inputs.pop_front();
            self.drive(port, pin, high);
        }
        if !self.to_chip.is_empty() {
            self.receive(now);
        }
        // SAFETY: the chip is whole; running is what it is for.
        let (before, after) = unsafe {
            let before = (*self.avr).cycle;
            ffi::avr_run(self.avr);
            (before, (*self.avr).cycle)
        };
        if after < before {
            self.after_reset(before); // the watchdog
        }
        self.correct();
        self.look_at_pins();
    }

    fn receive(&mut self, now: u64) {
        if now < self.next_byte_at || !self.heard.can_receive {
            return;
        }
        if let Some(byte) = self.to_chip.pop_front() {
            // SAFETY: the chip's own parts.
            unsafe {
                let queue = &(*self.uart).input;
                let waiting = usize::from(queue.write.wrapping_sub(queue.read)) % queue.buffer.len();
                self.overruns += u32::from(waiting >= RECEIVER_BYTES);
                ffi::avr_raise_irq(self.uart_in, u32::from(byte));
                self.next_byte_at = now + (*self.uart).cycles_per_byte;
            }
        }
    }

    fn correct(&mut self) {
        if std::mem::take(&mut self.heard.interrupted) && self.timing.entry {
            // SAFETY: the chip's own clock.
            unsafe { (*self.avr).cycle += ENTRY_CYCLES }
        }
        if self.timing.uart {
            let divider = self.word(UBRR0) as u64 & 0xFFF;
            let per_bit = (divider + 1) * if self.data(UCSR0A) & 2 != 0 { 8 } else { 16 };
            // SAFETY: the chip's own part.
            unsafe { (*self.uart).cycles_per_byte = per_bit * 10 }
        }
        if self.timing.converter {
            // SAFETY: the chip's own part. The library keeps the divider in a byte that overflows.
            unsafe { (*self.adc).current_prescale = 1 << (self.data(ADCSRA) & 7).max(1) }
        }
        let now = self.now();
        if std::mem::take(&mut self.heard.write_started) {
            let at = self.word(EEAR) & (EEPROM_BYTES - 1);
            if self.worn.contains(&at) {
                // SAFETY: within the chip's EEPROM.
                unsafe { *(*self.eeprom).eeprom.add(at) = self.shadow[at] }
            }
            // SAFETY: within the chip's EEPROM.
            let new = unsafe { *(*self.eeprom).eeprom.add(at) };
            self.writes.push((now, at, new));
            self.busy = Some(Busy { until: now + EEPROM_CYCLES, at, old: self.shadow[at], new });
            self.shadow[at] = new;
            // SAFETY: the chip's own interrupt.
            unsafe { ffi::avr_clear_interrupt(self.avr, &raw mut (*self.eeprom).ready) }
        }
        let control = self.data(EECR);
        match &self.busy {
            Some(busy) if now >= busy.until => {
                self.busy = None;
                self.set_data(EECR, control & !EEPE);
            }
            Some(_) if self.timing.eeprom => self.set_data(EECR, control | EEPE),
            _ => {}
        }
        if self.timing.eeprom && self.busy.is_none() && self.data(EECR) & EERIE != 0 {
            // SAFETY: the chip's own interrupt, which is a level on silicon.
            unsafe {
                ffi::avr_raise_interrupt(self.avr, &raw mut (*self.eeprom).ready);
            }
        }
    }

    fn look_at_pins(&mut self) {
        for (index, (_, pin)) in PORTS.iter().enumerate() {
            let (direction, port) = (self.data(pin + 1), self.data(pin + 2));
            let (old_direction, old_port) = self.ports[index];
            if (direction, port) == (old_direction, old_port) {
                continue;
            }
            self.ports[index] = (direction, port);
            let (was, is) = (!old_direction | old_port, !direction | port);
            let cycle = self.now();
            for bit in 0..8 {
                if (was ^ is) >> bit & 1 != 0 {
                    self.edges[index][bit].push(Edge { cycle, high: is >> bit & 1 != 0 });
                }
            }
        }
    }

    /// The program stands still: from now on it goes round in one place with interrupts off, until it is
    /// reset.
    pub fn stall(&mut self) {
        // SAFETY: the chip's own state. Address 0x7FFE holds a jump to itself, put there here.
        unsafe {
            let here = FLASH_BYTES - 2;
            *(*self.avr).flash.add(here) = 0xFF;
            *(*self.avr).flash.add(here + 1) = 0xCF; // rjmp .-2
            (*self.avr).sreg[7] = 0;
            (*self.avr).pc = here as u32;
        }
    }

    /// Runs to a cycle.
    pub fn run_to(&mut self, cycle: u64) {
        while self.now() < cycle {
            self.step();
        }
    }

    /// Runs for so many microseconds.
    pub fn run_us(&mut self, us: u64) {
        self.run_to(self.now() + us * (HZ / 1_000_000));
    }

    /// Runs for so many milliseconds.
    pub fn run_ms(&mut self, ms: u64) {
        self.run_us(ms * 1_000);
    }
}

impl Drop for Chip {
    fn drop(&mut self) {
        // SAFETY: made by the library, freed once.
        unsafe {
            ffi::avr_terminate(self.avr);
            libc::free(self.avr.cast());
        }
    }
}
