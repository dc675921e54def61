//! Where no box talks: looking for one, its bootloader, and the way back.

use crate::device::errand::Trouble;
use crate::device::finding::Finding;
use crate::device::flash::{FlashStep, Flasher};
use crate::device::job::{BoxReport, BoxRequest, Job, Phase};
use crate::wire::limits::RATE;

use super::{BoxSession, Mode, Step};

impl BoxSession {
    pub(super) fn advance_finding(&mut self, now_ms: f64) -> bool {
        if self.begin_flash(now_ms) {
            return true;
        }
        let Mode::Finding(finding) = &mut self.mode else { return false };
        if !finding.is_over(now_ms) {
            let steps = finding.poll(now_ms, &mut self.sequence);
            let is_something = !steps.is_empty();
            self.out.extend(steps);
            return is_something;
        }
        if finding.after().is_some() {
            self.known.identity = None;
            let trouble = Trouble::new(
                "Flashing the firmware: every byte was read back right, but the program does not answer.",
                "Press the board's reset button. If nothing happens, flash again.",
            );
            self.fail(Job::Flash, trouble, true);
        }
        self.known.identity = None;
        self.mode = Mode::Flashing(Flasher::look(now_ms));
        true
    }

    /// A flash needs no box that answers: where none does it goes ahead of what waits.
    pub(super) fn begin_flash(&mut self, now_ms: f64) -> bool {
        let is_free = match &self.mode {
            Mode::Talking => false,
            Mode::Flashing(flasher) => flasher.is_look(),
            Mode::Finding(finding) => finding.after().is_none(),
            Mode::Absent => true,
        };
        let place = self.waiting.iter().position(|request| matches!(request, BoxRequest::Flash(_)));
        match place.filter(|_| is_free).and_then(|place| self.waiting.remove(place)) {
            Some(BoxRequest::Flash(bytes)) => {
                self.start_flash(bytes, now_ms);
                true
            }
            _ => false,
        }
    }

    pub(super) fn start_flash(&mut self, bytes: Vec<u8>, now_ms: f64) {
        self.known.identity = None;
        self.known.is_streaming = false;
        self.exchange = None;
        self.errand = None;
        self.mode = Mode::Flashing(Flasher::new(bytes, now_ms));
    }

    pub(super) fn flashed(&mut self, step: FlashStep) {
        let Mode::Flashing(flasher) = &self.mode else { return };
        let (is_look, touched) = (flasher.is_look(), flasher.touched());
        match step {
            FlashStep::Send(bytes) => self.out.push_back(Step::Send(bytes)),
            FlashStep::SetRate(rate) => self.out.push_back(Step::SetRate(rate)),
            FlashStep::PulseReset => self.out.push_back(Step::PulseReset),
            FlashStep::Discard => self.out.push_back(Step::Discard),
            FlashStep::Progress { phase, done, of } => {
                self.report(BoxReport::Progress { job: Job::Flash, phase, done, of });
            }
            FlashStep::Flashed => {
                self.look_again(Some(Job::Flash));
                self.report(BoxReport::Progress { job: Job::Flash, phase: Phase::Starting, done: 0, of: 1 });
            }
            FlashStep::Found => self.absent(true),
            FlashStep::Failed(_) if is_look => self.absent(false),
            FlashStep::Failed(error) => {
                let trouble = Trouble::new(error.to_string(), error.advice(touched));
                self.fail(Job::Flash, trouble, touched);
                self.look_again(None);
            }
        }
    }

    /// At the link's own rate again, and nothing of the bootloader's left.
    fn back_to_the_link(&mut self) {
        self.deframer.clear();
        self.out.extend([Step::SetRate(RATE), Step::Discard]);
    }

    pub(super) fn look_again(&mut self, after: Option<Job>) {
        if matches!(self.mode, Mode::Flashing(_)) {
            self.back_to_the_link();
        }
        self.known.is_streaming = false;
        self.mode = Mode::Finding(Finding::new(self.now_ms, after));
    }

    fn absent(&mut self, bootloader: bool) {
        self.back_to_the_link();
        self.mode = Mode::Absent;
        self.report(BoxReport::NoProgram { bootloader });
    }

    pub(super) fn advance_absent(&mut self, now_ms: f64) -> bool {
        if self.begin_flash(now_ms) {
            return true;
        }
        match self.waiting.pop_front() {
            None => false,
            Some(BoxRequest::Identify) => {
                self.mode = Mode::Finding(Finding::new(now_ms, None));
                true
            }
            Some(request) => {
                if let Some(job) = request.job() {
                    let what = format!("{}: no box answers.", job.doing());
                    let advice = "Check the cable, or flash the firmware if this board has none yet.";
                    self.fail(job, Trouble::new(what, advice), false);
                }
                true
            }
        }
    }
}
