//! What the one live loop needs of a session, whichever it is.
//!
//! Ours.

use super::guided::Guided;
use super::guided::line::Line;
use super::guided::press::Press as PagePress;
use super::{Link, Output, Press, QuickSet, Say, Second};
use crate::pipeline::live::Step;

/// A session as the live loop drives it.
pub trait Machine {
    /// What it says.
    type Say;
    /// What it is asked for.
    type Press;

    /// What is said before anything else.
    fn opening(&self) -> Vec<Self::Say> {
        Vec::new()
    }

    /// Whether what was said without a sensor is worth keeping.
    fn stands_alone(&self) -> bool;

    /// A sensor is connected; seconds since the recording's start.
    fn connected(&mut self, now_s: f64);

    /// The charge of its battery is known, 0 to 100.
    fn battery(&mut self, percent: u8);

    /// Takes a step of the pipeline.
    fn step(&mut self, step: &Step) -> Vec<Output<Self::Say>>;

    /// The person asks for something.
    fn press(&mut self, press: Self::Press) -> Vec<Output<Self::Say>>;

    /// The link changes.
    fn link(&mut self, link: Link) -> Vec<Output<Self::Say>>;

    /// Something becomes of the forearm's unit.
    fn second(&mut self, second: Second) -> Vec<Output<Self::Say>>;

    /// The computer was asleep for so long, seconds.
    fn asleep(&mut self, _slept_s: f64) -> Vec<Output<Self::Say>> {
        Vec::new()
    }

    /// Time passes; seconds since the recording's start.
    fn time(&mut self, now_s: f64) -> Vec<Output<Self::Say>>;
}

impl Machine for QuickSet {
    type Say = Say;
    type Press = Press;

    fn opening(&self) -> Vec<Say> {
        QuickSet::opening(self)
    }

    fn stands_alone(&self) -> bool {
        false
    }

    fn connected(&mut self, now_s: f64) {
        QuickSet::connected(self, now_s);
    }

    fn battery(&mut self, _percent: u8) {}

    fn step(&mut self, step: &Step) -> Vec<Output> {
        QuickSet::step(self, step)
    }

    fn press(&mut self, press: Press) -> Vec<Output> {
        QuickSet::press(self, press)
    }

    fn link(&mut self, link: Link) -> Vec<Output> {
        QuickSet::link(self, link)
    }

    fn second(&mut self, second: Second) -> Vec<Output> {
        QuickSet::second(self, second)
    }

    fn time(&mut self, now_s: f64) -> Vec<Output> {
        QuickSet::time(self, now_s)
    }
}

/// What a guided session is asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// A press on the page.
    Press(PagePress),
    /// The end of the program: what is done is kept, nothing more is asked.
    Quit,
}

impl Machine for Guided {
    type Say = Line;
    type Press = Asked;

    fn stands_alone(&self) -> bool {
        true
    }

    fn connected(&mut self, _now_s: f64) {
        Guided::connected(self);
    }

    fn battery(&mut self, percent: u8) {
        Guided::battery(self, percent);
    }

    fn step(&mut self, step: &Step) -> Vec<Output<Line>> {
        Guided::step(self, step)
    }

    fn press(&mut self, asked: Asked) -> Vec<Output<Line>> {
        match asked {
            Asked::Press(press) => Guided::press(self, press),
            Asked::Quit => {
                // Closes a set that is open.
                let mut out = Guided::press(self, PagePress::FinishHere);
                out.push(Output::Done);
                out
            }
        }
    }

    fn link(&mut self, link: Link) -> Vec<Output<Line>> {
        Guided::link(self, link)
    }

    fn second(&mut self, second: Second) -> Vec<Output<Line>> {
        Guided::second(self, second)
    }

    fn asleep(&mut self, slept_s: f64) -> Vec<Output<Line>> {
        Guided::asleep(self, slept_s)
    }

    fn time(&mut self, now_s: f64) -> Vec<Output<Line>> {
        Guided::time(self, now_s)
    }
}
