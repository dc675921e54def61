//! What the rest of the program holds of the link: requests down, reports up, and the end of the
//! worker when it is dropped.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use super::message::{Report, Request};
use super::outbox::{Outbox, Sample};
use super::port::Ports;
use super::queue::Queue;
use super::serial::SystemPorts;
use super::worker::Worker;

/// Requests that wait to be obeyed. They are a person's, and the worker hears them within 20 ms.
const WAITING_REQUESTS: usize = 256;

/// Why a request was not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SendError {
    /// Too many requests wait already.
    #[error("The link has {WAITING_REQUESTS} requests waiting and takes no more. Try again in a moment.")]
    Busy,
    /// The worker has ended.
    #[error("The link has stopped. Save your work and start Spokewire again.")]
    Ended,
}

/// A running link. Dropping it closes what is open and ends its thread, within 200 ms.
pub struct Link {
    requests: Option<SyncSender<Request>>,
    queue: Arc<Queue>,
    stop: Arc<AtomicBool>,
    sample: Sample,
    thread: Option<JoinHandle<()>>,
}

impl Link {
    /// Starts the worker on this machine's ports. `wake` is called from its thread whenever there
    /// is something to take, once per batch of readings.
    #[must_use]
    pub fn start(wake: impl Fn() + Send + 'static) -> Self {
        Self::start_with(SystemPorts, wake)
    }

    /// The same on other ports.
    #[must_use]
    pub fn start_with(ports: impl Ports + 'static, wake: impl Fn() + Send + 'static) -> Self {
        let (sender, requests) = sync_channel(WAITING_REQUESTS);
        let queue = Arc::new(Queue::default());
        let stop = Arc::new(AtomicBool::new(false));
        let sample = Sample::default();
        let out = Outbox::new(Arc::clone(&queue), Arc::clone(&sample), Box::new(wake));
        let worker = Worker { ports: Box::new(ports), requests, out, stop: Arc::clone(&stop) };
        let last_word = LastWord(Arc::clone(&queue));
        let spawned = std::thread::Builder::new().name("link".to_owned()).spawn(move || {
            let _last_word = last_word;
            worker.run();
        });
        let thread = match spawned {
            Ok(thread) => Some(thread),
            Err(error) => {
                queue.push(Report::Failed {
                    what: format!("The link could not start: {error}."),
                    advice: "Close other programs and start Spokewire again.".to_owned(),
                });
                None
            }
        };
        Self { requests: Some(sender), queue, stop, sample, thread }
    }

    /// Asks the worker for something. Never waits.
    ///
    /// # Errors
    /// [`SendError`] if the request was not taken.
    pub fn send(&self, request: Request) -> Result<(), SendError> {
        let requests = self.requests.as_ref().ok_or(SendError::Ended)?;
        requests.try_send(request).map_err(|error| match error {
            TrySendError::Full(_) => SendError::Busy,
            TrySendError::Disconnected(_) => SendError::Ended,
        })
    }

    /// The next report, if there is one. Never waits.
    #[must_use]
    pub fn try_recv(&self) -> Option<Report> {
        self.queue.take()
    }

    /// The next report, waiting for it no longer than `limit`.
    #[must_use]
    pub fn recv_timeout(&self, limit: Duration) -> Option<Report> {
        self.queue.take_within(limit)
    }

    /// The beginning of the last broken line since the link was opened, to be shown beside the
    /// number of broken lines; what can't be printed is written as `\x1b`.
    #[must_use]
    pub fn broken_sample(&self) -> Option<String> {
        self.sample.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl Drop for Link {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        // Wakes a worker that waits for requests.
        self.requests = None;
        if let Some(thread) = self.thread.take() {
            // A worker that panicked has said so; there is nothing left to do about it here.
            let _ = thread.join();
        }
    }
}

/// Says that the worker has come to a bad end, so that no silence is left behind.
struct LastWord(Arc<Queue>);

impl Drop for LastWord {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.push(Report::Failed {
                what: "The link has stopped by a fault of its own.".to_owned(),
                advice: "Save your work and start Spokewire again.".to_owned(),
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::port::{BytePort, OpenError};
    use super::super::{PortInfo, Target};
    use super::*;

    struct Faulty;

    impl Ports for Faulty {
        fn list(&mut self) -> Vec<PortInfo> {
            vec![]
        }

        fn is_there(&self, _path: &str) -> bool {
            true
        }

        fn open(&mut self, _path: &str, _rate: u32) -> Result<Box<dyn BytePort>, OpenError> {
            panic!("a fault for the test")
        }
    }

    #[test]
    fn a_worker_that_fails_says_so_and_takes_no_more_requests() {
        let link = Link::start_with(Faulty, || ());
        let open = Request::Open(Target::Serial { path: "x".into(), rate: None });
        assert_eq!(link.send(open.clone()), Ok(()));
        let failed = std::iter::from_fn(|| link.recv_timeout(Duration::from_secs(5)))
            .find(|report| matches!(report, Report::Failed { .. }));
        let Some(Report::Failed { what, .. }) = failed else { panic!("{failed:?}") };
        assert_eq!(what, "The link has stopped by a fault of its own.");
        let ended = (0..100).any(|_| {
            std::thread::sleep(Duration::from_millis(5));
            link.send(open.clone()) == Err(SendError::Ended)
        });
        assert!(ended);
        assert_eq!(
            SendError::Ended.to_string(),
            "The link has stopped. Save your work and start Spokewire again."
        );
        assert_eq!(
            SendError::Busy.to_string(),
            "The link has 256 requests waiting and takes no more. Try again in a moment."
        );
    }
}
