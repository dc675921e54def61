//! `spokewire code encode` and `spokewire code decode`: codes to pulses and back. Computes nothing
//! of its own.

mod list;

use std::process::ExitCode;

use clap::{Args, Subcommand};
use serde::{Deserialize, Serialize};

use super::code_free::{FREE, FreeArgs, NotFree, words_of};
use super::{CliError, Io};
use crate::remote::{
    self, Code, CodeError, Decoded, FamilyId, Frame, HearError, Heard, RepeatKind, both_orders, describe,
    families,
};

/// Codes to pulses, and pulses to codes.
#[derive(Debug, Args)]
pub struct CodeArgs {
    /// Which way.
    #[command(subcommand)]
    pub command: CodeCommand,
}

/// Which way.
#[derive(Debug, Subcommand)]
pub enum CodeCommand {
    /// Print one frame of a code as marks and spaces in microseconds
    Encode(EncodeArgs),
    /// Read marks and spaces in microseconds from standard input, print the code they carry
    #[command(long_about = "Read one press of a remote from standard input, print the code it carries.\n\n\
        The input is a JSON array of marks and spaces in microseconds, mark first, \
        or what `code encode --json` prints: a single frame, or a whole capture with its gaps and \
        repeats. Two different codes, a cut frame, a failed check, and timings that no family \
        explains are told on standard error, with exit status 1. \
        With --json, `toggle` is null for families without a toggle bit, and `address` and `command` \
        are null for a repeat frame that carries none.")]
    Decode(DecodeArgs),
    /// List the families, or a project's commands; take a list of commands into a project
    List(list::ListArgs),
}

/// What to encode.
#[derive(Debug, Args)]
pub struct EncodeArgs {
    /// The code family, such as nec; or free, with its parameters
    #[arg(long, value_name = "ID")]
    pub family: String,
    /// The address: decimal, or hex with 0x in front
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    pub address: u32,
    /// The command: decimal, or hex with 0x in front
    #[arg(long, value_name = "NUMBER", value_parser = number, allow_negative_numbers = true)]
    pub command: u32,
    /// Set the toggle bit; a family without one sends the same frame either way
    #[arg(long)]
    pub toggle: bool,
    /// Print one JSON document: {"pulses_us":[mark,space,...]}
    #[arg(long)]
    pub json: bool,
    /// The parameters of a free family.
    #[command(flatten)]
    pub free: FreeArgs,
}

/// How to decode.
#[derive(Debug, Args)]
pub struct DecodeArgs {
    /// Print one JSON document: {"family","address","command","toggle","repeat"}
    #[arg(long)]
    pub json: bool,
}

/// Why a code command printed nothing.
#[derive(Debug, thiserror::Error)]
pub enum CodeCommandError {
    /// The code that was asked for can't be sent.
    #[error(transparent)]
    Encode(#[from] CodeError),
    /// Parameters of a free family beside another.
    #[error(transparent)]
    NotFree(#[from] NotFree),
    /// The pulses carry no code.
    #[error(transparent)]
    Hear(HearError),
    /// A frame that fails a check, and what it is without it.
    #[error("{why}\nIf this remote sends no such check, it is {free}: spokewire code encode {words}")]
    Unchecked {
        /// Why it is refused.
        why: Box<HearError>,
        /// The same frame as one of a free family, in words.
        free: String,
        /// The words that encode it.
        words: String,
    },
    /// No family explains the pulses.
    #[error(
        "No family explains it: {timings} timings in {total_ms:.1} ms, heard {}.{} \
         Listen to the remote at Codes to keep it as it is.",
        if *frames == 1 { "once".to_owned() } else { format!("{frames} times alike") },
        alternatives(" It could be ", also, ".")
    )]
    Raw {
        /// How many timings its frame has.
        timings: usize,
        /// How long its frame is, in milliseconds.
        total_ms: f64,
        /// How often it was heard.
        frames: usize,
        /// What else it could be.
        also: Vec<Code>,
    },
    /// Nothing came to decode.
    #[error("Nothing came on standard input. Pipe the timings in: spokewire code decode < pulses.json")]
    Nothing,
    /// The input is not a list of numbers.
    #[error(
        "The input is no list of timings: {0}. Give a JSON array in microseconds, like [9000,4500,562.5]."
    )]
    NotTimings(#[from] serde_json::Error),
}

