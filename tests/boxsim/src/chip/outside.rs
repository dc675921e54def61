//! What a test does to a chip from outside, and what it sees of it: pins, converter, link, memory, power.

use std::ffi::c_int;
use std::ptr;

use simavr_ffi as ffi;

use super::{Chip, EEPROM_BYTES, Edge, Torn, ioctl, port_index};
use crate::heard::Power;

impl Chip {
    // ---- pins

    /// Drives an input from outside, from now on.
    pub fn drive(&mut self, port: char, pin: u8, high: bool) {
        self.driven[port_index(port)][usize::from(pin)] = Some(high);
        // SAFETY: the chip's own pin.
        unsafe {
            let line = ffi::avr_io_getirq(self.avr, ioctl(&[b'i', b'o', b'g', port as u8]), c_int::from(pin));
            ffi::avr_raise_irq(line, u32::from(high));
        }
    }

    /// Drives an input from outside at a cycle; calls come in the order of their cycles.
    pub fn drive_at(&mut self, cycle: u64, port: char, pin: u8, high: bool) {
        self.inputs.push_back((cycle, port, pin, high));
    }

    /// Every change of a pin so far, by what the chip itself does to it.
    #[must_use]
    pub fn edges(&self, port: char, pin: u8) -> &[Edge] {
        &self.edges[port_index(port)][usize::from(pin)]
    }

    /// Whether the chip drives a pin.
    #[must_use]
    pub fn is_driven(&self, port: char, pin: u8) -> bool {
        self.ports[port_index(port)].0 >> pin & 1 != 0
    }

    /// Whether a pin is driven high.
    #[must_use]
    pub fn is_high(&self, port: char, pin: u8) -> bool {
        let (direction, level) = self.ports[port_index(port)];
        (direction & level) >> pin & 1 != 0
    }

    // ---- converter

    /// What comes to the converter from now on.
    pub fn power(&mut self, power: impl Power + 'static) {
        self.heard.power = Box::new(power);
    }

    /// Whether the supply or the bandgap was ever chosen as the reference while the pin was driven.
    #[must_use]
    pub const fn was_shorted(&self) -> bool {
        self.heard.shorted
    }

    // ---- link

    /// Sends bytes to the chip, one after the other at the link's rate.
    pub fn send(&mut self, bytes: &[u8]) {
        self.to_chip.extend(bytes);
    }

    /// Bytes that have not gone to the chip yet.
    #[must_use]
    pub fn unsent(&self) -> usize {
        self.to_chip.len()
    }

    /// Bytes that the real receiver would have lost: nobody took them in time.
    #[must_use]
    pub const fn overruns(&self) -> u32 {
        self.overruns
    }

    /// What the chip sent since this was asked last, each byte with its cycle.
    pub fn sent(&mut self) -> Vec<(u64, u8)> {
        self.heard.sent.drain(..).collect()
    }

    // ---- memory and power

    /// The EEPROM.
    #[must_use]
    pub fn eeprom(&self) -> Vec<u8> {
        // SAFETY: the chip's EEPROM is this long.
        unsafe { std::slice::from_raw_parts((*self.eeprom).eeprom, EEPROM_BYTES) }.to_vec()
    }

    /// Sets the EEPROM from its start on.
    pub fn set_eeprom(&mut self, bytes: &[u8]) {
        assert!(bytes.len() <= EEPROM_BYTES);
        // SAFETY: within the chip's EEPROM.
        unsafe { ptr::copy_nonoverlapping(bytes.as_ptr(), (*self.eeprom).eeprom, bytes.len()) }
        self.shadow[..bytes.len()].copy_from_slice(bytes);
    }

    /// Every byte of EEPROM written so far: when, where, what.
    #[must_use]
    pub fn eeprom_writes(&self) -> &[(u64, usize, u8)] {
        &self.writes
    }

    /// From now on this byte of EEPROM stays as it is, whatever is written to it.
    pub fn wear_out(&mut self, at: usize) {
        self.worn.push(at);
    }

    /// Cuts the power now, and gives what the EEPROM holds then.
    #[must_use]
    pub fn cut_power(self, torn: Torn) -> Vec<u8> {
        let mut bytes = self.eeprom();
        if let Some(busy) = &self.busy {
            bytes[busy.at] = match torn {
                Torn::Erased => 0xFF,
                Torn::Both => busy.old & busy.new,
                Torn::Junk(byte) => byte,
            };
        }
        bytes
    }

    /// Whether a byte of EEPROM is being written.
    #[must_use]
    pub const fn is_writing(&self) -> bool {
        self.busy.is_some()
    }
}
