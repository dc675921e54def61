//! The serial bootloader of the virtual box: STK500 version 1, as Atmel's application note AVR061
//! lays it out (numbers from memory of it). Commands and pages of flash; knows no program, and its
//! clock is one tick a millisecond.

/// Ends every command.
const END: u8 = 0x20;
const IN_SYNC: u8 = 0x14;
const OK: u8 = 0x10;
const NO_SYNC: u8 = 0x15;
const FAILED: u8 = 0x11;

const GET_SYNC: u8 = 0x30;
const SET_PARAMETER: u8 = 0x40;
const GET_PARAMETER: u8 = 0x41;
const SET_DEVICE: u8 = 0x42;
const SET_DEVICE_MORE: u8 = 0x45;
const ENTER: u8 = 0x50;
const LEAVE: u8 = 0x51;
const ERASE: u8 = 0x52;
const LOAD_ADDRESS: u8 = 0x55;
const UNIVERSAL: u8 = 0x56;
const WRITE_PAGE: u8 = 0x64;
const READ_PAGE: u8 = 0x74;
const READ_SIGNATURE: u8 = 0x75;

/// An ATmega328P's.
pub(super) const SIGNATURE: [u8; 3] = [0x1E, 0x95, 0x0F];

/// Flash below the bootloader, in bytes.
const FLASH_BYTES: usize = 0x7800;

/// Flash is written by pages of so many bytes.
const PAGE_BYTES: usize = 128;

/// A page over the line at 115 200 bits per second, in ticks, and its writing.
const PAGE_TICKS: u32 = 12;
const PAGE_WRITE_TICKS: u32 = 5;

/// How long it waits for a command before the program starts, in ticks.
const WAIT_TICKS: u32 = 1_000;

/// A bootloader with the flash it fills.
#[derive(Clone, Debug)]
pub(super) struct Bootloader {
    flash: Vec<u8>,
    /// Where the next page goes, in bytes.
    address: usize,
    heard: Vec<u8>,
    busy_ticks: u32,
    idle_ticks: u32,
    left: bool,
}

impl Bootloader {
    pub(super) fn new() -> Self {
        Self {
            flash: vec![0xFF; FLASH_BYTES],
            address: 0,
            heard: Vec::new(),
            busy_ticks: 0,
            idle_ticks: 0,
            left: false,
        }
    }

    /// A reset has started it.
    pub(super) fn start(&mut self) {
        self.heard.clear();
        (self.busy_ticks, self.idle_ticks, self.left) = (0, 0, false);
    }

    /// Whether the first page holds a program.
    pub(super) fn has_program(&self) -> bool {
        self.flash.iter().take(PAGE_BYTES).any(|byte| *byte != 0xFF)
    }

    /// What the flash holds from address 0 on.
    pub(super) fn flash(&self) -> &[u8] {
        &self.flash
    }

    /// Whether it has handed over to the program: told to, or nobody spoke to it.
    pub(super) fn has_left(&self) -> bool {
        self.left || self.idle_ticks >= WAIT_TICKS
    }

    pub(super) fn take(&mut self, bytes: &[u8]) {
        self.heard.extend_from_slice(bytes);
    }

    /// One tick later; what it answers.
    pub(super) fn tick(&mut self, out: &mut Vec<u8>) {
        self.idle_ticks += 1;
        if self.busy_ticks > 0 {
            self.busy_ticks -= 1;
            return;
        }
        while self.busy_ticks == 0 && !self.left {
            let Some(length) = self.command_length() else { return };
            let command: Vec<u8> = self.heard.drain(..length).collect();
            self.idle_ticks = 0;
            self.obey(&command, out);
        }
    }

    /// The length of the command at the front, its end included; `None` until it is there.
    fn command_length(&self) -> Option<usize> {
        let arguments = match *self.heard.first()? {
            GET_PARAMETER => 1,
            SET_PARAMETER | LOAD_ADDRESS => 2,
            SET_DEVICE => 20,
            SET_DEVICE_MORE => 5,
            READ_PAGE => 3,
            UNIVERSAL => 4,
            WRITE_PAGE => 3 + length_of(self.heard.get(1..3)?),
            _ => 0,
        };
        (self.heard.len() >= arguments + 2).then_some(arguments + 2)
    }

