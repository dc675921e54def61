//! The form of a command being typed, driven by its accessible labels.

use egui::Key;

use crate::app::{Action, Edit, Station};
use crate::project::{Command, CommandId};
use crate::remote::{Code, FamilyId, FreeFamily, FreeRepeat, Origin};
use crate::view::stations::driven::Driven;

fn coded(family: &str, address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId(family.to_owned()), address, command }
}

/// The demo's Codes station with a new command called Seek, typed in this way.
fn typing(way: &str) -> Driven {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.type_text("Seek");
    window.click(way);
    window
}

/// Empties the field that has the keyboard, and types into it.
fn retype(window: &mut Driven, label: &str, text: &str) {
    window.click(label);
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.key(Key::Delete);
    window.type_text(text);
}

fn kept(window: &Driven) -> &Command {
    window.project().stereo.commands.last().unwrap()
}

#[test]
fn a_number_of_48_bits_is_proposed_by_its_parity_and_kept_with_enter() {
    let mut window = typing("Number");
    window.type_text("2c 48 2d 6a 1e 59");
    assert!(
        window.says("48 bits")
            || window.is_there("First bit first, aeha address 1234 command 9A7856B4, likely")
    );
    assert!(window.is_there("Last bit first, aeha address 1E59 command 2C482D6A"));
    assert!(window.says("First bit first is proposed: only then does the parity match."));
    window.key(Key::Enter);
    assert_eq!(kept(&window).code, coded("aeha", 0x1234, 0x9A78_56B4));
}

#[test]
fn a_list_of_bytes_is_offered_as_a_third_reading() {
    let mut window = typing("Number");
    // The demo's commands are of nec, address 59.
    window.type_text("59 A6 4A B5");
    assert!(window.is_there("Bytes as sent, nec address 59 command 4A, likely"));
    assert!(window.says("Waveform of nec address 59 command 4A"));
    window.click("First bit first, nec address 9A command 52");
    window.click("Bytes as sent, nec address 59 command 4A, likely");
    window.key(Key::Enter);
    assert_eq!(kept(&window).code, coded("nec", 0x59, 0x4A));
}

#[test]
fn a_number_of_16_bits_has_no_check_and_is_asked_about() {
    let mut window = typing("Number");
    window.type_text("A53C");
    assert!(window.says("pd16 has nothing to check, so no check can tell"));
    assert!(window.says("The waveform shows here when one is chosen"));
    window.key(Key::Enter);
    assert!(window.model().codes.draft.is_some(), "an order has to be chosen first");
    assert!(window.says("In either order it is a code"));
    window.click("Last bit first, pd16 address 3C command A5");
    assert!(window.says("Waveform of pd16 address 3C command A5"));
    window.key(Key::Enter);
    assert_eq!(kept(&window).code, coded("pd16", 0x3C, 0xA5));
}

#[test]
fn a_number_without_inverses_can_be_kept_knowingly() {
    let mut window = typing("Number");
    window.type_text("12345678");
    assert!(window.says("In neither order does the command match its inverse"));
    window.click("First bit first, free family address 2C48 command 1E6A");
    window.key(Key::Enter);
    let Code::Free { free, address, command } = &kept(&window).code else { panic!() };
    assert_eq!((*address, *command, free.repeat), (0x2C48, 0x1E6A, FreeRepeat::ShortFrame));
}

#[test]
fn a_number_of_the_wrong_length_says_what_to_type() {
    let mut window = typing("Number");
    window.type_text("551489775");
    assert!(window.says("If it is decimal, type 20DF10EF"));
    retype(&mut window, "Code number", "20DF10E");
    assert!(window.says("has 7 hex digits, and a whole frame has 4, 8 or 12. Type all 8"));
}