/// A code that can't be is bad use; pulses that carry none are a job that failed.
impl From<CodeCommandError> for CliError {
    fn from(error: CodeCommandError) -> Self {
        match error {
            CodeCommandError::Encode(_) | CodeCommandError::NotFree(_) => Self::bad_use(error),
            CodeCommandError::Hear(_)
            | CodeCommandError::Unchecked { .. }
            | CodeCommandError::Raw { .. }
            | CodeCommandError::Nothing
            | CodeCommandError::NotTimings(_) => Self::failed(error),
        }
    }
}

/// What is refused is offered as a code of a free family where it looks like one.
impl From<HearError> for CodeCommandError {
    fn from(why: HearError) -> Self {
        match why.free() {
            Some(code @ Code::Free { free, address, command }) => Self::Unchecked {
                why: Box::new(why),
                free: describe(&code),
                words: words_of(&free, address, command),
            },
            _ => Self::Hear(why),
        }
    }
}

/// Prints a code's pulses, or the code that pulses from standard input carry.
///
/// # Errors
/// [`CodeCommandError`], or nothing can be read or printed.
pub fn run(args: &CodeArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let text = match &args.command {
        CodeCommand::List(args) => return list::run(args, io),
        CodeCommand::Encode(args) => encode(args)?,
        CodeCommand::Decode(args) => decode(args, &io.read_input("the timings")?)?,
    };
    writeln!(io.out, "{text}")?;
    Ok(ExitCode::SUCCESS)
}

fn encode(args: &EncodeArgs) -> Result<String, CodeCommandError> {
    let EncodeArgs { family, address, command, toggle, json, free } = args;
    let code = if family == FREE {
        free.code(*address, *command)
    } else {
        free.none_for(family)?;
        Code::Family { family: FamilyId(family.clone()), address: *address, command: *command }
    };
    let frame = remote::encode(&code, *toggle)?;
    if *json {
        Ok(serde_json::to_string(&Pulses { pulses_us: &frame.pulses_us })?)
    } else {
        Ok(frame_text(&code, &frame))
    }
}

fn decode(args: &DecodeArgs, text: &str) -> Result<String, CodeCommandError> {
    if text.trim().is_empty() {
        return Err(CodeCommandError::Nothing);
    }
    // By its first sign rather than by trying both: the reason of a failure then fits what was meant.
    let pulses_us = if text.trim_start().starts_with('{') {
        serde_json::from_str::<PulsesIn>(text)?.pulses_us
    } else {
        serde_json::from_str(text)?
    };
    let heard = match remote::hear(&pulses_us) {
        Ok(heard) => heard,
        // A repeat frame on its own is no press, but it is what was asked for.
        Err(error) => match remote::decode(&pulses_us) {
            Ok(repeat) if repeat.repeat => {
                return if args.json {
                    Ok(serde_json::to_string(&Reading::from(&repeat))?)
                } else {
                    Ok(repeat.to_string())
                };
            }
            _ => return Err(error.into()),
        },
    };
    match Reading::of(&heard) {
        Some(reading) if args.json => Ok(serde_json::to_string(&reading)?),
        Some(_) => Ok(heard_text(&heard)),
        None => {
            let (timings, total_us) = (heard.clean_us.len(), heard.clean_us.iter().sum::<f64>());
            let Heard { frames, also, .. } = heard;
            Err(CodeCommandError::Raw { timings, total_ms: total_us / 1e3, frames, also })
        }
    }
}

/// A press for people: its code, what was heard, what the receiver does, how sure it is.
fn heard_text(heard: &Heard) -> String {
    let toggle = heard.toggle.map(|bit| format!(" toggle {}", u8::from(bit))).unwrap_or_default();
    let counted = |count: usize, what: &str| match count {
        1 => format!("1 {what}"),
        many => format!("{many} {what}s"),
    };
    let mut found = vec![counted(heard.frames, "frame")];
    if heard.repeats > 0 {
        found.push(counted(heard.repeats, "repeat frame"));
    }
    if let Some(period_us) = heard.period_us {
        found.push(format!("{:.1} ms from frame to frame", period_us / 1e3));
    }
    let stretch_us = heard.stretch_us.round();
    let stretch = match stretch_us {
        _ if stretch_us.abs() < 1.0 => "marks as sent".to_owned(),
        longer if longer > 0.0 => format!("marks {longer:.0} µs longer than sent"),
        shorter => format!("marks {:.0} µs shorter than sent", -shorter),
    };
    let lines = [
        format!("{}{toggle}", describe(&heard.code)),
        format!("{}; {stretch}", found.join(", ")),
        format!("{}{}", heard.sure, alternatives("\nIt could also be ", &heard.also, "")),
    ];
    lines.join("\n")
}

