//! A number of equal pieces shared out over threads. Which thread takes which piece is chance; what
//! comes of a piece is not, and the answers come back in the order of the pieces, so the number of
//! threads changes nothing but the time.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::sync_channel;
use std::thread;

/// The most threads anything here is shared over.
const MOST_THREADS: usize = 64;

/// How many threads this machine runs at once; 1 where it won't say.
#[must_use]
pub fn threads_here() -> usize {
    thread::available_parallelism().map_or(1, usize::from).min(MOST_THREADS)
}

/// Works on the pieces 0 to `pieces - 1` with so many threads (1 to 64; the caller is one of them) and
/// gives what came of each, in order. `None` if `stop` said true before all were done; it is asked
/// before each piece. `progress` is told the share done, 0 to 1, by the caller's thread.
///
/// Where the system gives no more threads, those that there are do it all.
pub fn share_out<T: Send>(
    pieces: usize,
    threads: usize,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(f32),
    work: &(dyn Fn(usize) -> T + Sync),
) -> Option<Vec<T>> {
    let helpers = threads.clamp(1, MOST_THREADS).min(pieces.max(1)) - 1;
    let next = AtomicUsize::new(0);
    let take = || {
        let piece = next.fetch_add(1, Ordering::Relaxed);
        (piece < pieces && !stop()).then(|| (piece, work(piece)))
    };
    // Every piece has its place, so that no helper ever waits for the caller.
    let (done, answers) = sync_channel(pieces.max(1));
    let mut all: Vec<Option<T>> = std::iter::repeat_with(|| None).take(pieces).collect();
    let mut have = 0;
    thread::scope(|scope| {
        for helper in 0..helpers {
            let (done, take) = (done.clone(), &take);
            let work_on = move || {
                while let Some(piece) = take() {
                    if done.send(piece).is_err() {
                        break;
                    }
                }
            };
            let name = format!("crew-{helper}");
            if thread::Builder::new().name(name).spawn_scoped(scope, work_on).is_err() {
                break;
            }
        }
        drop(done);
        let mut keep = |(piece, answer): (usize, T)| {
            all[piece] = Some(answer);
            have += 1;
            progress(have as f32 / pieces as f32);
        };
        while let Some(piece) = take() {
            keep(piece);
            answers.try_iter().for_each(&mut keep);
        }
        answers.iter().for_each(&mut keep);
    });
    all.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    #[test]
    fn answers_come_in_the_order_of_the_pieces_on_any_number_of_threads() {
        let square = |piece: usize| piece * piece;
        let one = share_out(1_000, 1, &|| false, &mut |_| (), &square).unwrap();
        assert_eq!((one.len(), one[7], one[999]), (1_000, 49, 998_001));
        for threads in [0, 2, 3, 8, 1_000] {
            assert_eq!(share_out(1_000, threads, &|| false, &mut |_| (), &square).as_ref(), Some(&one));
        }
        assert_eq!(share_out(0, 4, &|| false, &mut |_| (), &square), Some(vec![]));
    }

    #[test]
    fn the_share_done_rises_to_one() {
        let mut shares = Vec::new();
        share_out(50, 3, &|| false, &mut |share| shares.push(share), &|_| ()).unwrap();
        assert_eq!(shares.len(), 50);
        assert!(shares.is_sorted());
        assert_eq!(shares.last(), Some(&1.0));
    }

    #[test]
    fn a_stop_is_heard_before_the_next_piece() {
        let done = Mutex::new(0);
        let stop = || *done.lock().unwrap() >= 5;
        let answer = share_out(1_000_000, 2, &stop, &mut |_| (), &|_| *done.lock().unwrap() += 1);
        assert_eq!(answer, None);
        assert!(*done.lock().unwrap() <= 7, "each thread ends with the piece it has");
    }
}
