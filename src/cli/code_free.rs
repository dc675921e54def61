//! The parameters of a free family as options of `code encode`. Computes nothing of its own.

use clap::builder::BoolishValueParser;
use clap::{Args, ValueEnum};

use crate::remote::{Code, FreeFamily, FreeRepeat};

/// The family's id on the command line.
pub(super) const FREE: &str = "free";

/// A mark and a space, in microseconds.
type MarkSpace = (f64, f64);

/// The parameters; what isn't given is as usual.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "With --family free")]
pub struct FreeArgs {
    /// The leader, or none [default: 9000,4500]
    #[arg(long, value_name = "MARK,SPACE", value_parser = leader, allow_hyphen_values = true)]
    pub leader_us: Option<Leader>,
    /// A 0 [default: 562.5,562.5]
    #[arg(long, value_name = "MARK,SPACE", value_parser = mark_space, allow_hyphen_values = true)]
    pub zero_us: Option<MarkSpace>,
    /// A 1 [default: 562.5,1687.5]
    #[arg(long, value_name = "MARK,SPACE", value_parser = mark_space, allow_hyphen_values = true)]
    pub one_us: Option<MarkSpace>,
    /// Whether a mark as long as a 0's closes the last bit [default: yes]
    #[arg(long, value_name = "YES|NO", value_parser = BoolishValueParser::new(), hide_possible_values = true)]
    pub stop_mark: Option<bool>,
    /// Which bit of a field is sent first [default: lowest-first]
    #[arg(long, value_name = "ORDER", value_enum)]
    pub bit_order: Option<BitOrderArg>,
    /// Bits of the address, 0 to 16; it is sent first [default: 16]
    #[arg(long, value_name = "N")]
    pub address_bits: Option<u8>,
    /// Whether the address is followed by its inverse [default: no]
    #[arg(long, value_name = "YES|NO", value_parser = BoolishValueParser::new(), hide_possible_values = true)]
    pub address_inverse: Option<bool>,
    /// Bits of the command, 1 to 32 [default: 8]
    #[arg(long, value_name = "N")]
    pub command_bits: Option<u8>,
    /// Whether the command is followed by its inverse [default: yes]
    #[arg(long, value_name = "YES|NO", value_parser = BoolishValueParser::new(), hide_possible_values = true)]
    pub command_inverse: Option<bool>,
    /// What is sent while held [default: whole-frame]
    #[arg(long, value_name = "WHAT", value_enum)]
    pub repeat: Option<RepeatArg>,
    /// From the start of one frame to the start of the next [default: 108000]
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub period_us: Option<f64>,
    /// The carrier of an infrared LED, 20 to 100; the wire carries none [default: 38]
    #[arg(long, value_name = "N")]
    pub carrier_khz: Option<u8>,
}

/// A leader, or that there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leader(pub Option<MarkSpace>);

/// Which bit of a field is sent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum BitOrderArg {
    /// The least significant
    LowestFirst,
    /// The most significant
    HighestFirst,
}

/// What is sent while held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RepeatArg {
    /// The whole frame again
    WholeFrame,
    /// The bits again, without the leader
    WithoutLeader,
    /// The leader with half its space, and a mark
    ShortFrame,
    /// Nothing
    Once,
}

/// Parameters of a free family given for another.
#[derive(Debug, thiserror::Error)]
#[error("--{option} is for --family free, and the family is {family}. Leave it out, or give --family free.")]
pub struct NotFree {
    /// The first such option.
    pub option: &'static str,
    /// The family asked for.
    pub family: String,
}