/// Codes in a row, with what stands before and after; nothing if there are none.
fn alternatives(before: &str, codes: &[Code], after: &str) -> String {
    let described: Vec<_> = codes.iter().map(describe).collect();
    match described[..] {
        [] => String::new(),
        _ => format!("{before}{}{after}", described.join(" or ")),
    }
}

/// A frame for people: its numbers, its pulses signed as marks and spaces, its length and repeat.
fn frame_text(code: &Code, frame: &Frame) -> String {
    let mut lines = vec![describe(code)];
    let pulses = frame.pulses_us.iter().enumerate().map(|(i, us)| {
        let sign = if i.is_multiple_of(2) { '+' } else { '-' };
        let tenths = format!("{us:.1}");
        format!("{sign}{}", tenths.strip_suffix(".0").unwrap_or(&tenths))
    });
    lines.push(pulses.collect::<Vec<_>>().join(" "));
    let again = match frame.repeat.kind {
        RepeatKind::ShortFrame { .. } => "a short repeat frame",
        RepeatKind::WholeFrame => "the whole frame again",
        RepeatKind::WithoutLeader => "the bits again without the leader",
        RepeatKind::Once => "sent once",
    };
    let period = frame.repeat.period_us.map(|us| format!(" every {:.1} ms while held", us / 1e3));
    lines.push(format!("{:.1} ms; {again}{}", frame.total_us() / 1e3, period.unwrap_or_default()));
    if let Some(number) = both_orders(code) {
        lines.push(format!(
            "As a {}-bit number: {} first bit first, {} last bit first",
            number.first_bit_first.width().bits(),
            number.first_bit_first,
            number.last_bit_first
        ));
    }
    lines.join("\n")
}

/// A number on the command line: decimal, or hex with 0x in front.
fn number(text: &str) -> Result<u32, String> {
    let parsed = match text.strip_prefix("0x").or_else(|| text.strip_prefix("0X")) {
        Some(hex) if !hex.starts_with(['+', '-']) => u32::from_str_radix(hex, 16),
        _ => text.parse(),
    };
    parsed.map_err(|_| {
        let ids: Vec<_> = families().iter().map(|family| family.id).collect();
        format!(
            "give a whole number from 0 to 4294967295, decimal like 89 or hex like 0x59; \
             what fits depends on the family: {}",
            ids.join(", ")
        )
    })
}

#[derive(Serialize)]
struct Pulses<'a> {
    pulses_us: &'a [f64],
}

#[derive(Deserialize)]
struct PulsesIn {
    pulses_us: Vec<f64>,
}

#[derive(Serialize)]
struct Reading {
    family: &'static str,
    address: Option<u32>,
    command: Option<u32>,
    toggle: Option<bool>,
    repeat: bool,
}

impl Reading {
    /// Of a press that a family of the table explains.
    fn of(heard: &Heard) -> Option<Self> {
        let Code::Family { address, command, .. } = heard.code else { return None };
        Some(Self {
            family: heard.family?.id,
            address: Some(address),
            command: Some(command),
            toggle: heard.toggle,
            repeat: heard.frames == 0,
        })
    }
}