    fn obey(&mut self, command: &[u8], out: &mut Vec<u8>) {
        let [number, arguments @ .., end] = command else { return };
        if *end != END {
            // Out of step: what waits is worth nothing.
            self.heard.clear();
            out.push(NO_SYNC);
            return;
        }
        out.push(IN_SYNC);
        match *number {
            LOAD_ADDRESS => {
                self.address = arguments.iter().rev().fold(0, |sum, byte| sum << 8 | usize::from(*byte)) * 2;
            }
            GET_PARAMETER => out.push(match arguments {
                [0x81] => 4,
                [0x82] => 4,
                _ => 3,
            }),
            UNIVERSAL => out.push(0),
            READ_SIGNATURE => out.extend_from_slice(&SIGNATURE),
            WRITE_PAGE => {
                let bytes = arguments.get(3..).unwrap_or_default();
                let Some(page) = self.flash.get_mut(self.address..self.address + bytes.len()) else {
                    out.push(FAILED);
                    return;
                };
                page.copy_from_slice(bytes);
                self.busy_ticks = PAGE_TICKS + PAGE_WRITE_TICKS;
            }
            READ_PAGE => {
                let length = arguments.get(..2).map_or(0, length_of);
                let past_end = self.flash.len().min(self.address + length);
                out.extend_from_slice(self.flash.get(self.address..past_end).unwrap_or_default());
                self.busy_ticks = PAGE_TICKS;
            }
            ERASE => self.flash.fill(0xFF),
            LEAVE => self.left = true,
            GET_SYNC | SET_PARAMETER | SET_DEVICE | SET_DEVICE_MORE | ENTER => {}
            _ => {
                out.push(FAILED);
                return;
            }
        }
        out.push(OK);
    }
}

/// A length as the protocol writes it, high byte first.
fn length_of(bytes: &[u8]) -> usize {
    bytes.iter().fold(0, |sum, byte| sum << 8 | usize::from(*byte))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(bootloader: &mut Bootloader, bytes: &[u8]) -> Vec<u8> {
        let mut out = Vec::new();
        bootloader.take(bytes);
        (0..40).for_each(|_| bootloader.tick(&mut out));
        out
    }

    #[test]
    fn a_page_that_was_written_is_read_back() {
        let mut bootloader = Bootloader::new();
        assert_eq!(asked(&mut bootloader, b"\x30\x20"), [IN_SYNC, OK]);
        assert_eq!(asked(&mut bootloader, b"\x75\x20"), [IN_SYNC, 0x1E, 0x95, 0x0F, OK]);
        assert!(!bootloader.has_program());
        let page: Vec<u8> = (0..128).collect();
        asked(&mut bootloader, b"\x55\x40\x00\x20");
        assert_eq!(asked(&mut bootloader, &[b"\x64\x00\x80F", &page[..], b"\x20"].concat()), [IN_SYNC, OK]);
        let back = asked(&mut bootloader, b"\x55\x40\x00\x20\x74\x00\x80F\x20");
        assert_eq!(back, [&[IN_SYNC, OK, IN_SYNC], &page[..], &[OK]].concat());
        assert_eq!(bootloader.flash()[0x80..0x100], page);
    }

    #[test]
    fn it_leaves_when_told_to_and_when_nobody_speaks() {
        let mut bootloader = Bootloader::new();
        assert_eq!(asked(&mut bootloader, b"\x51\x20"), [IN_SYNC, OK]);
        assert!(bootloader.has_left());
        bootloader.start();
        (0..WAIT_TICKS).for_each(|_| bootloader.tick(&mut Vec::new()));
        assert!(bootloader.has_left());
    }

    #[test]
    fn what_is_out_of_step_is_answered_so_and_forgotten() {
        let mut bootloader = Bootloader::new();
        assert_eq!(asked(&mut bootloader, b"\x30\x30\x20"), [NO_SYNC]);
        assert_eq!(asked(&mut bootloader, b"\x30\x20"), [IN_SYNC, OK]);
    }
}
