//! Pulses read by the decoder of crate `irp` (MIT), which is built from a notation of the protocol,
//! written here from the documents named in `tests/codes/libraries.rs`. Knows nothing of how this
//! project decodes.

#![expect(clippy::panic, clippy::unwrap_used, reason = "a test's helpers fail the test")]

use std::collections::HashMap;

use irp::{Decoder, InfraredData, Irp, NFA, Options};

/// Each family with the gap that closes its frame; `D` the address, `F` the command, `T` the toggle bit.
/// The first bit of rc5 is its second half alone: the first is no different from the idle line.
const NOTATIONS: [(&str, &str); 9] = [
    ("nec", "{38k,562.5}<1,-1|1,-3>(16,-8,D:8,~D:8,F:8,~F:8,1,-40m)[D:0..255,F:0..255]"),
    ("nec16", "{38k,562.5}<1,-1|1,-3>(16,-8,D:16,F:8,~F:8,1,-40m)[D:0..65535,F:0..255]"),
    ("rc5", "{36k,889,msb}<1,-1|-1,1>(1,~F:1:6,T:1,D:5,F:6,-40m)[D:0..31,F:0..127,T:0..1]"),
    ("rc6", "{36k,444,msb}<-1,1|1,-1>(6,-2,1:1,0:3,<-2,2|2,-2>(T:1),D:8,F:8,-40m)[D:0..255,F:0..255,T:0..1]"),
    ("sirc12", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,-40m)[D:0..31,F:0..127]"),
    ("sirc15", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:8,-40m)[D:0..255,F:0..127]"),
    ("sirc20", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,D:8:5,-40m)[D:0..8191,F:0..127]"),
    ("aeha", "{38k,425}<1,-1|1,-3>(8,-4,D:16,F:32,1,-40m)[D:0..65535,F:0..4294967295]"),
    ("pd16", "{38k,525}<1,-1|1,-3>(16,-8,D:8,F:8,1,-40m)[D:0..255,F:0..255]"),
];

/// The gap after a frame, in microseconds.
const GAP_US: u32 = 40_000;

/// The decoder of a family.
pub(crate) struct IrpReader {
    nfa: NFA,
}

impl IrpReader {
    /// The decoder of the family with this id.
    pub(crate) fn of(family: &str) -> Self {
        let (_, notation) = NOTATIONS.iter().find(|(id, _)| *id == family).unwrap();
        let nfa =
            Irp::parse(notation).unwrap().build_nfa().unwrap_or_else(|error| panic!("{family}: {error}"));
        Self { nfa }
    }

    /// Address, command and toggle bit of a frame; `None` where it reads none.
    pub(crate) fn read(&self, frame: &[f64]) -> Option<(u32, u32, Option<bool>)> {
        // 100 µs or 15 %: the edges are meant to be exact, the decoder's own unit is whole microseconds.
        let options = Options { aeps: 100, eps: 15, max_gap: GAP_US, ..Options::default() };
        let mut decoder = Decoder::new(options);
        let mut read: Option<HashMap<String, i64>> = None;
        let mut pulses: Vec<u32> = frame.iter().map(|us| us.round() as u32).collect();
        pulses.push(GAP_US);
        for pulse in InfraredData::from_u32_slice(&pulses) {
            decoder.nfa_input(pulse, &self.nfa, |_, fields| read = Some(fields));
        }
        let fields = read?;
        let field = |name: &str| fields.get(name).copied().and_then(|value| u32::try_from(value).ok());
        Some((field("D")?, field("F")?, field("T").map(|toggle| toggle == 1)))
    }
}
