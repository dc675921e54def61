//! The desk: tasks go in, news comes out. One task of a kind runs at a time, each on a thread of its
//! own; starting a kind anew replaces the one that runs. Nothing here waits, but for the end.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use super::task::{Kind, News, Task};

/// Progress is told in steps of this share, so that no screen is drawn for less than it can show.
const STEP: f32 = 0.01;

/// A desk. Dropping it stops all tasks, and waits until they have heard it: some milliseconds.
pub struct Desk {
    out: Arc<Out>,
    tasks: Vec<Running>,
}

/// A task on its thread, or one that was told to stop and hasn't ended yet.
struct Running {
    kind: Kind,
    stop: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

/// The way out. Of each kind the newest progress waits, or the result: it is bounded by that.
struct Out {
    waiting: Mutex<Vec<News>>,
    wake: Box<dyn Fn() + Send + Sync>,
}

impl Desk {
    /// An empty desk. `wake` is called from a task's thread when there is news to take.
    #[must_use]
    pub fn new(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let out = Out { waiting: Mutex::new(Vec::new()), wake: Box::new(wake) };
        Self { out: Arc::new(out), tasks: Vec::new() }
    }

    /// Starts a task under a number that its news will carry. One of the same kind that runs is told to
    /// stop, and nothing more is heard of it.
    pub fn start(&mut self, ticket: u64, task: Task) {
        let kind = task.kind();
        self.launch(kind, ticket, move |stop, progress| task.run(ticket, stop, progress));
    }

    fn launch(
        &mut self,
        kind: Kind,
        ticket: u64,
        work: impl FnOnce(&(dyn Fn() -> bool + Sync), &mut dyn FnMut(f32)) -> News + Send + 'static,
    ) {
        self.stop(kind);
        let stop = Arc::new(AtomicBool::new(false));
        let voice = Voice { kind, ticket, stop: Arc::clone(&stop), out: Arc::clone(&self.out) };
        let task = move || {
            let last_word = LastWord(voice);
            let voice = &last_word.0;
            let mut told = 0.0;
            let news = work(&|| voice.stop.load(Ordering::Relaxed), &mut |share| {
                if share >= told + STEP {
                    told = share;
                    voice.say(News::Progress { kind, ticket, share });
                }
            });
            voice.say(news);
        };
        match std::thread::Builder::new().name(kind.name().to_owned()).spawn(task) {
            Ok(thread) => self.tasks.push(Running { kind, stop, thread }),
            Err(error) => {
                let why =
                    format!("No thread could be started ({error}). Close other programs and try again.");
                self.out.lock().extend(News::failed(kind, ticket, why));
            }
        }
    }

    /// Stops what runs of a kind; nothing more is heard of it.
    pub fn stop(&mut self, kind: Kind) {
        // Under the lock, so that no word slips out between the stop and the clearing.
        let mut waiting = self.out.lock();
        for task in self.tasks.iter().filter(|task| task.kind == kind) {
            task.stop.store(true, Ordering::Relaxed);
        }
        waiting.retain(|news| news.kind() != kind);
        drop(waiting);
        self.tasks.retain(|task| !task.thread.is_finished());
    }

    /// What has come since it was asked last. Never waits.
    #[must_use]
    pub fn news(&mut self) -> Vec<News> {
        std::mem::take(&mut *self.out.lock())
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        for task in &self.tasks {
            task.stop.store(true, Ordering::Relaxed);
        }
        for task in self.tasks.drain(..) {
            // A task that panicked has said so; there is nothing left to do about it here.
            let _ = task.thread.join();
        }
    }
}

impl Out {
    fn lock(&self) -> MutexGuard<'_, Vec<News>> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What a task says things with.
struct Voice {
    kind: Kind,
    ticket: u64,
    stop: Arc<AtomicBool>,
    out: Arc<Out>,
}

impl Voice {
    /// Says it, unless the task was stopped. What it said before and nobody took is out of date.
    fn say(&self, news: News) {
        let mut waiting = self.out.lock();
        if self.stop.load(Ordering::Relaxed) {
            return;
        }
        waiting.retain(|other| other.kind() != self.kind);
        waiting.push(news);
        drop(waiting);
        (self.out.wake)();
    }
}

/// Says that a task has come to a bad end, so that nobody waits for it.
struct LastWord(Voice);

impl Drop for LastWord {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let why = "The computation has stopped by a fault of its own. Save your work and try again.";
            if let Some(news) = News::failed(self.0.kind, self.0.ticket, why.to_owned()) {
                self.0.say(news);
            }
        }
    }
}

#[cfg(test)]
mod tests;
