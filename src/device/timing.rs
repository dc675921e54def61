//! How long is waited for what, in milliseconds, and why so long.

/// Between two calls while it isn't known what is at the port.
pub const CALL_EVERY_MS: f64 = 250.0;

/// So long a box is looked for before its bootloader is called: opening the port resets most boards,
/// and a bootloader waits up to two seconds before it starts the program.
pub const FIND_MS: f64 = 3_500.0;

/// After a flash a reset is given if the new program has said nothing for so long: some bootloaders
/// stay where they are when told to leave.
pub const NUDGE_MS: f64 = 1_800.0;

/// An answer without work behind it. A frame of samples ahead of it takes 8 ms at 115200, a USB
/// adapter holds bytes back for 16 ms, and a busy laptop sleeps for longer than either.
pub const ANSWER_MS: f64 = 300.0;

/// An answer that waits for the EEPROM: 64 bytes at 3.4 ms each (ATmega328P datasheet, EEPROM
/// programming time) are 218 ms; reading back and checking a slot comes to less.
pub const STORE_MS: f64 = 1_200.0;

/// Before a busy box is asked again.
pub const BUSY_MS: f64 = 150.0;

/// From the answer to a restart until the box says it has started: the watchdog's 250 ms and a
/// bootloader's two seconds.
pub const BOOT_MS: f64 = 3_000.0;

/// So long a streaming box may say nothing before it is asked whether it is still there; it tells
/// samples every 8 ms.
pub const QUIET_MS: f64 = 2_000.0;

/// How often a request is sent before it is given up: once, and twice more.
pub const TRIES: usize = 3;

/// How many requests may wait for the one that runs.
pub const WAITING_MOST: usize = 16;

/// From a reset to the first call of the bootloader: before that it does not listen.
pub const RESET_MS: f64 = 100.0;

/// Between two calls of the bootloader.
pub const SYNC_EVERY_MS: f64 = 120.0;

/// Calls of the bootloader after one reset: together 720 ms, within the second it waits.
pub const SYNCS: usize = 6;

/// Resets before the bootloader is given up, the two rates in turn: about 7 s, enough to press a
/// board's reset button meanwhile where the port can't.
pub const RESETS: usize = 8;

/// Quiet after the first answer of the bootloader: answers to calls that overlapped run out.
pub const DRAIN_MS: f64 = 60.0;

/// An answer of the bootloader: a page takes 23 ms at 57600 and 5 ms to store; then it is gone.
pub const PAGE_MS: f64 = 1_000.0;

/// How often a flash is begun anew by itself.
pub const FLASH_TRIES: usize = 3;