impl From<&Decoded> for Reading {
    fn from(decoded: &Decoded) -> Self {
        let &Decoded { family, address, command, toggle, repeat } = decoded;
        Self { family: family.id, address, command, toggle, repeat }
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::super::io::on;
    use super::*;

    #[derive(Parser)]
    struct Program {
        #[command(flatten)]
        code: CodeArgs,
    }

    fn ran(words: &str, input: &str) -> Result<String, CliError> {
        let words = std::iter::once("code").chain(words.split_whitespace());
        let args = Program::try_parse_from(words).unwrap().code;
        let (ended, out, _) = on(input.as_bytes(), |io| run(&args, io));
        ended.map(|_| out.trim_end().to_owned())
    }

    #[test]
    fn what_encode_prints_decode_reads() {
        for (numbers, address, command) in
            [("--address 0x59 --command 22", 0x59, 0x16), ("--address 0 --command 0XfF", 0, 0xFF)]
        {
            let pulses = ran(&format!("encode --family nec {numbers} --json"), "").unwrap();
            assert!(pulses.starts_with("{\"pulses_us\":[9000.0,4500.0,562.5,"), "{pulses}");
            let reading = ran("decode --json", &pulses).unwrap();
            assert_eq!(
                reading,
                format!(
                    "{{\"family\":\"nec\",\"address\":{address},\"command\":{command},\"toggle\":null,\"repeat\":false}}"
                )
            );
        }
    }

    #[test]
    fn people_get_the_numbers_the_pulses_and_the_repeat() {
        let text = ran("encode --family nec --address 0x59 --command 0x16", "").unwrap();
        let lines: Vec<_> = text.lines().collect();
        assert_eq!(lines[0], "nec address 59 command 16");
        assert!(lines[1].starts_with("+9000 -4500 +562.5 -1687.5 +562.5 -562.5"), "{}", lines[1]);
        assert_eq!(lines[2], "68.1 ms; a short repeat frame every 108.0 ms while held");
        assert_eq!(lines[3], "As a 32-bit number: 9A656897 first bit first, E916A659 last bit first");
        let repeat = ran("decode", "[9000, 2250, 562.5, 96187]").unwrap();
        assert_eq!(repeat, "nec repeat frame");
    }

    #[test]
    fn the_toggle_bit_is_there_for_families_that_have_one() {
        let pulses = ran("encode --family rc5 --address 5 --command 53 --toggle --json", "").unwrap();
        assert!(ran("decode", &pulses).unwrap().starts_with("rc5 address 05 command 35 toggle 1\n"));
        let reading = ran("decode --json", &pulses).unwrap();
        assert_eq!(reading, r#"{"family":"rc5","address":5,"command":53,"toggle":true,"repeat":false}"#);
        let plain = ran("encode --family nec --address 5 --command 53 --json", "").unwrap();
        assert_eq!(ran("encode --family nec --address 5 --command 53 --toggle --json", "").unwrap(), plain);
    }

    #[test]
    fn a_free_family_is_encoded_with_its_parameters_as_options() {
        let words = "encode --family free --address 0xA --command 5 --leader-us none --zero-us 300,600 \
                     --one-us 600,300 --address-bits 4 --command-bits 3 --command-inverse no --bit-order \
                     highest-first --stop-mark no --repeat once";
        let wanted =
            "{\"pulses_us\":[600.0,300.0,300.0,600.0,600.0,300.0,300.0,600.0,600.0,300.0,300.0,600.0,600.0]}";
        assert_eq!(ran(&format!("{words} --json"), "").unwrap(), wanted);
        let text = ran(words, "").unwrap();
        assert!(text.starts_with("free family address 0A command 05\n+600 -300 +300"), "{text}");
        assert!(text.ends_with("6.0 ms; sent once"), "{text}");
        let usual = ran("encode --family free --address 0x1234 --command 0x56", "").unwrap();
        assert!(
            usual.contains("As a 32-bit number: 2C486A95 first bit first, A9561234 last bit first"),
            "{usual}"
        );
        for (words, said) in [
            ("--family free --address 9 --command 1 --address-bits 3", "Address 9 does not fit 3 bits"),
            ("--family free --address 9 --command 1 --zero-us 1,1", "The mark of a 0 is 1 µs"),
            ("--family nec --address 9 --command 1 --zero-us 1,1", "--zero-us is for --family free"),
        ] {
            let error = ran(&format!("encode {words}"), "").unwrap_err();
            assert_eq!(error.exit_status(), 2);
            assert!(error.to_string().starts_with(said), "{error}");
        }
    }

    #[test]
    fn a_short_repeat_frame_has_no_numbers() {
        let reading = ran("decode --json", "[9000, 2250, 562.5]").unwrap();
        assert_eq!(reading, r#"{"family":"nec","address":null,"command":null,"toggle":null,"repeat":true}"#);
    }

    /// A press of 59/16, held for two repeats, as a receiver gives it.
    fn press() -> Vec<f64> {
        let code = Code::Family { family: FamilyId("nec".to_owned()), address: 0x59, command: 0x16 };
        let mut pulses_us = remote::encode(&code, false).unwrap().pulses_us;
        for gap_us in [39_937.5, 96_187.5] {
            pulses_us.extend([gap_us, 9000.0, 2250.0, 562.5]);
        }
        let signed = |(at, us): (usize, &f64)| us + if at.is_multiple_of(2) { 71.0 } else { -71.0 };
        pulses_us.iter().enumerate().map(signed).collect()
    }

    #[test]
    fn a_whole_capture_is_told_with_its_repeats_its_stretch_and_how_sure_it_is() {
        let input = serde_json::to_string(&press()).unwrap();
        assert_eq!(
            ran("decode", &input).unwrap(),
            "nec address 59 command 16\n\
             1 frame, 2 repeat frames, 108.0 ms from frame to frame; marks 71 µs longer than sent\n\
             certain: the inverses match, 2 repeat frames follow\n\
             It could also be nec16 address A659 command 16"
        );
        assert_eq!(
            ran("decode --json", &input).unwrap(),
            r#"{"family":"nec","address":89,"command":22,"toggle":null,"repeat":false}"#
        );
    }

    #[test]
    fn what_is_no_code_is_told_with_its_reason() {
        let cut = serde_json::to_string(&press()[..41]).unwrap();
        let mut two = press();
        let second = two.len() - 7;
        two.truncate(second);
        two.extend(
            remote::encode(
                &Code::Family { family: FamilyId("nec".to_owned()), address: 0x59, command: 0x17 },
                false,
            )
            .unwrap()
            .pulses_us,
        );
        let two = serde_json::to_string(&two).unwrap();
        // 20 bits of 700 µs units behind a long leader, twice: of no family of the table.
        let mut unknown = vec![11_000.0, 6_000.0];
        for bit in 0..20_u32 {
            unknown.extend([700.0, if 0x59_3A1 >> bit & 1 == 1 { 2_000.0 } else { 700.0 }]);
        }
        unknown.push(700.0);
        let again = unknown.clone();
        unknown.push(30_000.0);
        unknown.extend(again);
        let unknown = serde_json::to_string(&unknown).unwrap();
        for (input, wanted) in [
            (&cut, "It begins like nec and ends after 19 of 32 bits."),
            (
                &two,
                "Two different codes are in one capture: nec address 59 command 16, then nec address 59 command 17.",
            ),
            (&unknown, "No family explains it: 43 timings in "),
        ] {
            for words in ["decode", "decode --json"] {
                let told = ran(words, input).unwrap_err();
                assert_eq!(told.exit_status(), 1);
                assert!(told.to_string().starts_with(wanted), "{told}");
            }
        }
    }

    #[test]
    fn a_frame_that_fails_its_check_is_offered_as_one_of_a_free_family() {
        let code = Code::Family { family: FamilyId("nec".to_owned()), address: 0x59, command: 0x16 };
        let mut pulses_us = remote::encode(&code, false).unwrap().pulses_us;
        // The last bit of the command's inverse, the other way.
        pulses_us[65] = 1_687.5 + 562.5 - pulses_us[65];
        let input = serde_json::to_string(&pulses_us).unwrap();
        let told = ran("decode", &input).unwrap_err();
        let (told, status) = (told.to_string(), told.exit_status());
        let (why, offered) = told.split_once('\n').unwrap();
        assert!(why.contains("the command is sent as") && status == 1, "{told}");
        let start = "If this remote sends no such check, it is free family address A659 command ";
        assert!(offered.starts_with(start), "{told}");
        // The words that are offered send what was heard.
        let (_, words) = offered.split_once("spokewire code ").unwrap();
        let sent = ran(&format!("{words} --json"), "").unwrap();
        let PulsesIn { pulses_us: sent_us } = serde_json::from_str(&sent).unwrap();
        assert_eq!(sent_us.len(), pulses_us.len());
        for (sent_us, heard_us) in sent_us.iter().zip(&pulses_us) {
            assert!((sent_us - heard_us).abs() < 2.0, "{sent_us} sent for {heard_us}");
        }
    }

    #[test]
    fn bad_use_and_a_failed_job_are_told_apart() {
        let out = ran("encode --family nec --address 256 --command 1", "").unwrap_err();
        assert_eq!(out.exit_status(), 2);
        assert!(out.to_string().starts_with("Address 100 is out of range for nec"), "{out}");
        for input in [
            "",
            "[9000, 4500",
            "9000 4500",
            "[\"a\"]",
            "{\"pulses\":[1]}",
            "[]",
            "[1,2,3]",
            "[NaN]",
            "[-9000,4500]",
            "[1e999]",
        ] {
            let out = ran("decode", input).unwrap_err();
            assert_eq!(out.exit_status(), 1, "{input}: {out}");
        }
        let nothing = ran("decode", " \n").unwrap_err().to_string();
        assert!(nothing.starts_with("Nothing came on standard input. Pipe the timings in"), "{nothing}");
        let words = ran("decode", "9000 4500").unwrap_err().to_string();
        assert!(words.starts_with("The input is no list of timings: "), "{words}");
        assert!(words.ends_with("Give a JSON array in microseconds, like [9000,4500,562.5]."), "{words}");
    }

    #[test]
    fn numbers_are_decimal_or_marked_hex() {
        assert_eq!(number("89"), Ok(89));
        assert_eq!(number("0x59"), Ok(0x59));
        for text in ["59h", "0x", "-1", "0x-1", "0x+1", "", "4294967296", "1.5"] {
            assert!(number(text).unwrap_err().starts_with("give a whole number"), "{text}");
        }
    }
}
