//! Numbers in either bit order, and how they are typed.

use super::*;
use crate::remote::{Code, describe, encode, families};

fn coded(family: &str, address: u32, command: u32) -> Code {
    let family = crate::remote::family(family).unwrap().family_id();
    Code::Family { family, address, command }
}

fn nec(address: u32, command: u32) -> Code {
    coded("nec", address, command)
}

fn number(text: &str) -> CodeNumber {
    parse_number(text).unwrap()
}

fn in_words(code: Option<&Code>) -> String {
    code.map_or_else(|| "no code".to_owned(), describe)
}

#[test]
fn a_number_whose_inverses_match_both_ways_is_not_guessed() {
    let reading = read_number(0x9A65_6897, []);
    assert_eq!(reading.first_bit_first.code, Some(nec(0x59, 0x16)));
    assert_eq!(reading.last_bit_first.code, Some(nec(0x97, 0x65)));
    assert_eq!(reading.likely, Likely::NoCheckCanTell);
    assert_eq!(reading.likely_reading(), None);
    assert_eq!(
        reading.to_string(),
        "First bit first nec address 59 command 16, last bit first nec address 97 command 65, \
         as bytes in the order sent nec address 9A command 68. \
         Choose one: the inverses match every way, so no check can tell. \
         A capture decides, or an address already in use. \
         The page the number came from may say how it is written."
    );
}

#[test]
fn an_address_in_use_tells_the_orders_apart() {
    let known = [nec(0x59, 0x01)];
    let reading = read_number(0x9A65_6897, &known);
    assert_eq!(reading.likely, Likely::AddressInUse(NumberOrder::FirstBitFirst));
    assert_eq!(reading.likely_reading().and_then(|likely| likely.code.clone()), Some(nec(0x59, 0x16)));
    assert_eq!(
        reading.reason(),
        (
            "First bit first is proposed: its address is in use already.".to_owned(),
            "The inverses match every way, so no check can tell. Choose another if you know better."
                .to_owned()
        )
    );
    // Both in use, or an address of another family: no help.
    let both = [nec(0x59, 0x01), nec(0x97, 0x01), coded("pd16", 0x97, 1)];
    assert_eq!(read_number(0x9A65_6897, &both).likely, Likely::NoCheckCanTell);
    assert_eq!(read_number(0x9A65_6897, &both[2..]).likely, Likely::NoCheckCanTell);
    // The same frame named nec16, with the inverse as the address's high byte.
    let wide = [coded("nec16", 0x6897, 1)];
    assert_eq!(read_number(0x9A65_6897, &wide).likely, Likely::AddressInUse(NumberOrder::LastBitFirst));
}

#[test]
fn a_16_bit_address_has_one_order_only() {
    let reading = read_number(0xA956_1234, []);
    assert_eq!(reading.likely, Likely::Inverse(NumberOrder::LastBitFirst));
    assert_eq!(reading.last_bit_first.code, Some(coded("nec16", 0x1234, 0x56)));
    assert!(!reading.last_bit_first.address_inverse && reading.last_bit_first.command_inverse);
    assert_eq!(
        reading.to_string(),
        "First bit first no code, last bit first nec16 address 1234 command 56. Last bit first is proposed. \
         Of the two bit orders only in this one does the command match its inverse."
    );
    assert_eq!(read_number(0x2C48_6A95, []).likely, Likely::Inverse(NumberOrder::FirstBitFirst));
    // Where one order is a code, the other is never offered unchecked.
    assert_eq!(reading.code(NumberOrder::FirstBitFirst), None);
}

#[test]
fn a_number_that_is_its_own_mirror_needs_no_order() {
    // Bytes 4D B2 4D B2 as sent: the mirror of B2 is 4D.
    let number: u32 = 0x4DB2_4DB2;
    assert_eq!(number.reverse_bits(), number);
    let reading = read_number(number, []);
    assert_eq!(reading.likely, Likely::Same);
    assert_eq!(reading.to_string(), "nec address B2 command B2 in either bit order.");
}

#[test]
fn a_frame_that_two_families_name_is_given_as_both() {
    let reading = read_number(0x20DF_10EF, []).first_bit_first;
    assert_eq!(in_words(reading.code.as_ref()), "nec address 04 command 08");
    assert_eq!(reading.also, [coded("nec16", 0xFB04, 0x08)]);
    let pulses = |code: &Code| encode(code, false).unwrap().pulses_us;
    assert_eq!(pulses(&reading.also[0]), pulses(&nec(0x04, 0x08)));
}

