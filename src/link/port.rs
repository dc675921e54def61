//! What the worker needs of the world: a list of ports, opening one, and a port that is read,
//! written and set to a rate. Real ones are in `serial.rs`; tests bring their own.

use std::io;
use std::time::Duration;

use super::message::PortInfo;

/// How long a read waits for its first byte. Short, so that a request or the end is heard soon.
pub const READ_WAIT: Duration = Duration::from_millis(15);

/// An open port. A read waits no longer than [`READ_WAIT`] for bytes and then fails with
/// `TimedOut`; `Ok(0)` or any other error but `Interrupted` and `WouldBlock` means it went away.
pub trait BytePort: io::Read + io::Write + Send {
    /// Sets the rate in bits per second.
    ///
    /// # Errors
    /// If the port can't run at this rate.
    fn set_rate(&mut self, rate: u32) -> io::Result<()>;

    /// Throws away what has arrived and was not read, as far as that is possible.
    fn discard_input(&mut self);

    /// Starts the board anew: its modem lines go off and on again, as its bootloader expects. Takes
    /// no longer than a tenth of a second. A port without such lines does nothing.
    ///
    /// # Errors
    /// If the port has such lines and can't move them.
    fn pulse_reset(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The ports of a machine.
pub trait Ports: Send {
    /// The ports that could be opened, in a steady order.
    fn list(&mut self) -> Vec<PortInfo>;

    /// Whether there is something at this path. True where that can't be known.
    fn is_there(&self, path: &str) -> bool;

    /// Opens a port at a rate in bits per second.
    ///
    /// # Errors
    /// With the reason and what to do about it.
    fn open(&mut self, path: &str, rate: u32) -> Result<Box<dyn BytePort>, OpenError>;
}

/// Why a port could not be opened.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OpenError {
    /// There is nothing at the path.
    #[error("There is no port at {path}.")]
    Missing {
        /// The path.
        path: String,
    },
    /// It is open already.
    #[error("{path} is in use.")]
    Busy {
        /// The path.
        path: String,
    },
    /// The person may not open it.
    #[error("There is no permission to open {path}.")]
    Denied {
        /// The path.
        path: String,
        /// The group that owns it, where that is known.
        group: Option<String>,
    },
    /// There is something at the path, but it is not a port.
    #[error("{path} is not a serial port.")]
    NotAPort {
        /// The path.
        path: String,
    },
    /// This build has no serial ports.
    #[error("{path} can't be opened: this Spokewire was built without serial ports.")]
    NotBuilt {
        /// The path.
        path: String,
    },
    /// Anything else.
    #[error("{path} could not be opened: {why}.")]
    Other {
        /// The path.
        path: String,
        /// What the system said.
        why: String,
    },
}

impl OpenError {
    /// What to do next, in a sentence.
    #[must_use]
    pub fn advice(&self) -> String {
        match self {
            Self::Missing { .. } => {
                "Plug it in and choose it from the list, or check the path that was typed.".to_owned()
            }
            Self::Busy { .. } => "Another program has it open: close it, then connect again.".to_owned(),
            Self::Denied { group: Some(group), .. } => format!(
                "Its group is {group}: add yourself to it (sudo usermod -aG {group} $USER), then log out and in."
            ),
            Self::Denied { group: None, .. } => {
                "Ask whoever runs this machine for permission to use serial ports.".to_owned()
            }
            Self::NotAPort { .. } => {
                "Choose a port from the list; a recorded file is opened as a replay.".to_owned()
            }
            Self::NotBuilt { .. } => {
                "Build it with the feature serial, or use the demo or a recorded file.".to_owned()
            }
            Self::Other { .. } => "Unplug it, plug it in again, and connect again.".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_error_says_what_failed_and_what_to_do() {
        let path = || "/dev/ttyX9".to_owned();
        let said: Vec<_> = [
            OpenError::Missing { path: path() },
            OpenError::Busy { path: path() },
            OpenError::Denied { path: path(), group: Some("dialout".to_owned()) },
            OpenError::Denied { path: path(), group: None },
            OpenError::NotAPort { path: path() },
            OpenError::NotBuilt { path: path() },
            OpenError::Other { path: path(), why: "Protocol error".to_owned() },
        ]
        .map(|error| format!("{error} {}", error.advice()))
        .to_vec();
        assert_eq!(
            said,
            [
                "There is no port at /dev/ttyX9. Plug it in and choose it from the list, or check the path that \
                 was typed.",
                "/dev/ttyX9 is in use. Another program has it open: close it, then connect again.",
                "There is no permission to open /dev/ttyX9. Its group is dialout: add yourself to it (sudo \
                 usermod -aG dialout $USER), then log out and in.",
                "There is no permission to open /dev/ttyX9. Ask whoever runs this machine for permission to use \
                 serial ports.",
                "/dev/ttyX9 is not a serial port. Choose a port from the list; a recorded file is opened as a \
                 replay.",
                "/dev/ttyX9 can't be opened: this Spokewire was built without serial ports. Build it with the \
                 feature serial, or use the demo or a recorded file.",
                "/dev/ttyX9 could not be opened: Protocol error. Unplug it, plug it in again, and connect again.",
            ]
        );
    }
}
