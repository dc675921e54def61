//! A virtual box at the far end of a pseudo-terminal, in a thread of its own and in real time.

use std::io::{Read as _, Write as _};
use std::sync::mpsc::{Receiver, SyncSender, TryRecvError, sync_channel};
use std::sync::{Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serialport::{SerialPort as _, TTYPort};
use spokewire::bands::Touch;
use spokewire::demo::{VirtualBox, VirtualWheel, demo_van};

/// `TTYPort::pair` is not thread-safe (serialport says so itself).
static PAIR: Mutex<()> = Mutex::new(());

/// A pseudo-terminal's near end, and the path of the other end, which is closed again: it is
/// exclusive.
pub(crate) fn pty() -> (TTYPort, String) {
    let _guard = PAIR.lock().unwrap_or_else(PoisonError::into_inner);
    let (near, far) = TTYPort::pair().expect("a pseudo-terminal");
    let path = far.name().expect("its name");
    drop(far);
    (near, path)
}

/// What is done to a box while it runs.
pub(crate) enum Hand {
    Press(usize),
    Release,
    /// Its reset pin.
    Reset,
}

/// A virtual box at the far end of a pseudo-terminal.
pub(crate) struct Bench {
    pub(crate) path: String,
    hands: Option<SyncSender<Hand>>,
    thread: Option<JoinHandle<VirtualBox>>,
}

impl Bench {
    pub(crate) fn with(virtual_box: VirtualBox) -> Self {
        let (mut near, path) = pty();
        near.set_timeout(Duration::from_millis(2)).expect("a timeout");
        let (hands, hears) = sync_channel(16);
        let thread = std::thread::Builder::new().spawn(move || bench(near, virtual_box, &hears));
        Self { path, hands: Some(hands), thread: Some(thread.expect("a thread")) }
    }

    pub(crate) fn hand(&self, hand: Hand) {
        self.hands.as_ref().expect("plugged in").send(hand).expect("heard");
    }

    /// Takes the box off the port.
    pub(crate) fn unplug(mut self) -> VirtualBox {
        self.hands = None;
        self.thread.take().expect("plugged in").join().expect("no panic")
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        self.hands = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn bench(mut near: TTYPort, mut virtual_box: VirtualBox, hears: &Receiver<Hand>) -> VirtualBox {
    let mut wheel = VirtualWheel::new(demo_van(), 77);
    let begun = Instant::now();
    let mut ticks = 0.0;
    let mut buffer = [0; 512];
    loop {
        match hears.try_recv() {
            Ok(Hand::Press(button)) => wheel.press(button, Touch::Firm),
            Ok(Hand::Release) => wheel.release(),
            Ok(Hand::Reset) => virtual_box.reset(),
            Err(TryRecvError::Empty) => {}
            Err(TryRecvError::Disconnected) => return virtual_box,
        }
        // A pseudo-terminal has no speed; what the far end has set is what the line runs at.
        virtual_box.set_line_rate(near.baud_rate().unwrap_or(115_200));
        match near.read(&mut buffer) {
            Ok(count) => virtual_box.take(&buffer[..count]),
            Err(_) => std::thread::sleep(Duration::from_millis(1)), // nothing, or not open yet
        }
        while ticks < begun.elapsed().as_secs_f64() * 1e3 {
            ticks += 1.0;
            virtual_box.tick(wheel.next());
        }
        // What nobody takes is lost, as on a real wire.
        let _ = near.write_all(&virtual_box.bytes_out());
    }
}
