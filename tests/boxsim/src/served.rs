//! A chip in a thread of its own, in real time, its link behind a pseudo-terminal.

use std::io;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::chip::{Chip, Edge, HZ, Torn};
use crate::pty::Pty;

/// One turn of the simulation.
const SLICE_US: u64 = 1_000;
/// What nobody reads is thrown away beyond this, as a real link would.
const UNREAD_MOST: usize = 65_536;

/// Something to be done to the chip between two turns.
pub enum Order {
    /// The reset pin, as DTR does it.
    Reset,
    /// Power goes and comes: a new chip with the same flash and EEPROM.
    PowerCycle,
    /// Anything else.
    Do(Box<dyn FnOnce(&mut Chip) + Send>),
}

/// A served chip. Dropping it ends its thread.
pub struct Served {
    /// What to open as its port.
    pub path: String,
    orders: Option<SyncSender<Order>>,
    thread: Option<JoinHandle<()>>,
}

/// Serves the chip that `make` makes, in real time. After power is cut `again` sets the new chip up.
///
/// # Errors
/// If there is no pseudo-terminal or no thread.
pub fn serve(
    make: impl FnOnce() -> Chip + Send + 'static,
    again: impl Fn(&[u8], &[u8]) -> Chip + Send + 'static,
) -> io::Result<Served> {
    let pty = Pty::open()?;
    let path = pty.path.clone();
    let (orders, inbox) = sync_channel(64);
    let thread = std::thread::Builder::new()
        .name("chip".to_owned())
        .spawn(move || run(&pty, make(), &again, &inbox))?;
    Ok(Served { path, orders: Some(orders), thread: Some(thread) })
}

fn run(pty: &Pty, mut chip: Chip, again: &dyn Fn(&[u8], &[u8]) -> Chip, inbox: &Receiver<Order>) {
    let mut buffer = [0_u8; 512];
    let mut unread: Vec<u8> = Vec::new();
    let (mut begun, mut from) = (Instant::now(), chip.now());
    loop {
        loop {
            match inbox.try_recv() {
                Ok(Order::Reset) => chip.reset_pin(),
                Ok(Order::PowerCycle) => {
                    let flash = chip.flash();
                    let eeprom = chip.cut_power(Torn::Erased);
                    chip = again(&flash, &eeprom);
                    (begun, from) = (Instant::now(), chip.now());
                }
                Ok(Order::Do(order)) => order(&mut chip),
                Err(std::sync::mpsc::TryRecvError::Empty) => break,
                Err(std::sync::mpsc::TryRecvError::Disconnected) => return,
            }
        }
        if chip.unsent() == 0 {
            let count = pty.read(&mut buffer);
            chip.send(&buffer[..count]);
        }
        chip.run_us(SLICE_US);
        unread.extend(chip.sent().into_iter().map(|(_, byte)| byte));
        let written = pty.write(&unread);
        unread.drain(..written);
        if unread.len() > UNREAD_MOST {
            unread.clear();
        }
        let due = begun + Duration::from_nanos((chip.now() - from) * 1_000_000_000 / HZ);
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
    }
}

impl Served {
    /// Asks for something; done within a turn.
    pub fn order(&self, order: Order) {
        if let Some(orders) = &self.orders {
            drop(orders.send(order));
        }
    }

    /// Asks the chip, and waits for its answer.
    ///
    /// # Panics
    /// If the chip's thread has ended.
    pub fn ask<T: Send + 'static>(&self, question: impl FnOnce(&mut Chip) -> T + Send + 'static) -> T {
        let (answer, heard) = sync_channel(1);
        self.order(Order::Do(Box::new(move |chip| drop(answer.send(question(chip))))));
        heard.recv_timeout(Duration::from_secs(10)).expect("the chip runs")
    }

    /// Every change of the output pin so far.
    #[must_use]
    pub fn output(&self) -> Vec<Edge> {
        self.ask(|chip| chip.edges('B', 1).to_vec())
    }

    /// The chip's clock now, in cycles.
    #[must_use]
    pub fn now(&self) -> u64 {
        self.ask(|chip| chip.now())
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}
