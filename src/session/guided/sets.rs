//! The sets of a guided session: announced, counted, stopped, ended.

use super::aloud::phase_word;
use super::line::Line;
use super::summary::PartDone;
use super::view::LatestView;
use super::working::{Happened, Reach, Standing, Stopped, Working, WorkingParams};
use super::{At, Guided, Output, SetKey};
use crate::joint::wear::WearKind;
use crate::pipeline::live::Phase;
use crate::recording::{EventKind, ItemRef, SetEnd, SetEndReason, SetStart};
use crate::reps::Repetition;
use crate::routine::{CountedItem, Item, Verdict};

/// Short repetitions in a row before a word is said of it.
const SHORT_SAID_AFTER: u32 = 3;
/// The last so many repetitions of a dose are announced.
const LAST_SAID: u32 = 2;

impl Guided {
    pub(super) fn start_set(&mut self, mut item: CountedItem, out: &mut Vec<Output>) {
        let held = self.held(&item);
        if !self.is_fitted() {
            // How far the hand is from its neutral pose is not known.
            item.range = None;
        }
        let working = Working::new(
            item,
            self.plan.routine.form,
            held,
            self.done_before,
            WorkingParams::default(),
        );
        self.short_in_a_row = 0;
        self.latest = None;
        self.at = At::Working(Box::new(working));
        out.push(Output::Say(Line::TakeUp {
            weight: self.has_weight(),
        }));
    }

    /// Whether the part at hand is done with a weight.
    pub(super) fn has_weight(&self) -> bool {
        self.counted()
            .is_some_and(|(item, ..)| item.load_kg != Some(0.0))
    }

    /// Whether the part at hand is a direction of a range test.
    fn is_range_test(&self) -> bool {
        self.counted()
            .is_some_and(|(item, ..)| item.is_range_test())
    }

    fn announcement(&self) -> Option<SetStart> {
        let (item, part, side) = self.counted()?;
        Some(SetStart {
            item: Some(ItemRef::Number(part.item)),
            movement: Some(item.movement),
            side: Some(side),
            load_kg: item.load_kg,
            load_shape: item.load_shape,
            posture: Some(item.posture()),
            tempo: item.tempo,
            target_reps: Some(item.repetitions.saturating_sub(self.done_before)),
            range_test: item.is_range_test(),
        })
    }

    pub(super) fn happened(&mut self, happened: Vec<Happened>, out: &mut Vec<Output>) {
        for happening in happened {
            match happening {
                Happened::Announce => {
                    if let Some(start) = self.announcement() {
                        self.set_open = true;
                        out.push(Output::Record(EventKind::SetStart(start)));
                        let range_test = self.is_range_test();
                        out.push(Output::Say(if range_test {
                            Line::ReadyForRange
                        } else {
                            Line::Ready
                        }));
                    }
                }
                Happened::TakeBack => {
                    self.end_set(Some(SetEndReason::Idle), true, out);
                    // Nothing was begun: what the hand did elsewhere is nothing of the set.
                    self.ended = None;
                }
                Happened::Begun => {}
                Happened::Lifeless => {
                    out.push(Output::Say(Line::Worn(WearKind::LeftLying)));
                }
                Happened::NotThere => out.push(Output::Say(Line::NotInStartPosture)),
                Happened::Counted(number, repetition) => self.counts(number, &repetition, out),
                Happened::Circled(number) => self.circled(number, out),
                Happened::MoreAllowed(most) => out.push(Output::Say(Line::MoreAllowed(most))),
                Happened::ForearmMoved => out.push(Output::Say(Line::ForearmDown)),
                Happened::Stopped(stopped) => self.stop(stopped, out),
                Happened::Ended(reason) => {
                    self.close_set(reason, out);
                    let weight = self.has_weight();
                    out.push(Output::Say(if reason == SetEndReason::Tired {
                        Line::GoodPlaceToStop { weight }
                    } else {
                        Line::DoseDone
                    }));
                    self.part_over(out);
                    self.set_tired = reason == SetEndReason::Tired;
                }
            }
        }
    }

    fn counts(&mut self, number: u32, repetition: &Repetition, out: &mut Vec<Output>) {
        let Some((item, part, side)) = self.counted() else {
            return;
        };
        let reach = match &self.at {
            At::Working(working) => working.reach(repetition),
            _ => None,
        };
        self.latest = Some(LatestView {
            verdict: repetition.verdict,
            reach,
            lower_s: repetition.lower_s(),
            range_deg: repetition.range_deg,
        });
        self.done.push(PartDone {
            item: part.item,
            key: SetKey::new(item.movement, side, item.posture(), item.load_kg),
            range_deg: None,
            hurried: repetition.verdict == Some(Verdict::Hurried),
            judged: repetition.verdict.is_some(),
        });
        self.say_count(&item, number, out);
        match reach {
            Some(Reach::FarEnough) => out.push(Output::Say(Line::FarEnough)),
            Some(Reach::Short) => self.short_in_a_row += 1,
            Some(Reach::Within) | None => self.short_in_a_row = 0,
        }
        // Shown at once, said late, and never to somebody who has had pain today.
        if self.short_in_a_row >= SHORT_SAID_AFTER && !self.pain_said {
            self.short_in_a_row = 0;
            out.push(Output::Say(Line::AsFarAsComfortable));
        } else if repetition.verdict == Some(Verdict::Hurried) {
            out.push(Output::Say(Line::Slower));
        }
    }

