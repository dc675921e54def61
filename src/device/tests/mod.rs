//! Scripted conversations: a box and a bootloader played byte by byte, time by the millisecond, and
//! everything that can go wrong on the way.

mod board;
mod flashing;
mod jobs;
mod mishaps;

use super::{BoxReport, BoxRequest, BoxSession, Failure, Job, Phase, Step};
use crate::wire::SampleBlock;
use board::Board;

/// A session at a board, and what was heard.
struct Bench {
    session: BoxSession,
    board: Board,
    now_ms: f64,
    reports: Vec<BoxReport>,
    blocks: Vec<SampleBlock>,
    rates: Vec<u32>,
    sent: Vec<Vec<u8>>,
}

impl Bench {
    fn at(board: Board) -> Self {
        Self {
            session: BoxSession::new(0.0),
            board,
            now_ms: 0.0,
            reports: Vec::new(),
            blocks: Vec::new(),
            rates: Vec::new(),
            sent: Vec::new(),
        }
    }

    /// At a box that has answered; what was heard so far is forgotten.
    fn met(board: Board) -> Self {
        let mut bench = Self::at(board);
        bench.run(500.0);
        assert!(bench.session.is_found(), "{:?}", bench.reports);
        bench.reports.clear();
        bench
    }

    fn run(&mut self, ms: f64) {
        let end_ms = self.now_ms + ms;
        while self.now_ms < end_ms {
            self.tick();
        }
    }

    fn tick(&mut self) {
        let now_ms = self.now_ms;
        for _ in 0..200 {
            let Some(step) = self.session.poll(now_ms) else { break };
            match step {
                Step::Send(bytes) => {
                    self.board.take(&bytes, now_ms);
                    self.sent.push(bytes);
                }
                Step::SetRate(rate) => {
                    self.board.rate = rate;
                    self.rates.push(rate);
                }
                Step::PulseReset => self.board.reset(now_ms),
                Step::Discard => self.board.discard(),
                Step::Report(report) => self.reports.push(report),
                Step::StreamBegan => {}
                Step::Samples(block) => self.blocks.push(block),
            }
        }
        let bytes = self.board.give(now_ms);
        if !bytes.is_empty() {
            self.session.take(&bytes, now_ms);
        }
        self.now_ms += 1.0;
    }

    /// Asks, and runs until the job is done or failed.
    fn ask(&mut self, request: BoxRequest) -> Result<(), Failure> {
        let job = request.job().unwrap();
        self.reports.clear();
        self.session.ask(request);
        for _ in 0..60_000 {
            self.tick();
            for report in &self.reports {
                match report {
                    BoxReport::Done(done) if *done == job => return Ok(()),
                    BoxReport::Failed(failure) if failure.job == job => return Err(failure.clone()),
                    _ => {}
                }
            }
        }
        panic!("{job:?} never ended: {:?}", self.reports);
    }

    /// Runs until a phase has begun.
    fn until(&mut self, phase: Phase, least: usize) {
        for _ in 0..60_000 {
            self.tick();
            let is_there = |report: &BoxReport| matches!(report, BoxReport::Progress { phase: at, done, .. } if *at == phase && *done >= least);
            if self.reports.iter().any(is_there) {
                return;
            }
        }
        panic!("{phase:?} never came: {:?}", self.reports);
    }

    fn failures(&self) -> Vec<&Failure> {
        self.reports
            .iter()
            .filter_map(|report| match report {
                BoxReport::Failed(failure) => Some(failure),
                _ => None,
            })
            .collect()
    }

    fn phases(&self) -> Vec<(Phase, usize)> {
        self.reports
            .iter()
            .filter_map(|report| match report {
                BoxReport::Progress { phase, done, .. } => Some((*phase, *done)),
                _ => None,
            })
            .collect()
    }

    /// What was heard, in words without figures.
    fn kinds(&self) -> Vec<String> {
        let mut kinds: Vec<String> = self
            .reports
            .iter()
            .map(|report| match report {
                BoxReport::Progress { phase, .. } => format!("{phase:?}"),
                BoxReport::Done(job) => format!("Done {job:?}"),
                BoxReport::Failed(failure) => format!("Failed {:?}", failure.job),
                BoxReport::Contents(slot) => format!("Contents {}", slot.is_some()),
                BoxReport::NoProgram { bootloader } => format!("NoProgram {bootloader}"),
                BoxReport::Restarted(cause) => format!("Restarted {cause:?}"),
                other => format!("{other:?}").split([' ', '(']).next().unwrap().to_owned(),
            })
            .collect();
        kinds.dedup();
        kinds
    }
}

/// Every failure's words are sentences, and say what to do.
fn says(failure: &Failure, what: &str, advice: &str) {
    assert_eq!((failure.what.as_str(), failure.advice.as_str()), (what, advice));
    for text in [&failure.what, &failure.advice] {
        assert!(
            text.ends_with('.') && !text.contains('!') && !text.contains("  ") && !text.contains(".."),
            "{text}"
        );
    }
}

fn body(length: usize) -> Vec<u8> {
    (0..length).map(|place| (place * 7 + 3) as u8).collect()
}

fn image() -> BoxRequest {
    BoxRequest::Write(body(300))
}

fn job_names() -> [Job; 11] {
    use Job::*;
    [Identify, Write, Read, Watch, Try, Counters, Listen, Reference, Calibrate, Restart, Flash]
}

#[test]
fn every_job_says_what_it_does() {
    let said: std::collections::BTreeSet<_> = job_names().map(Job::doing).into();
    assert_eq!(said.len(), 11);
}
