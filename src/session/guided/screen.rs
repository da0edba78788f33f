//! The screen that belongs to where a session is.

use super::exercise::shown;
use super::line::{CAUTIONS, FIRST_QUESTIONS, Line, item_title, part_title};
use super::summary::{next_session, sentences};
use super::view::{LiveView, Screen, View};
use super::working::Working;
use super::{At, Guided, Timed};
use crate::movement::{GlidePosition, Movement, Side, WEIGHT_DOWN};
use crate::routine::{Item, PartHands, Weights};
use crate::session::calibrating::Doing;

impl Guided {
    /// What the page shows now.
    pub fn view(&self) -> View {
        View {
            screen: self.screen(),
            sensor: self.sensor,
            forearm: self.forearm,
            done_of: [self.place(), self.planned.len()],
            weights: self.weights,
            heard: self.heard,
            simulated: self.plan.simulated,
        }
    }

    /// How many parts of what was planned come before the one at hand, those that are left out too:
    /// what was planned does not become less on the way.
    fn place(&self) -> usize {
        self.course
            .get(self.part)
            .and_then(|part| self.planned.iter().position(|planned| planned == part))
            .unwrap_or(self.planned.len())
    }

    fn screen(&self) -> Screen {
        match &self.at {
            At::Welcome => Screen::Welcome {
                title: self.plan.routine.title.clone(),
                unfinished: self.plan.unfinished(),
                questions: !self.plan.first_time,
                clinic: self.plan.clinic,
            },
            At::FirstQuestions => Screen::FirstQuestions {
                questions: FIRST_QUESTIONS.to_vec(),
            },
            At::NotToday { heading, words } => Screen::NotToday {
                heading: (*heading).to_owned(),
                words: words.clone(),
                contact: self.plan.routine.contact.clone(),
            },
            At::Night { .. } => Screen::Night,
            At::AskFirst => Screen::AskFirst {
                contact: self.plan.routine.contact.clone(),
            },
            At::Cautions => Screen::Cautions {
                cautions: self.cautions(),
            },
            At::Symptoms(when) => Screen::Symptoms {
                when: *when,
                sides: self.sides(),
            },
            At::Place { change } => Screen::Place {
                side: self.side(),
                change: *change,
            },
            At::Hearing => Screen::Hearing,
            At::Calibrating(calibrating) => Screen::Calibrate {
                side: self.side(),
                movement: Movement::WristExtension,
                posture: Movement::WristExtension.usual_posture(),
                move_now: calibrating.doing() == Doing::Moving,
                wrong: self.wrong.clone(),
                without: self.without_offered,
            },
            At::Wearing { looser } => Screen::Wearing {
                side: self.side(),
                looser: *looser,
            },
            At::Intro => self.intro(),
            At::Working(working) => self.working(working),
            At::Timed(timed) => self.timed(Some(timed)),
            At::Rest { until_s } => Screen::Rest {
                left_s: (until_s - self.now_s).max(0.0),
                done: self.set_done,
                good_place: self.set_tired,
                next: self.part_title(),
                weight: self.had_weight(),
            },
            At::Paused { why } => Screen::Paused {
                why: *why,
                weight: self.has_weight(),
                provokes: self.item().is_some_and(Item::provokes),
                enough: self.done_before > 0,
            },
            At::Hurt { .. } => Screen::Hurt {
                sides: self.sides(),
            },
            At::Settling { may_go_on } => Screen::Settling {
                words: if *may_go_on {
                    Line::WithinLimits.words()
                } else {
                    Line::NotSettled.words()
                },
                may_go_on: *may_go_on,
            },
            At::Remark => Screen::Remark,
            At::Summary => Screen::Summary {
                worked: self.worked,
                sentences: self.sentences(),
                next: next_session(&self.plan).filter(|_| !self.stopped_for_symptoms),
                clinic: self.plan.clinic,
            },
        }
    }

    fn cautions(&self) -> Vec<String> {
        let mut cautions: Vec<String> = CAUTIONS.iter().map(|words| (*words).to_owned()).collect();
        match self.plan.routine.weights_on(self.plan.today) {
            Weights::Allowed => {}
            Weights::ReviewDue { .. } => cautions.push(Line::ReviewDue.words()),
            Weights::PracticeOnly { .. } => cautions.push(
                "Your routine is not signed off yet, so this is practice without weight."
                    .to_owned(),
            ),
        }
        cautions
    }

