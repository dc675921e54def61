//! What a serial bootloader understands: the part of STK500 version 1 that is needed to fill and
//! check a chip's flash (Atmel application note AVR061, STK500 Communication Protocol). Knows no
//! time.

/// Bytes of a flash page of the ATmega328P (datasheet 8161D, table 27-11: 64 words).
pub(super) const PAGE: usize = 128;
/// The ATmega328P's signature (datasheet 8161D, section 27.3).
pub(super) const SIGNATURE: [u8; 3] = [0x1E, 0x95, 0x0F];

const END: u8 = 0x20; // Sync_CRC_EOP
const IN_SYNC: u8 = 0x14; // Resp_STK_INSYNC
const OK: u8 = 0x10; // Resp_STK_OK

/// A command. Page numbers count from address 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Command<'a> {
    /// Are you there?
    Sync,
    /// Which chip?
    Signature,
    /// Programming begins.
    Enter,
    /// The next page is this one.
    Address(usize),
    /// Fill it.
    Program(&'a [u8]),
    /// Read it.
    Read,
    /// Programming ends.
    Leave,
}

impl Command<'_> {
    pub(super) fn bytes(&self) -> Vec<u8> {
        const SIZE: [u8; 2] = (PAGE as u16).to_be_bytes();
        let mut out = match self {
            Self::Sync => vec![0x30],
            Self::Signature => vec![0x75],
            Self::Enter => vec![0x50],
            Self::Address(page) => {
                let [low, high, ..] = (page * PAGE / 2).to_le_bytes(); // in words
                vec![0x55, low, high]
            }
            Self::Program(bytes) => [&[0x64, SIZE[0], SIZE[1], b'F'], *bytes].concat(),
            Self::Read => vec![0x74, SIZE[0], SIZE[1], b'F'],
            Self::Leave => vec![0x51],
        };
        out.push(END);
        out
    }

    /// Bytes of the answer between its first and its last.
    pub(super) const fn answer_bytes(&self) -> usize {
        match self {
            Self::Signature => 3,
            Self::Read => PAGE,
            _ => 0,
        }
    }
}

/// Takes an answer byte by byte.
#[derive(Clone, Debug, Default)]
pub(super) struct Listener {
    wanted: usize,
    heard: Option<Vec<u8>>,
    /// Whether bytes before the answer are passed over: a program that was cut off by the reset.
    lenient: bool,
}

impl Listener {
    pub(super) fn to(command: &Command<'_>) -> Self {
        Self { wanted: command.answer_bytes(), heard: None, lenient: *command == Command::Sync }
    }

    /// The answer, once it is whole; or the byte that does not belong there.
    pub(super) fn take(&mut self, byte: u8) -> Option<Result<Vec<u8>, u8>> {
        match &mut self.heard {
            None if byte == IN_SYNC => self.heard = Some(Vec::with_capacity(self.wanted)),
            None if self.lenient => {}
            None => return Some(Err(byte)),
            Some(heard) if heard.len() < self.wanted => heard.push(byte),
            Some(heard) if byte == OK => return Some(Ok(std::mem::take(heard))),
            Some(_) if self.lenient && byte == IN_SYNC => {}
            Some(_) if self.lenient => self.heard = None,
            Some(_) => return Some(Err(byte)),
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Atmel AVR061, section 4: the commands' bytes.
    #[test]
    fn commands_are_those_of_the_application_note() {
        assert_eq!(Command::Sync.bytes(), [0x30, 0x20]);
        assert_eq!(Command::Signature.bytes(), [0x75, 0x20]);
        assert_eq!(Command::Enter.bytes(), [0x50, 0x20]);
        assert_eq!(Command::Address(0).bytes(), [0x55, 0x00, 0x00, 0x20]);
        assert_eq!(Command::Address(5).bytes(), [0x55, 0x40, 0x01, 0x20]); // word 0x140, low first
        assert_eq!(Command::Read.bytes(), [0x74, 0x00, 0x80, 0x46, 0x20]);
        assert_eq!(Command::Leave.bytes(), [0x51, 0x20]);
        let page = [0xA5; PAGE];
        let bytes = Command::Program(&page).bytes();
        assert_eq!(bytes[..4], [0x64, 0x00, 0x80, 0x46]);
        assert_eq!(bytes[4..132], page);
        assert_eq!(bytes[132..], [0x20]);
    }

    #[test]
    fn an_answer_is_taken_whole_and_a_wrong_byte_named() {
        let mut listener = Listener::to(&Command::Signature);
        let heard: Vec<_> =
            [0x14, 0x1E, 0x95, 0x0F, 0x10].into_iter().map(|byte| listener.take(byte)).collect();
        assert_eq!(heard[4], Some(Ok(SIGNATURE.to_vec())));
        assert!(heard[..4].iter().all(Option::is_none));
        assert_eq!(Listener::to(&Command::Enter).take(0x15), Some(Err(0x15)));
        let mut sync = Listener::to(&Command::Sync);
        let heard: Vec<_> = [0x55, 0x14, 0x55, 0x10, 0x14].into_iter().map(|byte| sync.take(byte)).collect();
        assert!(heard.iter().all(Option::is_none), "what a program said before is passed over: {heard:?}");
        assert_eq!(sync.take(0x14), None);
        assert_eq!(sync.take(0x10), Some(Ok(Vec::new())));
    }
}