#[test]
fn a_number_without_inverses_is_no_code_of_the_table_and_can_be_sent_unchecked() {
    let reading = read_number(0x1234_5678, []);
    assert_eq!(reading.likely, Likely::Neither);
    assert_eq!(reading.first_bit_first.code, None);
    assert_eq!(
        reading.to_string(),
        "In neither order does the command match its inverse. Check the digits first. If they are right, \
         choose an order: the 32 bits are sent as they are, with the timing of nec."
    );
    for (order, as_sent) in
        [(NumberOrder::FirstBitFirst, 0x1234_5678), (NumberOrder::LastBitFirst, 0x1E6A_2C48_u32)]
    {
        let code = reading.code(order).unwrap();
        let frame = encode(&code, false).unwrap();
        let sent = frame.bits.iter().fold(0_u32, |sent, bit| sent << 1 | u32::from(bit.value));
        assert_eq!(sent, as_sent);
        let row = crate::remote::family("nec").unwrap();
        let of_nec = encode(&nec(0, 0), false).unwrap();
        assert_eq!(frame.pulses_us[..2], of_nec.pulses_us[..2]);
        assert_eq!(
            (frame.repeat.pulses_us, frame.repeat.period_us),
            (of_nec.repeat.pulses_us, Some(row.repeat_period_us))
        );
    }
}

#[test]
fn the_published_mirror_pair_is_one_code_in_two_orders() {
    // Published pair: CB340102 in one bit order is 40802CD3 in the other. It turns bits, not bytes.
    let (one, other) = (read_number(0xCB34_0102, []), read_number(0x4080_2CD3, []));
    assert_eq!(one.number.turned(), other.number);
    // Bytes 02 01 34 CB as sent: only the command's inverse matches, and only this way round.
    assert_eq!(in_words(one.last_bit_first.code.as_ref()), "nec16 address 0102 command 34");
    assert_eq!(one.last_bit_first.code, other.first_bit_first.code);
    assert_eq!(one.likely, Likely::Inverse(NumberOrder::LastBitFirst));
    assert_eq!(other.likely, Likely::Inverse(NumberOrder::FirstBitFirst));
    assert_eq!((one.first_bit_first.code.as_ref(), other.last_bit_first.code.as_ref()), (None, None));
}

#[test]
fn a_decimal_number_of_eight_digits_is_noticed_where_only_it_has_inverses() {
    // 00FF02FD, nec address 00 command 40, is 16712445 in decimal.
    let reading = read_number(number("16712445"), []);
    assert_eq!(reading.likely, Likely::Neither);
    assert_eq!(reading.decimal().map(|number| number.to_string()).as_deref(), Some("00FF02FD"));
    assert!(reading.reason().1.contains("type that"), "{}", reading.reason().1);
    assert_eq!(read_number(0x1234_5678, []).decimal(), None);
    assert_eq!(read_number(0x20DF_10EF, []).decimal(), None);
}

#[test]
fn pd16_has_nothing_to_check_so_only_an_address_in_use_tells() {
    // Worked out by hand: address A5, command 3C goes out as 10100101 00111100; the mirror is 3CA5.
    let reading = read_number(number("A53C"), []);
    assert_eq!(in_words(reading.first_bit_first.code.as_ref()), "pd16 address A5 command 3C");
    assert_eq!(in_words(reading.last_bit_first.code.as_ref()), "pd16 address 3C command A5");
    assert_eq!(reading.likely, Likely::NoCheckCanTell);
    assert_eq!(reading.checks(), NumberChecks::Nothing);
    assert!(reading.reason().0.contains("pd16 has nothing to check, so no check can tell"));
    let known = [coded("pd16", 0x3C, 0)];
    assert_eq!(read_number(number("3CA5"), &known).likely, Likely::AddressInUse(NumberOrder::FirstBitFirst));
    assert_eq!(read_number(number("A5A5"), []).likely, Likely::Same);
    assert_eq!(both_orders(&coded("pd16", 0xA5, 0x3C)).map(|both| both.last_bit_first), Some(number("3CA5")));
}

