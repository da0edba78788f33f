//! What a press brings about, screen by screen. One that does not fit the screen changes nothing.

use super::course::tingling;
use super::line::Line;
use super::press::{NightAnswer, Press};
use super::view::LinkView;
use super::working::Stopped;
use super::{At, Fit, Guided, MORE_REST_S, Output, limits};
use crate::recording::{EventKind, ItemMark, ItemRef, Note, Reason, When};

impl Guided {
    /// Takes a press of the page.
    pub fn press(&mut self, press: Press) -> Vec<Output> {
        let mut out = Vec::new();
        match (&self.at, press) {
            (_, Press::FinishHere) => self.finish_here(&mut out),
            (At::Remark, Press::Remark { text }) => self.remark(text.trim(), &mut out),
            (
                At::Welcome
                | At::FirstQuestions
                | At::NotToday { .. }
                | At::Night { .. }
                | At::AskFirst
                | At::Cautions
                | At::Symptoms(_)
                | At::Summary,
                press,
            ) => self.asked(press, &mut out),
            (At::Place { .. } | At::Hearing | At::Calibrating(_) | At::Wearing { .. }, press) => {
                self.sensor_answered(press, &mut out)
            }
            (_, press) => self.at_work(press, &mut out),
        }
        out
    }

    /// Questions before and after the work.
    fn asked(&mut self, press: Press, out: &mut Vec<Output>) {
        match (&self.at, press) {
            (At::Welcome, Press::Begin) => self.begin(out),
            (At::Welcome, Press::BeginAnew) => {
                self.anew();
                self.begin(out);
            }
            (At::Welcome, Press::OnlyQuestions) if !self.plan.first_time => {
                self.at = At::Night { only: true };
            }
            (At::FirstQuestions, Press::Applies) => self.not_today(
                "Not today: please ask your clinician",
                "One of these needs a word with your clinician before you exercise.",
                "first questions",
                out,
            ),
            (At::FirstQuestions, Press::NoneApplies) => self.at = At::Cautions,
            (&At::Night { only }, Press::Night(answer)) => self.night(only, &answer, out),
            (At::AskFirst, Press::Yes) => {
                out.push(Output::Record(EventKind::Note(Note {
                    text: Some("Worse the morning after; the clinician was asked.".to_owned()),
                })));
                self.at = At::Cautions;
            }
            (At::AskFirst, Press::No) => self.not_today(
                "Not today: please ask your clinician",
                "Your hand felt worse the morning after the last session. Rest it, and ask before the next one.",
                "worse the morning after",
                out,
            ),
            (At::Cautions, Press::Next) => self.at = At::Symptoms(When::Before),
            (&At::Symptoms(when), Press::Symptoms { left, right }) => {
                self.symptoms(when, left, right, out);
            }
            (At::Summary | At::NotToday { .. }, Press::Next) => out.push(Output::Done),
            _ => {}
        }
    }

    /// From the first part again, whatever an unfinished session has done.
    fn anew(&mut self) {
        (self.part, self.done_before) = (0, 0);
    }

    fn night(&mut self, only: bool, answer: &NightAnswer, out: &mut Vec<Output>) {
        out.extend(answer.events().into_iter().map(Output::Record));
        let limits = &self.plan.routine.limits;
        let worse = self.plan.last_start.is_some_and(|start| {
            !limits::within(limits, &start.left, &answer.left)
                || !limits::within(limits, &start.right, &answer.right)
        });
        self.at = match (only, worse) {
            (true, _) => {
                self.worse_after = worse;
                At::Summary
            }
            (false, true) => At::AskFirst,
            (false, false) => At::Cautions,
        };
    }

    fn remark(&mut self, text: &str, out: &mut Vec<Output>) {
        if !text.is_empty() {
            out.push(Output::Record(EventKind::Note(Note {
                text: Some(text.to_owned()),
            })));
        }
        self.at = At::Summary;
    }