    /// What the part at hand is called.
    pub(super) fn part_title(&self) -> String {
        let part = self.course.get(self.part);
        self.item()
            .zip(part)
            .map_or_else(String::new, |(item, part)| part_title(item, part.set))
    }

    /// Hands that the routine is for.
    fn sides(&self) -> Vec<Side> {
        self.plan.routine.hands()
    }

    /// The hand that works, else the one that wears the sensor.
    fn side(&self) -> Side {
        let of_part = self
            .course
            .get(self.part)
            .and_then(|part| match part.hands {
                PartHands::One(side) => Some(side),
                PartHands::Both => None,
            });
        of_part
            .or(self.strapped.map(|(side, _)| side))
            .unwrap_or(Side::Right)
    }

    /// Whether the part before this one was done with a weight.
    fn had_weight(&self) -> bool {
        let before = self
            .part
            .checked_sub(1)
            .and_then(|before| self.course.get(before));
        let item = before.and_then(|part| {
            self.plan
                .routine
                .items
                .get((part.item as usize).checked_sub(1)?)
        });
        self.weights && matches!(item, Some(Item::Counted(item)) if item.load_kg != Some(0.0))
    }

    fn intro(&self) -> Screen {
        match self.counted() {
            Some((item, part, side)) => {
                Screen::Intro(shown(&self.plan.routine, &item, &part, side))
            }
            None => self.timed(None),
        }
    }

    fn working(&self, working: &Working) -> Screen {
        let Some((item, part, side)) = self.counted() else {
            return Screen::Remark;
        };
        let (phase, phase_s) = working.phase(self.now_s);
        Screen::Working {
            exercise: shown(&self.plan.routine, &item, &part, side),
            live: LiveView {
                standing: working.standing(),
                count: working.done(),
                phase: phase.name(),
                word: self.phase_word(phase),
                asks_tingling: self.asked_after == Some(working.done())
                    && working.done() < item.repetitions,
                phase_s,
                asked_s: self.asked_s(phase),
                angle_deg: self.angle_deg,
                target_deg: item.range.and_then(|band| band.target_deg),
                no_further_deg: item.range.and_then(|band| band.no_further_deg),
                latest: self.latest,
            },
        }
    }

    fn timed(&self, timed: Option<&Timed>) -> Screen {
        let Some(item) = self.item() else {
            return Screen::Remark;
        };
        let (words, drawing, times, own) = match item {
            Item::Stretch(item) => (
                format!("{} {}", item.stretch.how(), item.stretch.caution()),
                item.stretch.name(),
                item.times,
                item.words.clone(),
            ),
            Item::Timed(item) => (
                format!(
                    "{} {}",
                    item.what.how().unwrap_or_default(),
                    item.what.caution()
                ),
                item.what.name(),
                1,
                item.words.clone(),
            ),
            Item::Counted(_) | Item::RangeTest(_) => (String::new(), "", 1, None),
        };
        let first = if self.weights { WEIGHT_DOWN } else { "" };
        let words = [first.to_owned(), own.unwrap_or_default(), words].join(" ");
        let part = self.course.get(self.part);
        Screen::Timed {
            heading: item_title(item).to_owned(),
            words: words.trim().to_owned(),
            drawing: drawing.to_owned(),
            side: part.and_then(|part| match part.hands {
                PartHands::One(side) => Some(side),
                PartHands::Both => None,
            }),
            lasts_s: self.by_the_clock().map_or(0.0, |timed| timed.lasting_s),
            left_s: timed.map(|timed| timed.left_s(self.now_s)),
            time_of: [part.map_or(1, |part| part.set), times],
            tingling: timed.is_some_and(Timed::is_asking),
            hold: timed.and_then(Timed::hold),
            position: timed.and_then(Timed::position).map(GlidePosition::words),
        }
    }

    fn sentences(&self) -> Vec<String> {
        let mut all = if self.worked {
            sentences(&self.plan, &self.planned, &self.done)
        } else {
            vec![Line::AnswersKept.words()]
        };
        if self.worse_after && !self.stopped_for_symptoms {
            all.push(if self.worked {
                Line::WorseAfter.words()
            } else {
                Line::WorseMorning.words()
            });
        }
        if self.stopped_for_symptoms {
            all.push(Line::EndOfSession.words());
        }
        all
    }
}