#[test]
fn aeha_is_proposed_by_its_parity_where_that_matches_one_way_only() {
    // Worked out by hand from the AEHA format notes: customer 1234h, parity 4, data B, 56, 78, 9A.
    let code = coded("aeha", 0x1234, 0x9A78_56B4);
    let both = both_orders(&code).unwrap();
    assert_eq!(both.first_bit_first.to_string(), "2C482D6A1E59");
    assert_eq!(both.last_bit_first.to_string(), "9A7856B41234");
    let reading = read_number(both.first_bit_first, []);
    assert_eq!(reading.first_bit_first.code.as_ref(), Some(&code));
    // Turned: bytes 59 1E 6A 2D 48 2C as sent; 5 ^ 9 ^ 1 ^ E is 3, and A is there.
    assert_eq!(in_words(reading.last_bit_first.code.as_ref()), "aeha address 1E59 command 2C482D6A");
    assert_eq!(reading.checks(), NumberChecks::Parity { matching: 1, of: 3 });
    assert_eq!(reading.likely, Likely::Parity(NumberOrder::FirstBitFirst));
    assert_eq!(read_number(both.last_bit_first, []).likely, Likely::Parity(NumberOrder::LastBitFirst));
    // An address in use is the better witness.
    let known = [coded("aeha", 0x1E59, 0)];
    let other = read_number(both.first_bit_first, &known);
    assert_eq!(other.likely, Likely::AddressInUse(NumberOrder::LastBitFirst));
    assert!(other.reason().1.contains("may match by chance"));
    let field = reading.first_bit_first.fields[0];
    assert_eq!((field.text().as_str(), field.check_text().as_deref()), ("1234", Some("4")));
    // Matching both ways: bytes 00 00 50 03 00 00 as sent, and turned 00 00 C0 0A 00 00.
    let twice = read_number(number("000003500000"), []);
    assert_eq!(twice.checks(), NumberChecks::Parity { matching: 2, of: 3 });
    assert_eq!(twice.likely, Likely::NoCheckCanTell);
    assert!(twice.reason().0.contains("the parity matches in 2 of 3 ways, so no check can tell"));
}

#[test]
fn a_list_of_bytes_in_the_order_sent_is_read_as_that() {
    // The bytes of the AEHA example as format notes print them: 34 12 B4 56 78 9A.
    let reading = read_number(number("34 12 B4 56 78 9A"), []);
    let bytes = reading.bytes_as_sent.as_ref().unwrap();
    assert_eq!(in_words(bytes.code.as_ref()), "aeha address 1234 command 9A7856B4");
    assert_eq!(reading.likely, Likely::Parity(NumberOrder::BytesAsSent));
    assert_eq!(reading.code(NumberOrder::BytesAsSent), Some(coded("aeha", 0x1234, 0x9A78_56B4)));
    // Inverses match in a list as well as with the first bit first; an address in use tells.
    let known = [nec(0x59, 0x01)];
    let list = read_number(number("59 A6 16 E9"), &known);
    assert_eq!(list.likely, Likely::AddressInUse(NumberOrder::BytesAsSent));
    assert_eq!(list.code(NumberOrder::BytesAsSent), Some(nec(0x59, 0x16)));
    assert_eq!(read_number(number("59 A6 16 E9"), []).likely, Likely::NoCheckCanTell);
    let wide = read_number(number("34 12 56 A9"), []);
    assert_eq!(wide.likely, Likely::Inverse(NumberOrder::FirstBitFirst));
    assert!(wide.reason().1.ends_with("If it is a list of bytes in the order they are sent, choose that."));
    assert_eq!(wide.code(NumberOrder::BytesAsSent), Some(coded("nec16", 0x1234, 0x56)));
    // Where each byte is its own mirror a list says nothing else.
    assert_eq!(read_number(number("A53C"), []).bytes_as_sent, None);
    assert_eq!(read_number(0x1234_5678, []).bytes_as_sent, None);
    for code in [coded("aeha", 0x1234, 0x9A78_56B4), nec(0x04, 0x08), coded("pd16", 0x12, 0x34)] {
        let list = both_orders(&code).unwrap().last_bit_first.bytes_turned();
        let reading = read_number(list, []);
        let found = reading.bytes_as_sent.as_ref().and_then(|bytes| bytes.code.as_ref());
        assert_eq!(found, Some(&code));
    }
}

#[test]
fn every_code_is_found_again_in_its_own_number() {
    for address in 0..=0xFF {
        for command in 0..=0xFF {
            for code in [nec(address, command), coded("pd16", address, command)] {
                let BothOrders { first_bit_first, last_bit_first } = both_orders(&code).unwrap();
                assert_eq!(read_number(first_bit_first, []).first_bit_first.code.as_ref(), Some(&code));
                assert_eq!(read_number(last_bit_first, []).last_bit_first.code.as_ref(), Some(&code));
                assert_eq!(first_bit_first.turned(), last_bit_first);
            }
            // What was typed in one order is what the other order gives back turned end for end.
            let BothOrders { first_bit_first, last_bit_first } = both_orders(&nec(address, command)).unwrap();
            assert_eq!((first_bit_first.value() as u32).reverse_bits(), last_bit_first.value() as u32);
            assert!(read_number(last_bit_first, []).first_bit_first.command_inverse);
        }
    }
}