impl FreeArgs {
    /// A code of the free family that these describe.
    #[must_use]
    pub fn code(&self, address: u32, command: u32) -> Code {
        let usual = FreeFamily::default();
        let repeat = self.repeat.map(|repeat| match repeat {
            RepeatArg::WholeFrame => FreeRepeat::WholeFrame,
            RepeatArg::WithoutLeader => FreeRepeat::WithoutLeader,
            RepeatArg::ShortFrame => FreeRepeat::ShortFrame,
            RepeatArg::Once => FreeRepeat::Once,
        });
        let free = FreeFamily {
            leader_us: self.leader_us.map_or(usual.leader_us, |leader| leader.0),
            zero_us: self.zero_us.unwrap_or(usual.zero_us),
            one_us: self.one_us.unwrap_or(usual.one_us),
            stop_mark: self.stop_mark.unwrap_or(usual.stop_mark),
            high_first: self.bit_order.map_or(usual.high_first, |order| order == BitOrderArg::HighestFirst),
            address_bits: self.address_bits.unwrap_or(usual.address_bits),
            address_inverse: self.address_inverse.unwrap_or(usual.address_inverse),
            command_bits: self.command_bits.unwrap_or(usual.command_bits),
            command_inverse: self.command_inverse.unwrap_or(usual.command_inverse),
            repeat: repeat.unwrap_or(usual.repeat),
            period_us: self.period_us.unwrap_or(usual.period_us),
            carrier_khz: self.carrier_khz.unwrap_or(usual.carrier_khz),
        };
        Code::Free { free, address, command }
    }

    /// Refuses any of them beside a family of the table.
    ///
    /// # Errors
    /// [`NotFree`], with the first that was given.
    pub fn none_for(&self, family: &str) -> Result<(), NotFree> {
        let given = [
            ("leader-us", self.leader_us.is_some()),
            ("zero-us", self.zero_us.is_some()),
            ("one-us", self.one_us.is_some()),
            ("stop-mark", self.stop_mark.is_some()),
            ("bit-order", self.bit_order.is_some()),
            ("address-bits", self.address_bits.is_some()),
            ("address-inverse", self.address_inverse.is_some()),
            ("command-bits", self.command_bits.is_some()),
            ("command-inverse", self.command_inverse.is_some()),
            ("repeat", self.repeat.is_some()),
            ("period-us", self.period_us.is_some()),
            ("carrier-khz", self.carrier_khz.is_some()),
        ];
        match given.into_iter().find(|(_, is_given)| *is_given) {
            Some((option, _)) => Err(NotFree { option, family: family.to_owned() }),
            None => Ok(()),
        }
    }
}

/// The words that give this code to `code encode`: [`FreeArgs`] backwards, what is as usual left out.
pub(super) fn words_of(free: &FreeFamily, address: u32, command: u32) -> String {
    let usual = FreeFamily::default();
    let mut words = vec![format!("--family free --address 0x{address:X} --command 0x{command:X}")];
    let mut say = |differs: bool, option: &str, value: String| {
        if differs {
            words.push(format!("--{option} {value}"));
        }
    };
    let both = |(mark, space): MarkSpace| format!("{mark},{space}");
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    say(free.leader_us != usual.leader_us, "leader-us", free.leader_us.map_or("none".to_owned(), both));
    say(free.zero_us != usual.zero_us, "zero-us", both(free.zero_us));
    say(free.one_us != usual.one_us, "one-us", both(free.one_us));
    say(free.stop_mark != usual.stop_mark, "stop-mark", yes(free.stop_mark));
    let order = if free.high_first { "highest-first" } else { "lowest-first" };
    say(free.high_first != usual.high_first, "bit-order", order.to_owned());
    say(free.address_bits != usual.address_bits, "address-bits", free.address_bits.to_string());
    say(free.address_inverse != usual.address_inverse, "address-inverse", yes(free.address_inverse));
    say(free.command_bits != usual.command_bits, "command-bits", free.command_bits.to_string());
    say(free.command_inverse != usual.command_inverse, "command-inverse", yes(free.command_inverse));
    let repeat = match free.repeat {
        FreeRepeat::WholeFrame => "whole-frame",
        FreeRepeat::WithoutLeader => "without-leader",
        FreeRepeat::ShortFrame => "short-frame",
        FreeRepeat::Once => "once",
    };
    say(free.repeat != usual.repeat, "repeat", repeat.to_owned());
    say(free.period_us != usual.period_us, "period-us", free.period_us.to_string());
    say(free.carrier_khz != usual.carrier_khz, "carrier-khz", free.carrier_khz.to_string());
    words.join(" ")
}

