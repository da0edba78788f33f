//! What an invented person reads off the page.

use crate::routine::{Item, Pace, Routine, Tempo};
use crate::session::guided::view::{ExerciseView, LiveView, Screen};
use crate::session::guided::working::Standing;
use crate::source::simulator::attentive::{Cue, Prompter, SetCue};

/// Slowly is so long each way, seconds.
const SLOW_S: f64 = 2.0;
/// The way back begins so long after it was said, seconds.
const ANSWERS_S: f64 = 0.4;

/// Follows the page for the person.
#[derive(Debug, Default)]
pub struct Prompting {
    routine: Option<Routine>,
    prompter: Prompter,
    /// Repetitions that were left when the set began.
    left: Option<u32>,
}

impl Prompting {
    /// For a session of that routine.
    pub fn new(routine: Routine) -> Prompting {
        Prompting {
            routine: Some(routine),
            ..Prompting::default()
        }
    }

    /// Where the person is told.
    pub fn prompter(&self) -> Prompter {
        self.prompter.clone()
    }

    /// The page shows this.
    pub fn follow(&mut self, screen: &Screen) {
        let cue = Cue::of(screen, |exercise, live| self.set(exercise, live));
        if !matches!(cue, Cue::Set(_)) {
            self.left = None;
        }
        self.prompter.ask(cue);
    }

    fn set(&mut self, exercise: &ExerciseView, live: &LiveView) -> SetCue {
        let left = exercise.target.saturating_sub(live.count);
        SetCue {
            movement: exercise.movement,
            posture: exercise.posture,
            tempo: self.tempo(exercise),
            repetitions: *self.left.get_or_insert(left),
            target_deg: live.target_deg,
            ready: live.standing != Standing::AwaitStill,
        }
    }

    /// The tempo that the routine asks for. In a range test it is how this person goes by the words
    /// on the page: slowly, with the stay at the end.
    fn tempo(&self, exercise: &ExerciseView) -> Option<Tempo> {
        let items = self.routine.as_ref()?.items.iter();
        let all = items.flat_map(Item::all_counted);
        let item = { all }.find(|item| {
            (item.movement, item.posture()) == (exercise.movement, exercise.posture)
                && item.is_range_test() == exercise.range_test
        })?;
        match item.range_test_hold_s {
            Some(hold_s) => Some(Tempo {
                lower_s: Pace::Seconds(SLOW_S),
                rest_s: 0.5,
                lift_s: Pace::Seconds(SLOW_S),
                hold_s: hold_s + ANSWERS_S,
            }),
            None => item.tempo,
        }
    }
}