    /// A circle has no range and no tempo.
    fn circled(&mut self, number: u32, out: &mut Vec<Output>) {
        let Some((item, part, side)) = self.counted() else {
            return;
        };
        self.done.push(PartDone {
            item: part.item,
            key: SetKey::new(item.movement, side, item.posture(), item.load_kg),
            range_deg: None,
            hurried: false,
            judged: false,
        });
        self.say_count(&item, number, out);
    }

    /// The number, the last two announced, and half-way the question where the item can provoke:
    /// whoever goes on says no without touching anything.
    fn say_count(&mut self, item: &CountedItem, number: u32, out: &mut Vec<Output>) {
        out.push(Output::Say(Line::Count(number)));
        let left = item.repetitions.saturating_sub(number);
        if item.provokes() && self.asked_after.is_none() && number >= item.repetitions.div_ceil(2) {
            self.asked_after = Some(number);
            if left > 0 {
                out.push(Output::Say(Line::HalfWay));
            }
        }
        if (1..=LAST_SAID).contains(&left) && item.repetitions > LAST_SAID {
            out.push(Output::Say(Line::MoreToGo(left)));
        }
    }

    /// The seconds of the phase, counted aloud up to what the tempo asks for.
    pub(super) fn count_the_phase(&mut self, t_s: f64, out: &mut Vec<Output>) {
        let At::Working(working) = &self.at else {
            return;
        };
        // An arm on its way to the start posture holds no end of a range.
        if self.is_range_test() && working.standing() != Standing::Going {
            return;
        }
        let (phase, lasting_s) = working.phase(t_s);
        let Some(asked_s) = self.asked_s(phase) else {
            self.phase_said = (phase, 0);
            return;
        };
        let (said_of, mut said) = self.phase_said;
        if said_of != phase {
            said = 0;
        }
        if f64::from(said) < asked_s && lasting_s >= f64::from(said) {
            said += 1;
            let (word, number) = (self.phase_word(phase), said);
            out.push(Output::Say(Line::Second { word, number }));
        } else if self.is_range_test() && said < u32::MAX && lasting_s >= asked_s {
            said = u32::MAX;
            out.push(Output::Say(Line::AndBack));
        }
        self.phase_said = (phase, said);
    }

    /// What the phase is called for the item at hand.
    pub(super) fn phase_word(&self, phase: Phase) -> &'static str {
        let item = self.counted().map(|(item, ..)| item);
        let eccentric = item.as_ref().and_then(CountedItem::eccentric);
        let pause = item
            .and_then(|item| item.pauses_s())
            .is_some_and(|(_, rest_s)| rest_s > 0.0);
        phase_word(phase, eccentric, pause)
    }

    /// How long the tempo asks for a phase, seconds.
    pub(super) fn asked_s(&self, phase: Phase) -> Option<f64> {
        let (item, ..) = self.counted()?;
        if item.is_range_test() {
            return item.range_test_hold_s.filter(|_| phase == Phase::Hold);
        }
        let tempo = item.tempo?;
        match phase {
            Phase::Lift => tempo.prescribed(crate::movement::MovingPhase::Lift, item.eccentric()),
            Phase::Lower => tempo.prescribed(crate::movement::MovingPhase::Lower, item.eccentric()),
            Phase::Hold => {
                let (hold_s, _) = item.pauses_s()?;
                return Some(hold_s).filter(|hold_s| *hold_s > 0.0);
            }
            Phase::Rest | Phase::None => return None,
        }
        .seconds()
    }

    /// A set or a timed item stops; it never goes on by itself.
    pub(super) fn stop(&mut self, why: Stopped, out: &mut Vec<Output>) {
        if let At::Working(working) = &mut self.at {
            self.done_before = working.done();
            working.stop();
        }
        self.close_set(why.reason(), out);
        self.at = At::Paused { why };
        out.push(Output::Say(match why {
            Stopped::Sensor => Line::SensorLost,
            Stopped::Asleep => Line::Asleep {
                weight: self.has_weight(),
            },
            Stopped::Still | Stopped::LeftPosture | Stopped::Asked => Line::DoesItHurt {
                weight: self.has_weight(),
                provokes: self.item().is_some_and(Item::provokes),
            },
        }));
    }

    /// The person has had enough of a set whose dose is done.
    pub(super) fn enough(&mut self, out: &mut Vec<Output>) {
        let asked = self.counted().map_or(0, |(item, ..)| item.repetitions);
        let At::Working(working) = &self.at else {
            return;
        };
        if working.done() >= asked {
            self.close_set(SetEndReason::Reached, out);
            out.push(Output::Say(Line::DoseDone));
            self.part_over(out);
        } else {
            self.stop(Stopped::Asked, out);
        }
    }

    /// Ends the set in the recording, if one is open.
    pub(super) fn close_set(&mut self, reason: SetEndReason, out: &mut Vec<Output>) {
        self.end_set(Some(reason), false, out);
    }

    fn end_set(&mut self, reason: Option<SetEndReason>, taken_back: bool, out: &mut Vec<Output>) {
        if std::mem::take(&mut self.set_open) {
            self.ends();
            let end = SetEnd { reason, taken_back };
            out.push(Output::Record(EventKind::SetEnd(end)));
            if std::mem::take(&mut self.misworn) {
                // The calibration says nothing of a sensor that sits elsewhere.
                self.sits_elsewhere();
            }
        }
    }
}
