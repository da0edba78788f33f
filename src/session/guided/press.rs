//! What a person answers or asks for on the page.

use serde::Deserialize;

use crate::movement::Side;
use crate::recording::{EventKind, Night, Reason, Scale, Symptom, When};

/// A press on the page. One that does not fit the screen is ignored: two windows may show the same
/// session, and a click may come late.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "press", rename_all = "kebab-case")]
pub enum Press {
    /// Begin the session, or go on with an unfinished one.
    Begin,
    /// Begin from the first exercise, though there is an unfinished session to go on with.
    BeginAnew,
    /// Only the questions about the night and the day.
    OnlyQuestions,
    /// One of the first questions applies to me.
    Applies,
    /// None of the first questions applies to me.
    NoneApplies,
    /// How the night and the morning after the last session were.
    Night(NightAnswer),
    /// I have read this; go on.
    Next,
    /// Pain, tingling and numbness now, each hand that was asked about.
    Symptoms {
        /// The left hand's.
        left: Option<Felt>,
        /// The right hand's.
        right: Option<Felt>,
    },
    /// Yes, to the question on the screen.
    Yes,
    /// No, to the question on the screen.
    No,
    /// It hurts, or I want to pause.
    Pause,
    /// How much it hurts, what it is like, and where.
    Hurts {
        /// How much, 0 to 10.
        felt: Felt,
        /// Which hand.
        side: Option<Side>,
        /// What it is like, in a word of the page's choice.
        like: Option<String>,
    },
    /// Go on, gently.
    GoOn,
    /// More time to rest.
    MoreTime,
    /// Leave this item out.
    Skip {
        /// Why, in a word of the page's choice.
        reason: Option<String>,
    },
    /// Enough of the set: the dose is done and nothing more is wanted; or it is paused, and what was
    /// done is enough.
    Enough,
    /// Finish here for today.
    FinishHere,
    /// Words for the clinician.
    Remark {
        /// The words.
        text: String,
    },
}

/// Pain, tingling and numbness of one hand.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub struct Felt {
    /// Pain, 0 to 10.
    pub pain: Option<Scale>,
    /// Tingling, 0 to 10.
    pub tingling: Option<Scale>,
    /// Numbness, 0 to 10.
    pub numbness: Option<Scale>,
}

impl Felt {
    /// The events that keep the answer.
    pub fn events(&self, side: Option<Side>, when: When) -> Vec<EventKind> {
        let symptom = |value: Option<Scale>| {
            value.map(|value| Symptom {
                value: Some(value),
                side,
                when: Some(when),
                of: None,
            })
        };
        [
            symptom(self.pain).map(EventKind::Pain),
            symptom(self.tingling).map(EventKind::Tingling),
            symptom(self.numbness).map(EventKind::Numbness),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// How the night and the morning after the last session were.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct NightAnswer {
    /// Woken, splint, dropped things.
    #[serde(flatten)]
    pub night: Night,
    /// The left hand this morning.
    pub left: Felt,
    /// The right hand this morning.
    pub right: Felt,
    /// Why the last session was left out, if it was.
    pub skipped: Option<String>,
}

impl NightAnswer {
    /// The events that keep the answer.
    pub fn events(&self) -> Vec<EventKind> {
        let mut events = vec![EventKind::Night(self.night.clone())];
        for (side, felt) in [(Side::Left, self.left), (Side::Right, self.right)] {
            events.extend(felt.events(Some(side), When::NextMorning));
        }
        if let Some(reason) = &self.skipped {
            events.push(EventKind::Skipped(Reason {
                reason: Some(reason.clone()),
            }));
        }
        events
    }
}
