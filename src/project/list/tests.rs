//! Lists read and written: what is told, with its line, and that writing loses nothing.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

use super::super::model::{CommandId, HeardPress};
use super::*;
use crate::remote::{FamilyId, FreeFamily, FreeRepeat, Origin, families};

fn nec(address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId("nec".to_owned()), address, command }
}

fn named(name: &str, code: Code) -> Command {
    let id = CommandId::default();
    Command { id, name: name.to_owned(), code, origin: Origin::Typed, tried: false, heard: Vec::new() }
}

fn faults(text: &str) -> Vec<String> {
    read_list(text.as_bytes()).faults.iter().map(ToString::to_string).collect()
}

fn names(read: &ListRead) -> Vec<&str> {
    read.commands.iter().map(|listed| listed.command.name.as_str()).collect()
}

#[test]
fn a_list_of_four_columns_is_enough() {
    let read =
        read_list(b"name,family,address,command\nMute,nec,0x59,12\n\"Louder, \"\"+\"\"\",NEC,89,0x16\n");
    assert_eq!(read.faults, []);
    assert_eq!(read.commands[0], Listed { line: 2, command: named("Mute", nec(0x59, 12)) });
    assert_eq!(read.commands[1], Listed { line: 3, command: named("Louder, \"+\"", nec(0x59, 0x16)) });
}

#[test]
fn semicolons_line_ends_of_any_kind_a_byte_order_mark_and_empty_rows_are_no_matter() {
    for text in [
        "\u{FEFF}name;family;address;command\r\nMute;nec;0x59;12\r\n;;;\r\n\r\nOn;nec;1;2\r\n",
        "NAME ; Family;address;command\rMute;nec;0x59;12\r\r;;;\rOn;nec;1;2",
        "\nname,family,address,command,,\nMute,nec,0x59,12,,\n,,,,,\nOn,nec,1,2,,\n",
    ] {
        let read = read_list(text.as_bytes());
        assert_eq!(read.faults, [], "{text:?}");
        assert_eq!(names(&read), ["Mute", "On"], "{text:?}");
        assert_eq!(read.commands[1].line, 5, "{text:?}");
    }
}

