//! From part to part: the strap, the calibration, exercises, rests, the end.

use super::WEARING_S;
use super::line::Line;
use super::view::LinkView;
use super::working::Stopped;
use super::{At, Fit, Guided, Output};
use crate::movement::Side;
use crate::recording::{EventKind, ItemMark, ItemRef, SetEndReason, Symptom, When};
use crate::routine::{Item, Part, USUAL_REST_S};

impl Guided {
    /// Towards the part at hand: by way of the strap, where it sits elsewhere.
    pub(super) fn head_for_part(&mut self, out: &mut Vec<Output>) {
        let Some(part) = self.course.get(self.part) else {
            self.over(out);
            return;
        };
        match part.strap() {
            Some(side) if self.strapped.is_none_or(|(strapped, _)| strapped != side) => {
                let change = self.strapped.is_some();
                self.at = At::Place { change };
                out.push(Output::Say(if self.both() {
                    Line::PutOnBoth { side, change }
                } else {
                    Line::PutOn { side, change }
                }));
            }
            _ => self.show_part(out),
        }
    }

    pub(super) fn heard(&mut self, heard: bool, out: &mut Vec<Output>) {
        self.heard = Some(heard);
        if self.strapped.is_some() {
            self.calibrate(out);
        } else {
            self.head_for_part(out);
        }
    }

    /// Towards the first part: where it needs no sensor, whether the voice is heard is asked before it.
    pub(super) fn set_out(&mut self, out: &mut Vec<Output>) {
        let first = self.course.get(self.part).and_then(Part::strap);
        if first.is_none() && self.heard.is_none() && self.part < self.course.len() {
            self.at = At::Hearing;
            out.push(Output::Say(Line::CanYouHearMe));
        } else {
            self.head_for_part(out);
        }
    }

    /// Shows the part at hand; first the question about the strap, where it is due.
    pub(super) fn show_part(&mut self, out: &mut Vec<Output>) {
        let Some(part) = self.course.get(self.part).copied() else {
            self.over(out);
            return;
        };
        let needs = part.strap();
        if needs.is_some()
            && (needs != self.strapped.map(|(side, _)| side) || matches!(self.fit, Fit::Unknown))
        {
            if needs == self.strapped.map(|(side, _)| side) {
                self.calibrate(out);
            } else {
                self.head_for_part(out);
            }
            return;
        }
        let ranges = self
            .counted()
            .is_some_and(|(item, ..)| item.is_range_test());
        if ranges && !self.is_fitted() {
            // Its ends are those from the neutral pose, which is not known.
            out.push(Output::Say(Line::NoRangeUnfitted));
            self.left_out(Some(UNFITTED.to_owned()), out);
            return;
        }
        let worn_s = self
            .strapped
            .map_or(0.0, |(_, since_s)| self.now_s - since_s);
        if !self.wearing_asked && worn_s >= WEARING_S {
            self.wearing_asked = true;
            self.at = At::Wearing { looser: false };
            out.push(Output::Say(if self.both() {
                Line::DoTheStrapsTingle
            } else {
                Line::DoesTheStrapTingle
            }));
            return;
        }
        self.worked = true;
        if needs.is_some() {
            self.battery_words(out);
        }
        self.at = At::Intro;
        if self.item().is_some() {
            out.push(Output::Record(EventKind::ItemStart(ItemMark {
                item: Some(ItemRef::Number(part.item)),
            })));
            out.push(Output::Say(Line::Next(self.part_title())));
        }
    }

    pub(super) fn start_part(&mut self, out: &mut Vec<Output>) {
        if let Some((item, _, _)) = self.counted() {
            self.start_set(item, out);
            return;
        }
        if let Some(timed) = self.by_the_clock() {
            self.at = At::Timed(timed);
            out.push(Output::Say(Line::BeginTimed));
        }
    }