    /// The sensor is put on and fitted.
    fn sensor_answered(&mut self, press: Press, out: &mut Vec<Output>) {
        match (&self.at, press) {
            (At::Place { .. }, Press::Next) if self.all_there() => self.placed(out),
            // Without the one on the forearm.
            (At::Place { .. }, Press::GoOn)
                if self.both() && self.sensor.link == LinkView::There =>
            {
                self.placed(out);
            }
            // The one movement may hurt, too, and nobody has to make it.
            (At::Calibrating(_), Press::Pause | Press::Yes) => {
                self.without_offered = true;
                self.asked_how_much(false, out);
            }
            (At::Calibrating(_), Press::Skip { reason }) => self.left_out(reason, out),
            (At::Calibrating(_), Press::GoOn) if self.without_offered => self.go_without(out),
            (At::Hearing, Press::Yes) => self.heard(true, out),
            (At::Hearing, Press::No) => self.heard(false, out),
            (At::Wearing { looser: false }, Press::Yes) => self.strap_tingles(out),
            (At::Wearing { looser: true }, Press::Next) => {
                // The strap sits otherwise: it is fitted, and asked about after a minute, anew.
                self.fit = Fit::Unknown;
                self.without_offered = false;
                self.wearing_asked = false;
                self.strapped = self.strapped.map(|(side, _)| (side, self.now_s));
                self.calibrate(out);
            }
            (At::Wearing { looser: false }, Press::No) => self.show_part(out),
            _ => {}
        }
    }

    fn strap_tingles(&mut self, out: &mut Vec<Output>) {
        out.push(tingling(self.strapped.map(|(side, _)| side), "strap"));
        self.pain_said = true;
        if std::mem::replace(&mut self.strap_tingled, true) {
            self.stopped_for_symptoms = true;
            out.push(Output::Say(Line::StrapTinglesAgain));
            self.over(out);
        } else {
            self.at = At::Wearing { looser: true };
            out.push(Output::Say(if self.both() {
                Line::LooserStraps
            } else {
                Line::LooserStrap
            }));
        }
    }

    /// The exercise at hand is left out; which it is stands beside that, whether it was shown or not.
    pub(super) fn left_out(&mut self, reason: Option<String>, out: &mut Vec<Output>) {
        let shown = matches!(
            self.at,
            At::Intro | At::Timed(_) | At::Paused { .. } | At::Settling { .. }
        );
        if let Some(part) = self.course.get(self.part).filter(|_| !shown) {
            out.push(Output::Record(EventKind::ItemStart(ItemMark {
                item: Some(ItemRef::Number(part.item)),
            })));
        }
        out.push(Output::Record(EventKind::Skipped(Reason { reason })));
        self.next_item(out);
    }

    fn asked_how_much(&mut self, paused: bool, out: &mut Vec<Output>) {
        self.at = At::Hurt { paused };
        out.push(Output::Say(Line::HowMuch));
    }

    /// While exercises are shown, done and rested from.
    fn at_work(&mut self, press: Press, out: &mut Vec<Output>) {
        match (&self.at, press) {
            (At::Intro, Press::Next) => self.start_part(out),
            (
                At::Intro
                | At::Timed(_)
                | At::Rest { .. }
                | At::Paused { .. }
                | At::Settling { may_go_on: true },
                Press::Skip { reason },
            ) => self.left_out(reason, out),
            (At::Working(_), Press::Enough) => self.enough(out),
            (At::Working(_), _) => self.stop(Stopped::Asked, out),
            (At::Timed(_), Press::Yes) => self.tingles(out),
            (At::Timed(_), Press::No) => self.tingles_not(),
            (At::Timed(_), Press::Pause) => self.stop(Stopped::Asked, out),
            (&At::Rest { until_s }, Press::MoreTime) => {
                let until_s = until_s + MORE_REST_S;
                self.at = At::Rest { until_s };
            }
            (At::Rest { .. }, Press::Next) => self.show_part(out),
            (At::Rest { .. } | At::Intro, Press::Pause | Press::Yes) => {
                self.asked_how_much(false, out)
            }
            (At::Paused { .. }, Press::Pause | Press::Yes) => self.asked_how_much(true, out),
            (At::Paused { .. }, Press::No | Press::GoOn) => self.go_on(out),
            (At::Paused { .. }, Press::Enough) => self.part_over(out),
            (At::Hurt { .. }, Press::Hurts { felt, side, like }) => {
                self.hurts(felt, side, like, out)
            }
            (At::Hurt { paused: true }, Press::No) => self.go_on(out),
            // Shown once more before it begins: gently is a thing to think of.
            (At::Hurt { paused: false }, Press::No)
            | (At::Settling { may_go_on: true }, Press::GoOn) => self.show_part(out),
            (At::Settling { may_go_on: true }, Press::Next) => self.next_item(out),
            (At::Settling { may_go_on: false }, Press::Next) => {
                self.at = At::Symptoms(When::During);
            }
            _ => {}
        }
    }
}
