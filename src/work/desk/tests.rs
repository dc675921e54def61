//! The desk's promises, with work of the tests' own.

use std::sync::atomic::AtomicUsize;
use std::sync::mpsc::{Receiver, sync_channel};
use std::time::Duration;

use super::*;

const LONG: Duration = Duration::from_secs(10);

fn result(ticket: u64, word: &str) -> News {
    News::Boxes { ticket, result: Err(word.to_owned()) }
}

/// A desk, and what tells that there is news.
fn desk() -> (Desk, Receiver<()>) {
    let (wake, woken) = sync_channel(1_000);
    (Desk::new(move || _ = wake.try_send(())), woken)
}

/// The next news there is.
fn next(desk: &mut Desk, woken: &Receiver<()>) -> Vec<News> {
    loop {
        woken.recv_timeout(LONG).unwrap();
        let news = desk.news();
        if !news.is_empty() {
            return news;
        }
    }
}

/// Work that goes on until it is told to stop, and then says so.
fn endless(ticket: u64) -> impl FnOnce(&(dyn Fn() -> bool + Sync), &mut dyn FnMut(f32)) -> News + Send {
    move |stop, progress| {
        progress(0.5);
        while !stop() {
            std::thread::yield_now();
        }
        progress(0.9);
        result(ticket, "stopped")
    }
}

#[test]
fn a_task_tells_how_far_it_is_and_what_came_of_it_and_wakes_the_window() {
    let (mut desk, woken) = desk();
    let (go, gate) = sync_channel::<()>(0);
    desk.launch(Kind::Boxes, 7, move |_, progress| {
        progress(0.25);
        gate.recv().unwrap();
        result(7, "done")
    });
    let news = next(&mut desk, &woken);
    assert_eq!(news, [News::Progress { kind: Kind::Boxes, ticket: 7, share: 0.25 }]);
    assert_eq!((news[0].kind(), news[0].ticket()), (Kind::Boxes, 7));
    go.send(()).unwrap();
    assert_eq!(next(&mut desk, &woken), [result(7, "done")]);
    assert_eq!(desk.news(), []);
}

#[test]
fn news_that_nobody_takes_gives_way_to_newer_of_its_kind() {
    let (mut desk, woken) = desk();
    desk.launch(Kind::Boxes, 1, |_, progress| {
        (0..=100_000).for_each(|step| progress(step as f32 / 100_000.0));
        result(1, "done")
    });
    let mut wakes = 0;
    while let [News::Progress { .. }] | [] = desk.out.lock().as_slice() {
        if woken.recv_timeout(Duration::from_millis(1)).is_ok() {
            wakes += 1;
        }
    }
    wakes += woken.try_iter().count();
    assert_eq!(desk.news(), [result(1, "done")]);
    assert!(wakes <= 101, "a hundred steps and the result, not {wakes}");
}

#[test]
fn starting_a_kind_anew_silences_the_one_that_ran_and_leaves_other_kinds_alone() {
    let (mut desk, woken) = desk();
    desk.launch(Kind::Dwell, 1, endless(1));
    desk.launch(Kind::Boxes, 2, endless(2));
    desk.launch(Kind::Boxes, 3, |_, _| result(3, "done"));
    let mut heard = Vec::new();
    while !heard.contains(&result(3, "done")) {
        heard.extend(next(&mut desk, &woken));
    }
    heard.extend(desk.news());
    assert!(!heard.contains(&result(2, "stopped")), "{heard:?}");
    assert!(desk.tasks.iter().any(|task| task.kind == Kind::Dwell && !task.stop.load(Ordering::Relaxed)));
}

#[test]
fn a_stopped_kind_says_nothing_more_though_its_word_was_waiting() {
    let (mut desk, woken) = desk();
    desk.launch(Kind::Boxes, 1, endless(1));
    woken.recv_timeout(LONG).unwrap();
    desk.stop(Kind::Boxes);
    assert_eq!(desk.news(), []);
    while desk.tasks.iter().any(|task| !task.thread.is_finished()) {
        std::thread::yield_now();
    }
    assert_eq!(desk.news(), []);
}

#[test]
fn dropping_the_desk_ends_its_threads() {
    let (mut desk, _woken) = desk();
    let ended = Arc::new(AtomicUsize::new(0));
    for kind in [Kind::Boxes, Kind::Dwell] {
        let ended = Arc::clone(&ended);
        desk.launch(kind, 1, move |stop, progress| {
            let news = endless(1)(stop, progress);
            ended.fetch_add(1, Ordering::SeqCst);
            news
        });
    }
    drop(desk);
    assert_eq!(ended.load(Ordering::SeqCst), 2);
}

#[test]
fn work_that_comes_to_a_bad_end_says_so() {
    let (mut desk, woken) = desk();
    desk.launch(Kind::Boxes, 4, |_, _| panic!("a fault for the test"));
    let said = "The computation has stopped by a fault of its own. Save your work and try again.";
    assert_eq!(next(&mut desk, &woken), [result(4, said)]);
}