#[test]
fn a_free_family_is_typed_with_its_wave_and_the_next_one_starts_from_it() {
    let mut window = typing("Free family");
    // The usual timing stands there, and its wave.
    assert!(window.has_focus("Leader mark"));
    assert!(window.says("Waveform of free family address 0059 command 00"));
    retype(&mut window, "Address bits", "8");
    retype(&mut window, "Mark of a 0", "600");
    retype(&mut window, "Mark of a 1", "1200,5");
    window.click("Highest first");
    window.click("Inverse of address");
    window.click("A mark closes the last bit");
    retype(&mut window, "Carrier", "40");
    retype(&mut window, "Address", "a5");
    window.type_into("Command", "3c");
    assert!(window.says("Waveform of free family address A5 command 3C"));
    window.key(Key::Enter);
    let wanted = FreeFamily {
        zero_us: (600.0, 562.5),
        one_us: (1_200.5, 1_687.5),
        stop_mark: false,
        high_first: true,
        address_bits: 8,
        address_inverse: true,
        carrier_khz: 40,
        ..FreeFamily::default()
    };
    assert_eq!(kept(&window).code, Code::Free { free: wanted, address: 0xA5, command: 0x3C });
    window.key(Key::N);
    window.type_text("Seek back");
    window.type_into("Command", "3d");
    window.key(Key::Enter);
    assert_eq!(kept(&window).code, Code::Free { free: wanted, address: 0xA5, command: 0x3D });
}

#[test]
fn what_is_wrong_with_a_free_family_is_told_at_its_field() {
    let mut window = typing("Free family");
    retype(&mut window, "Space of a 0", "20");
    assert!(window.says("The space of a 0 is 20 µs; 50 to 32000 µs can be sent."));
    assert!(!window.says("Waveform of"));
    retype(&mut window, "Space of a 0", "562.5");
    retype(&mut window, "Sent every", "70");
    assert!(window.says("A frame lasts up to 86062.5 µs and is sent every 70000 µs"));
    assert!(window.says("Waveform of free family"), "what follows the frame is no reason to hide it");
    window.click("Leader");
    window.click("While held");
    window.click("Without the leader");
    assert!(window.says("needs a leader. Give one, or repeat the whole frame."));
    window.type_into("Command", "1FZ");
    retype(&mut window, "Address", "");
    assert!(!window.says("The address: There is no number."));
    window.click("Keep command");
    assert!(window.model().codes.draft.is_some());
    assert!(window.says("The address: There is no number."));
    assert!(window.says("'Z' is no digit"));
}

#[test]
fn a_free_code_is_changed_and_undone() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    let before =
        Code::Free { free: FreeFamily { address_bits: 0, ..FreeFamily::default() }, address: 0, command: 2 };
    let like = window.project().stereo.commands[0].clone();
    let id = CommandId("odd".to_owned());
    let command = Command {
        id: id.clone(),
        name: "Odd".to_owned(),
        code: before.clone(),
        origin: Origin::Typed,
        ..like
    };
    window.act(Action::Edit(Edit::AddCommand(Box::new(command))));
    window.act(Action::Codes(crate::app::CodesAction::Choose(id)));
    window.key(Key::E);
    window.click("While held");
    window.click("Nothing: sent once");
    assert!(!window.is_there("Sent every"));
    window.click("Keep change");
    let Code::Free { free, .. } = kept(&window).code else { panic!() };
    assert_eq!((free.repeat, free.address_bits), (FreeRepeat::Once, 0));
    window.act(Action::Undo);
    assert_eq!(kept(&window).code, before);
}

#[test]
fn ranges_stand_beside_their_fields_with_an_example() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.click("Family");
    window.click("rc5, address to 1F, command to 7F");
    assert!(window.is_there("hex, 0 to 1F, such as 5"));
    assert!(window.is_there("hex, 0 to 7F, such as 59"));
}

#[test]
fn every_window_size_shows_the_free_family_s_form() {
    for (width, height) in [(1920.0, 1080.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = Driven::demo(Station::Codes, width, height);
        window.key(Key::N);
        let mut draft = window.model().codes.draft.clone().unwrap();
        draft.way = crate::app::codes::Way::Free;
        window.act(Action::Codes(crate::app::CodesAction::Draft(draft)));
        for label in ["Leader mark", "Space of a 1", "Command bits", "Sent every", "Carrier"] {
            assert!(window.is_there(label), "{label} at {width} by {height}");
        }
    }
}
