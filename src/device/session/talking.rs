//! A box talks: its questions and answers, one request after another.

use crate::device::capture::Capture;
use crate::device::errand::{Errand, Greet, Simple, Trouble, Turn, doing_at, other_protocol};
use crate::device::exchange::Exchange;
use crate::device::finding::Finding;
use crate::device::job::{BoxReport, BoxRequest, Job};
use crate::device::read::Read;
use crate::device::timing::{BOOT_MS, QUIET_MS, TRIES};
use crate::device::write::Write;
use crate::wire::limits::PROTOCOL;
use crate::wire::{Ask, CALIBRATE_RANGE_MV, Identity};

use super::{BoxSession, Mode, Step};

impl BoxSession {
    pub(super) fn advance_talking(&mut self, now_ms: f64) -> bool {
        if let Some(exchange) = &mut self.exchange {
            if !exchange.is_due(now_ms) {
                return false;
            }
            if exchange.is_spent() {
                self.unanswered(now_ms);
            } else {
                self.send(now_ms);
            }
            return true;
        }
        if let Some(until_ms) = self.boot_ms {
            if now_ms < until_ms {
                return false;
            }
            // The box may have started without being heard: asking it tells.
            self.boot_ms = None;
            if let Some(errand) = &mut self.errand {
                errand.booted();
            }
            return true;
        }
        if let Some(errand) = &mut self.errand {
            match errand.next(&mut self.known) {
                Turn::Ask(ask) => {
                    self.exchange = Some(Exchange::new(ask));
                    self.send(now_ms);
                }
                Turn::AwaitBoot => self.boot_ms = Some(now_ms + BOOT_MS),
                Turn::Report(report) => self.report(report),
                Turn::Done => self.end_errand(Ok(())),
                Turn::Failed(trouble) => self.end_errand(Err(trouble)),
            }
            return true;
        }
        if let Some(request) = self.waiting.pop_front() {
            self.begin(request, now_ms);
            return true;
        }
        if self.known.is_streaming && now_ms - self.heard_ms > QUIET_MS {
            self.known.is_streaming = false;
            self.errand = Some(Box::new(Greet::new(None)));
            return true;
        }
        false
    }

    fn send(&mut self, now_ms: f64) {
        if let Some(exchange) = &mut self.exchange {
            self.sequence = self.sequence.wrapping_add(1);
            self.out.push_back(Step::Send(exchange.send(self.sequence, now_ms)));
        }
    }

    /// The box has not answered, however often it was asked.
    fn unanswered(&mut self, now_ms: f64) {
        let Some(exchange) = self.exchange.take() else { return };
        let is_greeting = self.errand.as_ref().is_none_or(|errand| errand.job().is_none());
        let is_identify = *exchange.ask() == Ask::Identify;
        if is_greeting && is_identify {
            self.errand = None;
            self.mode = Mode::Finding(Finding::new(now_ms, None));
            return;
        }
        let place = self.errand.as_ref().map_or_else(String::new, |errand| errand.whereabouts());
        let job = self.errand.as_ref().and_then(|errand| errand.job()).unwrap_or(Job::Identify);
        let what = format!(
            "{}: no answer within {:.0} ms, asked {TRIES} times.",
            doing_at(job, &place),
            exchange.patience_ms()
        );
        self.end_errand(Err(Trouble::new(what, "Check the cable and the box's supply, then try again.")));
        if !is_greeting {
            self.errand = Some(Box::new(Greet::new(None))); // is it there at all?
        }
    }

    fn begin(&mut self, request: BoxRequest, now_ms: f64) {
        let spoken = self.known.identity.as_ref().map_or(PROTOCOL, |identity| identity.protocol);
        if spoken != PROTOCOL
            && let Some(job) = request.job()
            && !matches!(job, Job::Identify | Job::Flash)
        {
            self.fail(job, other_protocol(spoken), false);
            return;
        }
        let errand: Box<dyn Errand> = match request {
            BoxRequest::Identify => Box::new(Greet::new(Some(Job::Identify))),
            BoxRequest::Write(body) => Box::new(Write::new(body)),
            BoxRequest::Read => Box::new(Read::new()),
            BoxRequest::Watch(on) => Box::new(Simple::new(Job::Watch, Ask::Watch(on))),
            BoxRequest::Try { record, held_ms, toggle } => {
                let ask = Ask::Send { held_ms, toggle, record };
                let (length, most) = (ask.payload().len(), self.payload_max());
                if length > most {
                    let what = format!("The code takes {length} bytes, a message to this box {most}.");
                    let advice = "Write it to the box and press its button instead.";
                    self.fail(Job::Try, Trouble::new(what, advice), false);
                    return;
                }
                Box::new(Simple::new(Job::Try, ask))
            }
            BoxRequest::StopTry => Box::new(Simple::new(Job::Try, Ask::StopSending)),
            BoxRequest::Counters => Box::new(Simple::new(Job::Counters, Ask::Counters)),
            BoxRequest::Listen(on) => {
                self.capture = Capture::default();
                Box::new(Simple::new(Job::Listen, Ask::Listen(on)))
            }
            BoxRequest::Reference(reference) => {
                self.known.reference = Some(reference);
                let names_its_own = |identity: &Identity| identity.has_image && identity.reference_named;
                if self.known.identity.as_ref().is_some_and(names_its_own) {
                    // The image in use says what is wired; another reference beside it could short a pin.
                    self.report(BoxReport::Done(Job::Reference));
                    return;
                }
                Box::new(Simple::then_greet(Job::Reference, Ask::Reference(reference)))
            }
            BoxRequest::Calibrate(bandgap_mv) => {
                let (least, most) = CALIBRATE_RANGE_MV;
                if let Some(mv) = bandgap_mv
                    && !(least..=most).contains(&mv)
                {
                    let what = format!(
                        "A bandgap of {mv} mV can't be: this chip's lies within {least} to {most} mV."
                    );
                    self.fail(
                        Job::Calibrate,
                        Trouble::new(what, "Measure the 5 V again and type it anew."),
                        false,
                    );
                    return;
                }
                Box::new(Simple::then_greet(Job::Calibrate, Ask::Calibrate(bandgap_mv)))
            }
            BoxRequest::Restart => Box::new(Simple::restart()),
            BoxRequest::Flash(bytes) => {
                self.start_flash(bytes, now_ms);
                return;
            }
            BoxRequest::Cancel => return,
        };
        self.errand = Some(errand);
    }

    fn payload_max(&self) -> usize {
        let said = self.known.identity.as_ref().map_or(0, |identity| usize::from(identity.payload_max));
        said.min(crate::wire::PAYLOAD_MAX)
    }
}