    /// The part is done: rest, then the next.
    pub(super) fn part_over(&mut self, out: &mut Vec<Output>) {
        let rest_s = match self.item() {
            Some(Item::Counted(item)) => item.rest_s.unwrap_or(USUAL_REST_S),
            Some(Item::Stretch(stretch)) => stretch.rest_s.unwrap_or(0.0),
            Some(Item::RangeTest(_) | Item::Timed(_)) | None => 0.0,
        };
        let weight = self.has_weight();
        self.set_done = self.counted().map(|(item, ..)| {
            let done = match &self.at {
                At::Working(working) => working.done(),
                _ => self.done_before,
            };
            [done, item.repetitions]
        });
        self.set_tired = false;
        self.item_end(out);
        self.part += 1;
        self.part_anew();
        if self.part >= self.course.len() {
            self.over(out);
        } else if rest_s > 0.0 {
            self.at = At::Rest {
                until_s: self.now_s + rest_s,
            };
            out.push(Output::Say(Line::Rest { weight }));
        } else {
            if weight {
                out.push(Output::Say(Line::PutDown));
            }
            self.head_for_part(out);
        }
    }

    pub(super) fn item_end(&self, out: &mut Vec<Output>) {
        if let Some(part) = self.course.get(self.part) {
            out.push(Output::Record(EventKind::ItemEnd(ItemMark {
                item: Some(ItemRef::Number(part.item)),
            })));
        }
    }

    /// Leaves out what is left of the item for this hand.
    pub(super) fn next_item(&mut self, out: &mut Vec<Output>) {
        self.close_set(SetEndReason::Skip, out);
        self.item_end(out);
        let Some(left) = self.course.get(self.part).copied() else {
            self.over(out);
            return;
        };
        let same = |part: &Part| part.item == left.item && part.hands == left.hands;
        let again: Vec<Part> = self.course.split_off(self.part);
        self.course
            .extend(again.into_iter().filter(|part| !same(part)));
        self.part_anew();
        self.head_for_part(out);
    }

    /// Nothing of the part at hand is done yet.
    pub(super) fn part_anew(&mut self) {
        self.done_before = 0;
        self.asked_after = None;
    }

    /// On with the part that was stopped, from its start posture.
    pub(super) fn go_on(&mut self, out: &mut Vec<Output>) {
        if self.counted().is_some() && self.sensor.link != LinkView::There {
            out.push(Output::Say(Line::SensorLost));
            self.at = At::Paused {
                why: Stopped::Sensor,
            };
            return;
        }
        // The last one was counted when the set had stopped.
        if self
            .counted()
            .is_some_and(|(item, ..)| self.done_before >= item.repetitions)
        {
            self.part_over(out);
            return;
        }
        if self.counted().is_some() && matches!(self.fit, Fit::Unknown) {
            self.head_for_part(out);
            return;
        }
        self.start_part(out);
    }

    pub(super) fn finish_here(&mut self, out: &mut Vec<Output>) {
        match self.at {
            At::Welcome
            | At::FirstQuestions
            | At::Night { .. }
            | At::AskFirst
            | At::NotToday { .. } => self.at = At::Summary,
            At::Summary | At::Remark | At::Symptoms(When::After) => self.at = At::Summary,
            _ => {
                self.close_set(SetEndReason::Stop, out);
                self.over(out);
            }
        }
    }

    /// The work is over: how is it now?
    pub(super) fn over(&mut self, out: &mut Vec<Output>) {
        self.close_set(SetEndReason::Stop, out);
        self.at = At::Symptoms(When::After);
        out.push(Output::Say(Line::WorkIsOver));
    }
}

/// Why a range test was left out.
const UNFITTED: &str = "the sensor was not fitted";

/// Tingling was felt; how much was not asked.
pub(super) fn tingling(side: Option<Side>, of: &str) -> Output {
    Output::Record(EventKind::Tingling(Symptom {
        value: None,
        side,
        when: Some(When::During),
        of: Some(of.to_owned()),
    }))
}
