//! What came, and what it means where the session stands.

use crate::device::capture::{Capture, Heard as Caught};
use crate::device::errand::{Greet, Heard, Trouble, doing_at};
use crate::device::job::{BoxReport, Job};
use crate::device::timing::BUSY_MS;
use crate::wire::{Answer, AnswerFault, BoxEvent, Fault, Frame, REPLY, ResetCause};

use super::{BoxSession, Mode, Step};

impl BoxSession {
    pub(super) fn hear(&mut self, frame: Frame, now_ms: f64) {
        let Frame { number, payload, .. } = &frame;
        let is_answer = (REPLY..0xC0).contains(number);
        if is_answer {
            self.heard_ms = now_ms;
            self.hear_answer(&frame, now_ms);
        } else {
            match BoxEvent::parse(*number, payload) {
                Ok(event) => {
                    self.heard_ms = now_ms;
                    self.hear_event(event, now_ms);
                }
                Err(_) => self.broken += 1,
            }
        }
    }

    fn hear_answer(&mut self, frame: &Frame, now_ms: f64) {
        let answer = || Answer::parse(frame.number & !REPLY, &frame.payload);
        match &mut self.mode {
            Mode::Finding(finding) => {
                if let Ok(Answer::Identity(identity)) = answer() {
                    let after = finding.after();
                    self.known.identity = Some(*identity);
                    self.errand = Some(Box::new(Greet::known(after)));
                    self.mode = Mode::Talking;
                }
            }
            Mode::Talking => {
                let Some(exchange) = self.exchange.as_mut().filter(|exchange| exchange.is_answered_by(frame))
                else {
                    return; // late: an answer to a question that was given up or answered
                };
                let answer = answer();
                if answer == Err(AnswerFault::Fault(Fault::Busy)) && !exchange.is_spent() {
                    exchange.put_off(now_ms + BUSY_MS);
                    return;
                }
                let heard = Heard { answer, is_retry: exchange.is_retry() };
                self.exchange = None;
                if let Some(errand) = &mut self.errand
                    && let Err(trouble) = errand.hear(heard, &mut self.known)
                {
                    self.end_errand(Err(trouble));
                }
                if std::mem::take(&mut self.known.began_stream) {
                    self.out.push_back(Step::StreamBegan);
                }
            }
            Mode::Absent => self.look_again(None),
            Mode::Flashing(_) => {}
        }
    }

    fn hear_event(&mut self, event: BoxEvent, now_ms: f64) {
        match &mut self.mode {
            Mode::Finding(finding) => {
                if matches!(event, BoxEvent::Booted(_)) {
                    finding.call_now(now_ms);
                }
                return;
            }
            Mode::Absent => {
                self.look_again(None);
                return;
            }
            Mode::Flashing(_) => return,
            Mode::Talking => {}
        }
        match event {
            BoxEvent::Booted(cause) => self.booted(cause),
            BoxEvent::Samples(block) => self.out.push_back(Step::Samples(block)),
            BoxEvent::Decision(decision) => self.report(BoxReport::Decision(decision)),
            BoxEvent::Sent { frames } => self.report(BoxReport::Sent { frames }),
            BoxEvent::Capture(part) => match self.capture.take(&part) {
                Caught::NotYet => {}
                Caught::Whole { timings_us, overflow } => {
                    self.report(BoxReport::Captured { timings_us, overflow });
                }
                Caught::Torn { at, from } => {
                    let what = format!(
                        "A part of the remote's code was lost on the way: timing {at} was to come, {from} came."
                    );
                    self.fail(Job::Listen, Trouble::new(what, "Press the remote's button again."), false);
                }
            },
        }
    }

    fn booted(&mut self, cause: ResetCause) {
        self.exchange = None;
        self.boot_ms = None;
        self.capture = Capture::default();
        self.known.is_streaming = false;
        if self.errand.as_mut().is_some_and(|errand| errand.booted()) {
            return;
        }
        self.report(BoxReport::Restarted(cause));
        if let Some(errand) = self.errand.take()
            && let Some(job) = errand.job()
        {
            let doing = doing_at(job, &errand.whereabouts());
            let what = format!("{doing}: the box started anew ({}).", cause_words(cause));
            self.fail(job, Trouble::new(what, cause_advice(cause)), false);
        }
        self.errand = Some(Box::new(Greet::new(None)));
    }
}

const fn cause_words(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "power came",
        ResetCause::External => "its reset pin",
        ResetCause::BrownOut => "its supply fell too low",
        ResetCause::Watchdog => "its watchdog",
    }
}

const fn cause_advice(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "Check the plugs and the cable, then start again.",
        ResetCause::External => "Close other programs that use the port, then start again.",
        ResetCause::BrownOut => "Take a shorter cable or another port of the laptop, then start again.",
        ResetCause::Watchdog => "Start again. If it stays, flash the firmware that comes with this program.",
    }
}
