//! A seat check told as a conversation.

use super::*;

fn session(buttons: usize, presses: u32) -> SeatSession {
    let buttons = (0..buttons)
        .map(|number| SeatButton {
            id: ButtonId(format!("b{number}")),
            low_count: 100.0 * number as f64,
            high_count: 100.0 * number as f64 + 60.0,
        })
        .collect();
    SeatSession::new(buttons, presses, 7)
}

fn decided(kind: DecidedKind, button: Option<usize>, latency_ms: u16) -> Decided {
    let count = button.map(|button| 100.0 * button as f64 + 20.0);
    Decided { kind, button, count, latency_ms, sent: None }
}

/// A button is pressed, recognised as `as_button`, sent and let go.
fn tap(session: &mut SeatSession, as_button: usize) {
    session.decided(&decided(DecidedKind::Pressed, Some(as_button), 24));
    let sent = Some(CommandId(format!("c{as_button}")));
    let gesture = DecidedKind::Gesture(Gesture::Tap);
    session.decided(&Decided { sent, ..decided(gesture, Some(as_button), 25) });
    session.decided(&decided(DecidedKind::Released, Some(as_button), 180));
}

fn all_right(session: &mut SeatSession) {
    for _ in 0..500 {
        match session.prompt() {
            SeatPrompt::Press(button) => tap(session, button),
            SeatPrompt::StartEngine => session.command(SeatCommand::EngineRuns),
            SeatPrompt::Paused | SeatPrompt::Done => return,
        }
    }
}

#[test]
fn every_button_is_asked_for_in_four_rounds_and_the_engine_is_asked_for_between() {
    let mut session = session(7, 3);
    assert_eq!(session.planned(), 84);
    for press in 0..42 {
        let SeatPrompt::Press(button) = session.prompt() else { panic!("press {press}") };
        if press < 21 {
            assert_eq!(button, press % 7, "the first round goes in order");
        }
        tap(&mut session, button);
    }
    assert_eq!(session.prompt(), SeatPrompt::StartEngine);
    tap(&mut session, 0);
    assert_eq!(session.presses().len(), 42, "nothing counts while the engine is asked for");
    all_right(&mut session);
    assert_eq!(session.prompt(), SeatPrompt::Done);
    assert_eq!(session.presses().len(), 84);
    assert!(session.presses().iter().all(|press| press.outcome == SeatOutcome::Right));
    let first = &session.presses()[0];
    assert_eq!((first.count, first.edge_count, first.latency_ms), (Some(20.0), Some(20.0), Some(24)));
    assert_eq!(first.gesture, Some((Gesture::Tap, 25)));
    assert_eq!(first.sent, Some(CommandId("c0".to_owned())));
    assert_eq!(session.presses().iter().filter(|press| press.running && press.random).count(), 21);
}

#[test]
fn a_button_taken_for_another_and_a_press_that_never_settles_are_errors() {
    let mut session = session(3, 1);
    tap(&mut session, 2);
    session.decided(&Decided { count: Some(250.0), ..decided(DecidedKind::Undecided, None, 400) });
    tap(&mut session, 2);
    let outcomes: Vec<_> = session.presses().iter().map(|press| press.outcome.clone()).collect();
    assert_eq!(
        outcomes,
        [SeatOutcome::TakenAs(ButtonId("b2".to_owned())), SeatOutcome::Unnoticed, SeatOutcome::Right]
    );
    assert_eq!(session.presses()[1].count, Some(250.0));
    assert_eq!(session.rounds()[0].done, [Some(false), Some(false), Some(true)]);
}

#[test]
fn a_tap_that_is_told_after_letting_go_still_belongs_to_its_press() {
    let mut session = session(2, 1);
    session.decided(&decided(DecidedKind::Pressed, Some(0), 24));
    session.decided(&decided(DecidedKind::Released, Some(0), 150));
    assert_eq!(session.prompt(), SeatPrompt::Press(1));
    let sent = Some(CommandId("late".to_owned()));
    session.decided(&Decided { sent, ..decided(DecidedKind::Gesture(Gesture::Tap), Some(0), 450) });
    assert_eq!(session.presses()[0].gesture, Some((Gesture::Tap, 450)));
    assert_eq!(session.presses()[0].sent, Some(CommandId("late".to_owned())));
    tap(&mut session, 1);
    assert_eq!(session.presses()[1].outcome, SeatOutcome::Right);
}

#[test]
fn the_person_says_that_the_stereo_did_nothing_or_the_box_noticed_nothing() {
    let mut session = session(3, 1);
    session.command(SeatCommand::Nothing);
    assert_eq!(session.presses()[0].outcome, SeatOutcome::Unnoticed);
    tap(&mut session, 1);
    session.command(SeatCommand::Nothing);
    assert_eq!(session.presses()[1].outcome, SeatOutcome::StereoSilent);
    assert_eq!(session.prompt(), SeatPrompt::Press(2), "it goes on from there");
    // Said twice, the second is about the press asked for now.
    session.command(SeatCommand::Nothing);
    assert_eq!(session.presses().len(), 3);
}

#[test]
fn a_press_taken_back_is_asked_for_again_and_counted_as_taken_back() {
    let mut session = session(2, 1);
    tap(&mut session, 1);
    session.command(SeatCommand::TakeBack);
    assert_eq!((session.prompt(), session.presses().len()), (SeatPrompt::Press(0), 0));
    assert_eq!(session.taken_back(), 1);
    session.command(SeatCommand::TakeBack);
    assert_eq!(session.taken_back(), 1, "there is nothing left to take back");
}

#[test]
fn what_is_skipped_is_no_press_and_what_is_paused_waits() {
    let mut session = session(2, 1);
    session.command(SeatCommand::Skip);
    assert_eq!((session.prompt(), session.presses().len()), (SeatPrompt::Press(1), 0));
    session.command(SeatCommand::Pause);
    tap(&mut session, 1);
    assert_eq!((session.prompt(), session.presses().len()), (SeatPrompt::Paused, 0));
    session.command(SeatCommand::Resume);
    tap(&mut session, 1);
    assert_eq!(session.presses().len(), 1);
    assert_eq!(session.rounds()[0].done, [None, Some(true)]);
    session.command(SeatCommand::Stop);
    assert_eq!(session.prompt(), SeatPrompt::Done);
    tap(&mut session, 0);
    assert_eq!(session.presses().len(), 1);
}

#[test]
fn no_button_at_all_is_done_at_once() {
    assert_eq!(session(0, 3).prompt(), SeatPrompt::Done);
}
