//! What an invented person reads off the page.

use crate::routine::{Item, Routine};
use crate::session::guided::view::{ExerciseView, LiveView, Screen};
use crate::session::guided::working::Standing;
use crate::source::simulator::attentive::{Cue, Prompter, SetCue};

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
        let cue = match screen {
            Screen::Working { exercise, live } => Cue::Set(self.set(exercise, live)),
            Screen::Place { side, .. } => Cue::Strap(*side),
            Screen::Calibrate {
                movement,
                posture,
                move_now,
                ..
            } => Cue::Calibrate {
                movement: *movement,
                posture: *posture,
                move_now: *move_now,
            },
            _ => Cue::Rest,
        };
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
            tempo: self.item(exercise).and_then(|item| item.tempo),
            repetitions: *self.left.get_or_insert(left),
            target_deg: live.target_deg,
            ready: live.standing != Standing::AwaitStill,
        }
    }

    fn item(&self, exercise: &ExerciseView) -> Option<&crate::routine::CountedItem> {
        self.routine
            .as_ref()?
            .items
            .iter()
            .find_map(|item| match item {
                Item::Counted(item)
                    if item.movement == exercise.movement && item.posture() == exercise.posture =>
                {
                    Some(item)
                }
                _ => None,
            })
    }
}
