//! What the simulator tells of itself while it runs: bytes sent, interrupts entered, memory written,
//! conversions begun, which get their voltage here. Knows nothing of running.

#![expect(unsafe_code, reason = "callbacks of a C library, each registered with its own chip's record")]

use std::collections::VecDeque;
use std::ffi::{c_char, c_int, c_void};

use simavr_ffi as ffi;

/// The converter's channel of the chip's own bandgap.
pub const BANDGAP_CHANNEL: u8 = 14;

// A register and bits that are looked at (datasheet, register summary).
const ADMUX: usize = 0x7C;
pub(super) const EEPE: u8 = 1 << 1;
const EEMPE: u8 = 1 << 2;

/// What comes to the converter: its reference from outside, and volts at a channel at a cycle.
pub trait Power: Send {
    /// Volts of the supply.
    fn supply_v(&self, cycle: u64) -> f64;
    /// Volts on the reference pin; `None` where nothing drives it.
    fn reference_pin_v(&self) -> Option<f64> {
        None
    }
    /// Volts at a channel when it is sampled.
    fn volt(&mut self, channel: u8, cycle: u64) -> f64;
}

/// Nothing connected.
pub(super) struct Dead;
impl Power for Dead {
    fn supply_v(&self, _: u64) -> f64 {
        5.0
    }
    fn volt(&mut self, _: u8, _: u64) -> f64 {
        0.0
    }
}

/// What the library's callbacks write. Boxed, so that its address stays.
pub(super) struct Heard {
    pub(super) avr: *mut ffi::avr_t,
    pub(super) adc: *mut ffi::avr_irq_t,
    /// Cycles before the last reset: the library counts from 0 again.
    pub(super) base: u64,
    pub(super) sent: VecDeque<(u64, u8)>,
    pub(super) can_receive: bool,
    pub(super) write_enabled_at: Option<u64>,
    pub(super) write_started: bool,
    pub(super) interrupted: bool,
    pub(super) power: Box<dyn Power>,
    pub(super) shorted: bool,
}

impl Heard {
    pub(super) fn now(&self) -> u64 {
        // SAFETY: the chip outlives its callbacks.
        self.base + unsafe { (*self.avr).cycle }
    }
}

pub(super) unsafe extern "C" fn keep_quiet(
    _: *mut ffi::avr_t,
    _: c_int,
    _: *const c_char,
    _: *mut ffi::__va_list_tag,
) {
}
pub(super) unsafe extern "C" fn never_sleep(_: *mut ffi::avr_t, _: ffi::avr_cycle_count_t) {}

pub(super) unsafe extern "C" fn on_sent(_: *mut ffi::avr_irq_t, value: u32, heard: *mut c_void) {
    // SAFETY: registered with a chip's own `Heard`, like every callback below.
    let heard = unsafe { &mut *heard.cast::<Heard>() };
    let now = heard.now();
    heard.sent.push_back((now, value as u8));
}

pub(super) unsafe extern "C" fn on_ready(_: *mut ffi::avr_irq_t, _: u32, heard: *mut c_void) {
    // SAFETY: see `on_sent`.
    unsafe { (*heard.cast::<Heard>()).can_receive = true }
}

pub(super) unsafe extern "C" fn on_full(_: *mut ffi::avr_irq_t, value: u32, heard: *mut c_void) {
    if value != 0 {
        // SAFETY: see `on_sent`.
        unsafe { (*heard.cast::<Heard>()).can_receive = false }
    }
}

pub(super) unsafe extern "C" fn on_interrupt(_: *mut ffi::avr_irq_t, value: u32, heard: *mut c_void) {
    // SAFETY: see `on_sent`.
    unsafe { (*heard.cast::<Heard>()).interrupted |= value != 0 }
}

pub(super) unsafe extern "C" fn on_eeprom(_: *mut ffi::avr_irq_t, value: u32, heard: *mut c_void) {
    // SAFETY: see `on_sent`.
    let heard = unsafe { &mut *heard.cast::<Heard>() };
    let now = heard.now();
    let value = value as u8;
    // A write has to follow its enabling within four cycles.
    if value & EEPE != 0 && heard.write_enabled_at.is_some_and(|at| now - at <= 4) {
        heard.write_started = true;
        heard.write_enabled_at = None;
    } else if value & EEMPE != 0 {
        heard.write_enabled_at = Some(now);
    }
}

pub(super) unsafe extern "C" fn on_convert(_: *mut ffi::avr_irq_t, value: u32, heard: *mut c_void) {
    // SAFETY: see `on_sent`.
    let heard = unsafe { &mut *heard.cast::<Heard>() };
    let now = heard.now();
    // The library's own way to say what is converted: 3 bits of kind, 16 that we don't use, 13 of source.
    let (kind, source) = (value & 7, value >> 19);
    let channel = if kind == ffi::ADC_MUX_REF { BANDGAP_CHANNEL } else { source as u8 };
    // SAFETY: a register of the chip's own data space.
    let choice = unsafe { *(*heard.avr).data.add(ADMUX) } >> 6;
    let pin_v = heard.power.reference_pin_v();
    // Choosing the supply or the bandgap while the pin is driven shorts the two.
    heard.shorted |= choice != 0 && pin_v.is_some();
    let reference_v = match choice {
        0 => pin_v.unwrap_or(0.0),
        1 => heard.power.supply_v(now),
        _ => 1.1,
    };
    let volt = heard.power.volt(channel, now);
    // floor(1024 · V / V_ref), the datasheet's formula.
    let code = if reference_v > 0.0 {
        (volt * 1024.0 / reference_v).floor().clamp(0.0, 1023.0) as u32
    } else {
        1023
    };
    // The library then computes source · 1023 / reference, in whole millivolts.
    let reference_mv = match (channel, choice) {
        (BANDGAP_CHANNEL, _) => (source * 1_023 / code.max(1)).max(1),
        (_, 3) => 1_100,
        _ => 1_023,
    };
    // SAFETY: the chip's own fields and interrupt lines.
    unsafe {
        (*heard.avr).aref = reference_mv;
        (*heard.avr).avcc = reference_mv;
        (*heard.avr).vcc = reference_mv;
        if channel < 8 {
            ffi::avr_raise_irq(heard.adc.add(usize::from(channel)), (code * reference_mv).div_ceil(1_023));
        }
    }
}