#[test]
fn what_is_wrong_with_a_row_is_told_with_its_line_and_the_others_are_kept() {
    let list = "name,family,address,command,origin,tried\n\
                Mute,nec,0x59,0x12,captured,yes\n\
                Source,nec,0x159,1,typed,no\n\
                Odd,xyz,1,1,typed,no\n\
                Hash,nec,5F,1,typed,no\n\
                Half,nec,0x5\n\
                mute,nec,0x59,0x13,typed,no\n\
                ***,nec,1,1,typed,no\n\
                Wide,nec,1,99999999999,typed,no\n\
                Word,nec,1,five,typed,no\n\
                None,nec,,5,typed,no\n\
                Sure,nec,1,5,typed,maybe\n\
                Who,nec,1,5,found,no\n\
                A, b,nec,1,5,typed,no\n\
                Far,nec,1,0x14,,\n";
    let read = read_list(list.as_bytes());
    assert_eq!(names(&read), ["Mute", "Far"]);
    assert_eq!(read.commands[0].command.origin, Origin::Captured);
    assert!(read.commands[0].command.tried);
    let told = faults(list);
    let wanted = [
        "Line 3: Address 159 is out of range for nec",
        "Line 4: There is no code family \"xyz\". Choose one of nec, ",
        "Line 5: address is \"5F\", no decimal number. If it is hex, write 0x5F.",
        "Line 6: The row has 3 fields, and the line of names 6. It may have been cut off.",
        "Line 7: \"mute\" stands in line 2 already. Give one of them another name, or take one out.",
        "Line 8: The name needs at least one letter or digit.",
        "Line 9: command is \"99999999999\", beyond 4294967295. Check its digits.",
        "Line 10: command is \"five\". Write a whole number, decimal like 89 or hex like 0x59.",
        "Line 11: There is no address. Write a whole number, decimal like 89 or hex like 0x59.",
        "Line 12: tried is \"maybe\". Write yes or no.",
        "Line 13: origin is \"found\". Write typed or captured or swept.",
        "Line 14: The row has 7 fields, and the line of names 6. A name with a comma needs quotes.",
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (told, wanted) in told.iter().zip(wanted) {
        assert!(told.starts_with(wanted), "{told}");
    }
    assert_eq!(
        faults("name,family,address,command,tried\nMute,nec,1,2,"),
        [
            "Line 2: The list ends behind this row's last comma: it may have been cut off. If it is whole, end the row \
          with a new line."
        ]
    );
    let long = format!("name,family,address,command\n{},nec,1,2\n", "x".repeat(41));
    assert_eq!(
        faults(&long),
        [format!(
            "Line 2: The name \"{}\"… has 41 characters, and one has at most 40. Shorten it.",
            "x".repeat(40)
        )]
    );
}

#[test]
fn a_line_of_names_that_is_missing_misspelt_or_doubled_is_told() {
    assert_eq!(
        faults("Mute,nec,0x59,0x12\n"),
        ["Line 1: The line of names is \"Mute,nec,0x59,0x12\", without a column name. Begin with the line \
          name,family,address,command,origin,tried; the columns are parted by commas or semicolons."]
    );
    assert!(faults("name,famly,address,command\n")[0].contains("without a column family."));
    assert!(faults("name\tfamily\taddress\tcommand\n")[0].contains("without a column name."));
    assert!(faults("name,family\nMute,nec\n")[0].contains("without a column address."));
    assert_eq!(
        faults("name,family,name,address,command\n"),
        ["Line 1: The column name stands here twice. Take one of them out."]
    );
    let read = read_list(b"name,family,address,command,note\nMute,nec,1,2,loud\n");
    assert_eq!(names(&read), ["Mute"]);
    assert!(read.faults[0].what.starts_with(
        "The column \"note\" is none of a list, and what stands in it is left out. Columns are name, family, "
    ));
    for empty in ["", "\n \r\n", "\u{FEFF}"] {
        assert_eq!(
            faults(empty),
            ["Line 1: The list is empty. Choose one with a line of names and a row a command."],
            "{empty:?}"
        );
    }
}

#[test]
fn other_encodings_are_told_with_their_line() {
    let latin = read_list(b"name,family,address,command\nMute,nec,1,2\nLautst\xE4rke,nec,1,3\n");
    assert_eq!(names(&latin), ["Mute"]);
    assert_eq!(
        latin.faults[0].to_string(),
        "Line 3: Byte 0xE4 is no UTF-8 here. Save the list as UTF-8: spreadsheets call it CSV UTF-8."
    );
    let wide: Vec<u8> = "\u{FEFF}name".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(
        read_list(&wide).faults[0].to_string(),
        "Line 1: The list is written in UTF-16. Save it as UTF-8: spreadsheets call it CSV UTF-8."
    );
    let ron = read_list(b"(format: 1,\ncommands: [\xFF])");
    assert_eq!(ron.faults[0].to_string(), "Line 2: Byte 0xFF is no UTF-8 here. Save the list as UTF-8.");
}

#[test]
fn a_quote_in_the_wrong_place_swallows_nothing_unsaid() {
    let never = "name,family,address,command\nMute,nec,1,2\n\"Loud,nec,1,3\nSoft,nec,1,4\nOff,nec,1,5\n";
    assert_eq!(names(&read_list(never.as_bytes())), ["Mute", "Soft", "Off"]);
    assert_eq!(
        faults(never),
        ["Line 3: A quote opens here and never closes. Close it, or write two for one in a name."]
    );
    let late = "name,family,address,command\n\"Loud,nec,1,3\nSoft,nec,1,4\n\"Off\",nec,1,5\nOn,nec,1,6\n";
    assert_eq!(names(&read_list(late.as_bytes())), ["Soft", "Off", "On"]);
    assert_eq!(
        faults(late),
        ["Line 2: A quote opens here, and more follows where it closes. Write two quotes for one in a name."]
    );
    let wide = "name,family,address,command\n\"Loud,nec,1,3\nSoft\",nec,1,x\nOn,nec,1,6\n";
    assert_eq!(names(&read_list(wide.as_bytes())), ["On"]);
    assert!(faults(wide)[0].ends_with("The row goes on to line 3: check its quotes."), "{:?}", faults(wide));
    // Only quotes: as many beginnings as lines, and an end all the same.
    let hostile = format!("name,family,address,command\n{}", "\"\"\"\n".repeat(100_001));
    assert!(!faults(&hostile).is_empty());
}

#[test]
fn raw_and_free_codes_say_what_they_lack_and_what_they_can_not_have() {
    let raw = |pulses: &str, repeat: &str| {
        faults(&format!("name,family,pulses_us,repeat_ms\nOdd,raw,\"{pulses}\",{repeat}\n"))
    };
    assert_eq!(raw("9000 4500 562.5", "108"), Vec::<String>::new());
    assert!(raw("9000 4500", "")[0].contains("The code ends with a space, timing 2."));
    assert!(raw("9000,4500,562,5", "")[0].contains("Part timings by blanks"));
    assert!(raw("9000 4500 562.5", "10")[0].contains("repeats every 10000 µs but lasts 14062.5 µs"));
    assert!(raw("9000 4500 562.5", "9999999")[0].contains("it must be 1 to 10000000 microseconds"));
    assert!(raw("", "")[0].starts_with("Line 2: There is no pulses_us."));
    let stray = faults("name,family,address,command,pulses_us\nOdd,raw,1,,500\nEven,nec,1,2,500\n");
    assert!(stray[0].contains("address is \"1\", and a code of the family \"raw\" has none."), "{stray:?}");
    assert!(stray[1].contains("pulses_us is \"500\", and a code of the family \"nec\" has none."));
    let lacking = faults("name,family,address,command,zero_us\nOdd,free,1,2,500 500\nOdder,free,1,2,500\n");
    assert!(lacking[0].starts_with("Line 2: There is no one_us."), "{lacking:?}");
    assert!(lacking[1].contains("zero_us is \"500\". Write a mark and a space in microseconds"));
}

#[test]
fn a_ron_list_keeps_the_good_commands_and_tells_of_the_others() {
    let list = "// by hand\n(\n  format: 1,\n  stereo: \"Tarn R40\",\n  commands: [\n    \
                (name: \"Mute\", code: Family(family: \"nec\", address: 0x59, command: 12)),\n    \
                (name: \"Loud\", code: Family(family: \"nec\", address: 0x159, command: 12)),\n    \
                (name: \"Soft\"),\n    \
                (name: \"Off\", tired: true,\n     code: Family(family: \"nec\", address: 1, command: 1)),\n    \
                (name: \"Odd\",\n     code: Family(family: \"nec\", address: 1, command: 1, toggle: true)),\n    \
                (name: \"Slow\", code: Free(free: (carrier_khz: 38), address: 1, command: 1)),\n    \
                (name: \"Wrong\", code: 5),\n    \
                (name: \"Raw\", code: Raw(pulses_us: [500], repeat_us: 9000)),\n  ],\n)\n";
    let read = read_list(list.as_bytes());
    assert_eq!(names(&read), ["Mute", "Raw"]);
    assert_eq!(read.stereo.as_deref(), Some("Tarn R40"));
    let told = faults(list);
    let wanted = [
        "Line 7: Address 159 is out of range for nec",
        "Line 8: The field `code` is missing",
        "Line 9: \"tired\" is no field of a command. Correct its spelling, or take it out.",
        "Line 12: \"toggle\" is no field of a command.",
        "Line 13: The free family doesn't say its leader_us. Add it.",
        "Line 14: ",
    ];
    assert_eq!(told.len(), wanted.len(), "{told:#?}");
    for (told, wanted) in told.iter().zip(wanted) {
        assert!(told.starts_with(wanted), "{told}");
    }
}

#[test]
fn a_ron_list_that_is_none_says_why() {
    let cut = "(format: 1, stereo: \"x\", commands: [\n(name: \"Mute\", code: Family(family: \"nec\", ";
    assert_eq!(faults(cut), ["Line 2: The list ends in the middle: it was cut off. Export it again."]);
    assert_eq!(
        faults("(format: 1, commands: [\n(name: \"Mu"),
        ["Line 2: A text begins here and never ends. Close its quotes. Nothing of the list was taken."]
    );
    assert!(faults("(format: 2, commands: [])")[0].contains("has format 2, and this program reads up to 1."));
    assert!(faults("(commands: [])")[0].contains("Write format: 1."));
    assert!(faults("(format: 1)")[0].contains("There are no commands."));
    assert!(
        faults("(format: 1, comands: [], commands: [])")[0].contains("\"comands\" is no field of a list")
    );
    let project = super::super::write(&super::super::samples::van());
    assert_eq!(
        faults(&project),
        [
            "Line 1: This is a whole project and no list of commands. Open it, and export its commands as a list."
        ]
    );
    assert!(!faults(&"(".repeat(100_000)).is_empty());
}

#[test]
fn more_than_a_project_keeps_is_left_out_and_counted() {
    let mut list = "name,family,address,command\n".to_owned();
    for row in 0..100_000 {
        list.push_str(&format!("C{row},nec,1,{}\n", row % 256));
    }
    let read = read_list(list.as_bytes());
    assert_eq!(read.commands.len(), MAX_COMMANDS);
    assert_eq!(
        faults(&list),
        ["Line 258: A project keeps 256 commands, and this one and 99743 more are beyond. Take out what no \
          button sends."]
    );
    let bad = format!("name,family,address,command\n{}", "x,nec,1,\n".repeat(5_000));
    let read = read_list(bad.as_bytes());
    assert_eq!((read.faults.len(), read.more_faults), (MAX_FAULTS, 4_000));
    assert!(faults(&"x".repeat(MAX_LIST_BYTES + 1))[0].contains("has 4194305 bytes"));
}

#[test]
fn what_is_there_already_is_told_apart_from_what_differs() {
    let list = "name,family,address,command\nMute,nec,1,2\nLoud,nec,1,3\nsoft,nec,1,4\n";
    let there = [named("mute ", nec(1, 2)), named("Loud", nec(1, 9))];
    let merge = read_list(list.as_bytes()).merge(&there);
    assert_eq!(merge.same, ["Mute"]);
    assert_eq!(merge.fresh, [named("soft", nec(1, 4))]);
    assert_eq!(
        merge.faults,
        [LineFault {
            line: 3,
            what: "\"Loud\" is there already with another code: nec address 01 command 09 there, nec address 01 \
                   command 03 in the list. Remove the one there first, or give this one another name."
                .to_owned()
        }]
    );
    let full: Vec<Command> = (0..MAX_COMMANDS).map(|at| named(&format!("x{at}"), nec(1, 2))).collect();
    let merge = read_list(list.as_bytes()).merge(&full);
    assert_eq!((merge.fresh.len(), merge.fault_count()), (0, 1));
    assert!(merge.faults[0].what.contains("this one and 2 more are beyond"), "{:?}", merge.faults);
}

/// A name as a list can hold it: signs that CSV and RON are written with, often.
fn name() -> impl Strategy<Value = String> {
    let signs = vec!['"', ',', ';', '\n', '\r', '\'', '\\', '#', '=', ' ', '\t', '\0', 'é', '音', '(', '/'];
    vec(prop_oneof![prop::sample::select(signs), any::<char>()], 0..30).prop_map(|letters| {
        let text: String = letters.into_iter().collect();
        format!("a{}b", text.trim())
    })
}

fn us(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![low..high, (low..high).prop_map(f64::round), Just(low)]
}

fn code() -> impl Strategy<Value = Code> {
    let family = (0..families().len(), any::<u32>(), any::<u32>()).prop_map(|(at, address, command)| {
        let family = &families()[at];
        let (address, command) = (address & family.address_max(), command & family.command_max());
        Code::Family { family: family.family_id(), address, command }
    });
    let raw =
        (vec(us(1.0, 5_000.0), 1..100), option::of(us(1e6, 1e7))).prop_map(|(mut pulses_us, repeat_us)| {
            if pulses_us.len().is_multiple_of(2) {
                pulses_us.pop();
            }
            Code::Raw { pulses_us, repeat_us }
        });
    let pair = || (us(50.0, 3_000.0), us(50.0, 3_000.0));
    let repeats =
        vec![FreeRepeat::WholeFrame, FreeRepeat::Once, FreeRepeat::ShortFrame, FreeRepeat::WithoutLeader];
    let free = (
        (option::of((us(50.0, 32_000.0), us(100.0, 32_000.0))), pair(), pair(), any::<[bool; 4]>()),
        (0_u8..=16, 1_u8..=32, prop::sample::select(repeats), us(9e5, 1e6), 20_u8..=100),
        (any::<u32>(), any::<u32>()),
    );
    let free = free.prop_map(|((leader_us, zero_us, one_us, flags), counts, numbers)| {
        let (address_bits, command_bits, repeat, period_us, carrier_khz) = counts;
        let leans = matches!(repeat, FreeRepeat::ShortFrame | FreeRepeat::WithoutLeader);
        let free = FreeFamily {
            leader_us: leader_us.or(leans.then_some((9_000.0, 4_500.0))),
            zero_us,
            one_us: if one_us == zero_us { (one_us.0 + 100.0, one_us.1) } else { one_us },
            stop_mark: flags[0],
            high_first: flags[1],
            address_bits,
            address_inverse: flags[2],
            command_bits,
            command_inverse: flags[3],
            repeat,
            period_us,
            carrier_khz,
        };
        let (address, command) = (numbers.0 & free.address_max(), numbers.1 & free.command_max());
        Code::Free { free, address, command }
    });
    prop_oneof![family, raw, free]
}

fn heard() -> impl Strategy<Value = Vec<HeardPress>> {
    vec(vec(us(1.0, 1e6), 0..20).prop_map(|timings_us| HeardPress { timings_us }), 0..=3)
}

fn commands() -> impl Strategy<Value = Vec<Command>> {
    let origins = vec![Origin::Typed, Origin::Captured, Origin::Swept];
    let command = (name(), code(), prop::sample::select(origins), any::<bool>(), heard());
    vec(command, 0..8).prop_map(|commands| {
        let named = commands.into_iter().enumerate().map(|(at, (name, code, origin, tried, heard))| {
            // Each name once.
            Command { id: CommandId::default(), name: format!("{at}{name}"), code, origin, tried, heard }
        });
        named.collect()
    })
}

proptest! {
    #[test]
    fn what_is_written_is_read_back_to_the_last_bit(commands in commands(), stereo in name()) {
        let mut stereo = Stereo { name: stereo, commands, ..Stereo::default() };
        let ron = read_list(write_list(&stereo, ListFormat::Ron).as_bytes());
        prop_assert_eq!(&ron.faults, &[]);
        prop_assert_eq!(ron.stereo.as_ref(), Some(&stereo.name));
        let back: Vec<Command> = ron.commands.into_iter().map(|listed| listed.command).collect();
        prop_assert_eq!(&back, &stereo.commands);
        let written = write_list(&stereo, ListFormat::Csv);
        for command in &mut stereo.commands {
            command.heard.clear();
        }
        let csv = read_list(written.as_bytes());
        prop_assert_eq!(&csv.faults, &[], "{}", written);
        let back: Vec<Command> = csv.commands.into_iter().map(|listed| listed.command).collect();
        prop_assert_eq!(&back, &stereo.commands);
    }

    #[test]
    fn any_bytes_at_all_are_read_without_harm(bytes in vec(any::<u8>(), 0..300), at in 0_usize..4) {
        let begin = ["", "(", "name,family,address,command\n", "(format: 1, commands: [("][at];
        let bytes = [begin.as_bytes(), &bytes].concat();
        let read = read_list(&bytes);
        prop_assert!(read.faults.is_sorted_by_key(|fault| fault.line));
        prop_assert!(bytes.is_empty() || !read.commands.is_empty() || !read.faults.is_empty() || at == 2);
    }

    #[test]
    fn a_list_of_ours_cut_anywhere_gives_no_command_that_was_not_in_it(
        commands in commands(), share in 0.0..1.0_f64,
    ) {
        for format in [ListFormat::Csv, ListFormat::Ron] {
            let mut stereo = Stereo { commands: commands.clone(), ..Stereo::default() };
            let written = write_list(&stereo, format);
            if format == ListFormat::Csv {
                stereo.commands.iter_mut().for_each(|command| command.heard.clear());
            }
            let cut = (written.len() as f64 * share) as usize;
            let read = read_list(&written.as_bytes()[..cut]);
            let back: Vec<Command> = read.commands.into_iter().map(|listed| listed.command).collect();
            prop_assert!(stereo.commands.starts_with(&back), "{}", &written[..written.floor_char_boundary(cut)]);
        }
    }
}
