//! What answers about symptoms bring about.

use super::limits::{self, Hands};
use super::line::Line;
use super::press::Felt;
use super::{At, Guided, Output, SETTLES_WITHIN_S};
use crate::movement::Side;
use crate::recording::{EventKind, Reason, When};
use crate::routine::Weights;

impl Guided {
    pub(super) fn begin(&mut self, out: &mut Vec<Output>) {
        if let Weights::ReviewDue { .. } = self.plan.routine.weights_on(self.plan.today) {
            out.push(Output::Say(Line::ReviewDue));
        }
        self.at = match (self.plan.first_time, self.plan.night_asked) {
            (true, _) => At::FirstQuestions,
            (false, false) => At::Night { only: false },
            (false, true) => At::Cautions,
        };
    }

    pub(super) fn not_today(
        &mut self,
        heading: &'static str,
        words: &str,
        reason: &str,
        out: &mut Vec<Output>,
    ) {
        out.push(Output::Record(EventKind::Declined(Reason {
            reason: Some(reason.to_owned()),
        })));
        self.at = At::NotToday {
            heading,
            words: words.to_owned(),
        };
    }

    pub(super) fn symptoms(
        &mut self,
        when: When,
        left: Option<Felt>,
        right: Option<Felt>,
        out: &mut Vec<Output>,
    ) {
        for (side, felt) in [(Side::Left, left), (Side::Right, right)] {
            if let Some(felt) = felt {
                out.extend(
                    felt.events(Some(side), when)
                        .into_iter()
                        .map(Output::Record),
                );
            }
        }
        let hands = Hands {
            left: left.unwrap_or_default(),
            right: right.unwrap_or_default(),
        };
        match when {
            When::Before => {}
            When::During => {
                self.settled(&hands, out);
                return;
            }
            When::After | When::NextMorning => {
                self.worse_after = !self.are_within(&hands);
                if self.worse_after {
                    out.push(Output::Say(Line::WorseAfter));
                }
                self.at = At::Remark;
                return;
            }
        }
        self.before = hands;
        if !limits::may_begin(&self.plan.routine.limits, &hands) {
            self.not_today(
                "Not today",
                "Your pain is above what your clinician set for exercise. Rest the hand today, and ask your clinician if it stays like this.",
                "pain above the limit",
                out,
            );
            return;
        }
        if hands.numb() && !self.plan.routine.limits.weight_when_numb {
            self.weights = false;
            out.push(Output::Say(Line::NoWeightWhenNumb));
        }
        self.set_out(out);
    }

    /// Whether both hands are within the limits, against the day's start.
    fn are_within(&self, now: &Hands) -> bool {
        let limits = &self.plan.routine.limits;
        limits::within(limits, &self.before.left, &now.left)
            && limits::within(limits, &self.before.right, &now.right)
    }

    /// Goes on to the next item once symptoms are within the limits again.
    pub(super) fn settled(&mut self, now: &Hands, out: &mut Vec<Output>) {
        let within = self.are_within(now);
        let since_s = *self.over_limits_since_s.get_or_insert(self.now_s);
        if within {
            self.over_limits_since_s = None;
            self.next_item(out);
        } else if self.now_s - since_s >= SETTLES_WITHIN_S {
            self.stopped_for_symptoms = true;
            out.push(Output::Say(Line::EndOfSession));
            self.over(out);
        } else {
            self.at = At::Settling { may_go_on: false };
            out.push(Output::Say(Line::NotSettled));
        }
    }

    pub(super) fn hurts(
        &mut self,
        felt: Felt,
        side: Option<Side>,
        like: Option<String>,
        out: &mut Vec<Output>,
    ) {
        self.pain_said = true;
        out.extend(
            felt.events(side, When::During)
                .into_iter()
                .map(Output::Record),
        );
        let reason = like.unwrap_or_else(|| "pain".to_owned());
        out.push(Output::Record(EventKind::Stop(Reason {
            reason: Some(reason),
        })));
        // Which hand it is may not be known: then it is within the limits of either.
        let limits = &self.plan.routine.limits;
        let within = [
            (Side::Left, &self.before.left),
            (Side::Right, &self.before.right),
        ]
        .into_iter()
        .filter(|(own, _)| side.is_none_or(|side| side == *own))
        .all(|(_, start)| limits::within(limits, start, &felt));
        if within {
            self.at = At::Settling { may_go_on: true };
            out.push(Output::Say(Line::WithinLimits));
            return;
        }
        self.over_limits_count += 1;
        self.over_limits_since_s.get_or_insert(self.now_s);
        if self.over_limits_count > 1 {
            self.stopped_for_symptoms = true;
            out.push(Output::Say(Line::EndOfSession));
            self.over(out);
        } else {
            self.at = At::Settling { may_go_on: false };
            out.push(Output::Say(Line::EndOfItem));
        }
    }
}