#[test]
fn a_frame_of_another_length_has_no_number() {
    for family in families() {
        let has = both_orders(&coded(family.id, 1, 1)).is_some();
        assert_eq!(has, ["nec", "nec16", "aeha", "pd16"].contains(&family.id), "{}", family.id);
    }
    assert_eq!(both_orders(&nec(0x100, 1)), None);
    assert_eq!(NumberWidth::ALL.map(NumberWidth::families_text), ["pd16", "nec or nec16", "aeha"]);
}

#[test]
fn numbers_read_however_they_are_spaced_and_marked() {
    for text in [
        "0x20DF10EF",
        "20DF10EF",
        "20 DF 10 EF",
        " 20df 10ef ",
        "20DF10EFh",
        "0X20DF10EF",
        "20:DF:10:EF",
        "20-DF-10-EF",
        "{ 0x20, 0xDF, 0x10, 0xEF }",
        "20h DFh 10h EFh",
        "0x20DF10EFUL",
        "20DF_10EF",
    ] {
        assert_eq!(parse_number(text), Ok(CodeNumber::from(0x20DF_10EF)), "{text}");
    }
    assert_eq!(parse_number("0xFFB54A"), Ok(CodeNumber::from(0x00FF_B54A)));
    assert_eq!(number("0x0, 0xFF, 0x4, 0xFB"), CodeNumber::from(0x00FF_04FB));
    assert_eq!((number("a5 3c").width(), number("a5 3c").value()), (NumberWidth::Sixteen, 0xA53C));
    assert_eq!((number("0xF").width(), number("0xF").value()), (NumberWidth::Sixteen, 0xF));
    let long = number("2c 48 2d 6a 1e 59");
    assert_eq!((long.width(), long.value()), (NumberWidth::FortyEight, 0x2C48_2D6A_1E59));
    assert_eq!(long.spaced(), "2C 48 2D 6A 1E 59");
    assert_eq!(number("0xC482D6A1E59").to_string(), "0C482D6A1E59");
}

#[test]
fn a_number_that_cannot_be_read_says_what_to_type() {
    let said = |text: &str| parse_number(text).unwrap_err().to_string();
    assert_eq!(said(""), "There is no number. Type it in hex, like 20DF10EF.");
    assert_eq!(said("0x"), "There is no number. Type it in hex, like 20DF10EF.");
    assert_eq!(
        said("20DF1OEF"),
        "\"20DF1OEF\" is not a hex number: 'O' is no digit of 0 to 9 or A to F. Is it a zero? Type it like 20DF10EF."
    );
    assert!(said("2ODFl0EF").contains("'O'") && said("20DFl0EF").contains("Is it a one?"));
    assert!(said("-20DF10EF").contains("'-' is no digit"));
    // 20DF10EF is 551489775 in decimal.
    assert_eq!(
        said("551489775"),
        "\"551489775\" has 9 hex digits, and a whole frame has 4, 8 or 12. \
         If it is decimal, type 20DF10EF, which is the same in hex; else count the digits again."
    );
    assert_eq!(
        said("FFB54A"),
        "\"FFB54A\" has 6 hex digits, and a whole frame has 4, 8 or 12. \
         Type all 8, or put 0x in front if zeros were left out."
    );
    assert_eq!(
        said("C482D6A1E59"),
        "\"C482D6A1E59\" has 11 hex digits, and a whole frame has 4, 8 or 12. \
         Type all 12, or put 0x in front if zeros were left out."
    );
    assert_eq!(
        said("A90"),
        "\"A90\" has 3 hex digits, and a whole frame has 4, 8 or 12. Type all 4, or put 0x in front if zeros \
         were left out. Shorter frames, as of sirc12 or rc5, are typed as address and command."
    );
    assert_eq!(
        said("2C482D6A1E590"),
        "\"2C482D6A1E590\" has 13 hex digits, and a whole frame has 4, 8 or 12. \
         Keep one frame; a longer one is typed as timings."
    );
    assert!(parse_number(&"F".repeat(1_000_000)).unwrap_err().to_string().len() < 200);
    assert!(parse_number(&"9".repeat(1_000)).is_err());
}

#[test]
fn a_field_is_hex_with_or_without_a_sign_of_it() {
    for (text, value) in
        [("59", 0x59), ("0x59", 0x59), ("59h", 0x59), ("16", 0x16), (" a ", 0xA), ("FFFFFFFF", u32::MAX)]
    {
        assert_eq!(parse_u32_field(text), Ok(value), "{text}");
    }
    let said = |text: &str| parse_u32_field(text).unwrap_err().to_string();
    assert_eq!(said(" "), "There is no number. Type it in hex, like 59.");
    assert_eq!(
        said("-5"),
        "\"-5\" is not a hex number: '-' is no digit of 0 to 9 or A to F. Type it like 59."
    );
    assert!(matches!(parse_u32_field("123456789"), Err(NumberError::TooLong { digits: 9, .. })));
}