fn leader(text: &str) -> Result<Leader, String> {
    if text == "none" {
        return Ok(Leader(None));
    }
    mark_space(text).map(|leader| Leader(Some(leader))).map_err(|why| format!("{why}; or none"))
}

fn mark_space(text: &str) -> Result<MarkSpace, String> {
    let both = text
        .split_once(',')
        .and_then(|(mark, space)| Some((mark.trim().parse().ok()?, space.trim().parse().ok()?)));
    both.ok_or_else(|| {
        "give a mark and a space in microseconds with a comma between, like 562.5,1687.5".to_owned()
    })
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    #[derive(Parser)]
    struct Program {
        #[command(flatten)]
        free: FreeArgs,
    }

    fn parsed(words: &str) -> Result<FreeArgs, String> {
        let words = std::iter::once("code").chain(words.split_whitespace());
        Program::try_parse_from(words).map(|program| program.free).map_err(|error| error.to_string())
    }

    #[test]
    fn every_parameter_is_an_option_and_the_rest_is_as_usual() {
        let usual = FreeFamily::default();
        assert_eq!(parsed("").unwrap().code(1, 2), Code::Free { free: usual, address: 1, command: 2 });
        let words = "--leader-us 3000,1500 --zero-us 400,400 --one-us 400,1200 --stop-mark no \
                     --bit-order highest-first --address-bits 4 --address-inverse yes --command-bits 6 \
                     --command-inverse no --repeat without-leader --period-us 50000 --carrier-khz 36";
        let free = FreeFamily {
            leader_us: Some((3_000.0, 1_500.0)),
            zero_us: (400.0, 400.0),
            one_us: (400.0, 1_200.0),
            stop_mark: false,
            high_first: true,
            address_bits: 4,
            address_inverse: true,
            command_bits: 6,
            command_inverse: false,
            repeat: FreeRepeat::WithoutLeader,
            period_us: 50_000.0,
            carrier_khz: 36,
        };
        assert_eq!(parsed(words).unwrap().code(1, 2), Code::Free { free, address: 1, command: 2 });
        // Written as words, it is the same again: the last two numbers are not among these options.
        let written = words_of(&free, 1, 2);
        let options = written.strip_prefix("--family free --address 0x1 --command 0x2 ").unwrap();
        assert_eq!(options, words.split_whitespace().collect::<Vec<_>>().join(" "));
        assert_eq!(words_of(&usual, 0x59, 0x16), "--family free --address 0x59 --command 0x16");
        let Code::Free { free, .. } = parsed("--leader-us none --repeat once").unwrap().code(1, 2) else {
            panic!()
        };
        assert_eq!((free.leader_us, free.repeat), (None, FreeRepeat::Once));
    }

    #[test]
    fn what_is_no_mark_and_space_says_what_to_give() {
        for words in ["--zero-us 562.5", "--one-us 1;2", "--leader-us ,", "--leader-us nothing"] {
            let said = parsed(words).unwrap_err();
            assert!(said.contains("give a mark and a space in microseconds"), "{words}: {said}");
        }
        assert!(parsed("--address-bits 300").is_err() && parsed("--stop-mark perhaps").is_err());
    }

    #[test]
    fn the_help_says_the_family_s_own_defaults() {
        use clap::CommandFactory;
        let help = Program::command().render_long_help().to_string();
        let usual = FreeFamily::default();
        let both = |(mark, space): (f64, f64)| format!("[default: {mark},{space}]");
        for said in [
            both(usual.leader_us.unwrap()),
            both(usual.zero_us),
            both(usual.one_us),
            format!("[default: {}]", usual.address_bits),
            format!("[default: {}]", usual.command_bits),
            format!("[default: {}]", usual.period_us),
            format!("[default: {}]", usual.carrier_khz),
        ] {
            assert!(help.contains(&said), "{said}: {help}");
        }
    }

    #[test]
    fn options_of_the_free_family_are_refused_beside_another() {
        let args = parsed("--carrier-khz 38").unwrap();
        assert_eq!(
            args.none_for("nec").unwrap_err().to_string(),
            "--carrier-khz is for --family free, and the family is nec. Leave it out, or give --family free."
        );
        assert!(FreeArgs::default().none_for("nec").is_ok());
    }
}
