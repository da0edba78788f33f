//! The items of a routine as they are done: words, weights, times.

use super::line::range_title;
use super::view::{AskedView, ExerciseView};
use crate::movement::{MovingPhase, RANGE_TEST_CAUTION, Side};
use crate::reps::Repetition;
use crate::routine::{CountedItem, Item, Part, Routine, TempoBand, Verdict};

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

/// How the tempo was kept, as far as it can be told to a person's face: nobody is called hurried, nor
/// a set ended, who may have taken the time that was asked for.
pub fn told(item: &CountedItem, band: &TempoBand, repetition: &Repetition) -> Option<Verdict> {
    let verdict = repetition.verdict?;
    let (Some(tempo), Some(eccentric)) = (item.tempo, item.eccentric()) else {
        return Some(verdict);
    };
    let actual_s = match eccentric {
        MovingPhase::Lift => repetition.lift_s(),
        MovingPhase::Lower => repetition.lower_s(),
    };
    let sure = verdict != Verdict::Hurried
        || band.surely_hurried(actual_s, repetition.range_deg, tempo.lower_s);
    sure.then_some(verdict)
}

/// The item as the page shows it.
pub fn shown(routine: &Routine, item: &CountedItem, part: &Part, side: Side) -> ExerciseView {
    ExerciseView {
        movement: item.movement,
        words: if item.is_range_test() {
            range_title(item)
        } else {
            item.movement.said_first(&item.posture()).to_owned()
        },
        range_test: item.is_range_test(),
        side,
        posture: item.posture(),
        load_kg: item.load_kg,
        load_shape: item.load_shape,
        load_words: load_words(item.load_kg, item.load_lb),
        tempo_words: item.tempo_words(),
        asked: asked(item),
        target: item.repetitions,
        round_of: [part.round, routine.rounds],
        set_of: [part.set, routine.item(part).map_or(item.sets, Item::sets)],
        own_words: item.words.clone(),
        caution: caution(item),
    }
}

/// What to be careful of: a range test has nothing in the hand.
pub fn caution(item: &CountedItem) -> &'static str {
    if item.is_range_test() {
        RANGE_TEST_CAUTION
    } else {
        item.movement.caution()
    }
}

/// The times of the phases as they happen: the code's first number belongs to the eccentric one.
fn asked(item: &CountedItem) -> Option<AskedView> {
    let tempo = item.tempo?;
    let moving_s = |phase| tempo.prescribed(phase, item.eccentric()).seconds();
    let (hold_s, rest_s) = item.pauses_s()?;
    Some(AskedView {
        lift_s: moving_s(MovingPhase::Lift),
        hold_s,
        lower_s: moving_s(MovingPhase::Lower),
        rest_s,
    })
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
