//! What happens without a press: steps of the pipeline, the link, the battery, the clock, sleep.

use std::borrow::Cow;

use super::exercise::told;
use super::line::Line;
use super::view::LinkView;
use super::working::Stopped;
use super::{At, Fit, Guided, Output};
use crate::pipeline::live::{News, Step};
use crate::recording::When;
use crate::session::Link;

/// After a sleep this long it is asked again how the hands are, seconds (common practice, no
/// source).
const ASKED_AGAIN_AFTER_S: f64 = 1800.0;

impl Guided {
    /// Takes a step of the pipeline.
    pub fn step(&mut self, step: &Step) -> Vec<Output> {
        let mut out = Vec::new();
        self.angle_deg = step.measured_deg;
        for news in &step.news {
            match news {
                News::Aligned(alignment) => self.fit = Fit::Known(*alignment),
                News::SetEnded(set) => self.found(set),
                News::Worn(finding) if self.set_open => {
                    self.misworn |= self.is_misworn(std::slice::from_ref(finding));
                    out.push(Output::Say(Line::Worn(finding.kind)));
                }
                _ => {}
            }
        }
        match &mut self.at {
            At::Calibrating(calibrating) => {
                let outputs = calibrating.step(step);
                let done = calibrating.is_done();
                self.calibrating(outputs, done, &mut out);
            }
            At::Working(_) => {
                let step = self.as_told(step);
                let At::Working(working) = &mut self.at else {
                    return out;
                };
                let happened = working.step(&step);
                self.happened(happened, &mut out);
                self.count_the_phase(step.t_s, &mut out);
            }
            At::Timed(timed) => timed.push(&step.oriented),
            _ => {}
        }
        out
    }

    /// The step with the verdicts that a person is told.
    fn as_told<'a>(&self, step: &'a Step) -> Cow<'a, Step> {
        let Some((item, ..)) = self.counted().filter(|_| !step.news.is_empty()) else {
            return Cow::Borrowed(step);
        };
        let mut step = step.clone();
        for news in &mut step.news {
            if let News::Counted(_, repetition) = news {
                repetition.verdict = told(&item, &self.plan.routine.tempo_band, repetition);
            }
        }
        Cow::Owned(step)
    }

    /// Takes a change of the link.
    pub fn link(&mut self, link: Link) -> Vec<Output> {
        let mut out = Vec::new();
        self.sensor.link = LinkView::of(link);
        if link != Link::Back {
            match &self.at {
                At::Working(_) => self.stop(Stopped::Sensor, &mut out),
                At::Calibrating(_) => out.push(Output::Say(Line::SensorLost)),
                _ => {}
            }
        }
        out
    }

    /// The computer was asleep for so long: nothing goes on by itself.
    pub fn asleep(&mut self, slept_s: f64) -> Vec<Output> {
        let mut out = Vec::new();
        let at_work = matches!(
            self.at,
            At::Working(_)
                | At::Timed(_)
                | At::Rest { .. }
                | At::Intro
                | At::Wearing { .. }
                | At::Calibrating(_)
                | At::Paused { .. }
        );
        match self.at {
            _ if at_work && slept_s >= ASKED_AGAIN_AFTER_S => {
                self.stop(Stopped::Asleep, &mut out);
                // By now it may sit elsewhere: it is put on and fitted anew.
                self.sits_elsewhere();
                self.at = At::Symptoms(When::Before);
            }
            At::Working(_) | At::Timed(_) => self.stop(Stopped::Asleep, &mut out),
            _ => {}
        }
        out
    }

    /// A sensor is connected.
    pub fn connected(&mut self) {
        self.sensor.link = LinkView::There;
    }

    /// The charge of its battery is known, 0 to 100.
    pub fn battery(&mut self, percent: u8) {
        self.sensor.charged(percent);
    }

    /// Time passes.
    pub fn time(&mut self, now_s: f64) -> Vec<Output> {
        self.now_s = now_s;
        let mut out = Vec::new();
        match self.at {
            At::Rest { until_s } if now_s >= until_s => self.show_part(&mut out),
            At::Timed(_) => self.clock(&mut out),
            _ => {}
        }
        out
    }
}
