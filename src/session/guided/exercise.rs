//! The items of a routine as they are done: words, weights, times.

use super::view::ExerciseView;
use crate::movement::{Movement, Side};
use crate::routine::{CountedItem, Part, Routine, Tempo};

/// The movement in a patient's words.
pub fn patient_words(movement: Movement) -> &'static str {
    match movement {
        Movement::WristExtension => "Bend back",
        Movement::WristFlexion => "Bend down",
        Movement::RadialDeviation => "Thumb side",
        Movement::UlnarDeviation => "Little-finger side",
        Movement::Supination => "Palm up",
        Movement::Pronation => "Palm down",
        Movement::ArmCircles => "Arm circles",
    }
}

/// A load in words; `None` is not prescribed.
pub fn load_words(load_kg: Option<f64>, load_lb: Option<f64>) -> String {
    match (load_kg, load_lb) {
        (Some(0.0), _) => "empty hand".to_owned(),
        (_, Some(load_lb)) => format!("{load_lb} lb"),
        (Some(load_kg), None) => format!("{load_kg} kg"),
        (None, None) => "weight as you were told".to_owned(),
    }
}

/// The item as it is done today: without weight where none is offered.
pub fn today(item: &CountedItem, weights: bool) -> CountedItem {
    match weights {
        true => item.clone(),
        false => item.without_weight(),
    }
}

/// The item as the page shows it.
pub fn shown(routine: &Routine, item: &CountedItem, part: &Part, side: Side) -> ExerciseView {
    ExerciseView {
        movement: item.movement,
        words: patient_words(item.movement),
        side,
        posture: item.posture(),
        load_kg: item.load_kg,
        load_shape: item.load_shape,
        load_words: load_words(item.load_kg, item.load_lb),
        tempo_words: item.tempo.as_ref().map(Tempo::words),
        target: item.repetitions,
        round_of: [part.round, routine.rounds],
        set_of: [part.set, item.sets],
        own_words: item.words.clone(),
        caution: item.movement.caution(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_is_said_as_it_was_written() {
        assert_eq!(load_words(Some(0.0), None), "empty hand");
        assert_eq!(load_words(Some(0.907), Some(2.0)), "2 lb");
        assert_eq!(load_words(Some(0.5), None), "0.5 kg");
        assert_eq!(load_words(None, None), "weight as you were told");
    }
}
