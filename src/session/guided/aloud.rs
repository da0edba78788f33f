//! The words of a phase while it lasts, counted by the second, and how a line is to be spoken.

use super::line::Line;
use crate::movement::MovingPhase;
use crate::pipeline::live::Phase;

/// What a phase is called while it lasts. Which way is up or down goes by which one is eccentric;
/// where nothing goes up or down, it is out and back. Nothing is said between two repetitions but
/// where the tempo asks for a pause there.
pub fn phase_word(phase: Phase, eccentric: Option<MovingPhase>, pause_asked: bool) -> &'static str {
    match (phase, eccentric) {
        (Phase::Lift, Some(MovingPhase::Lower)) | (Phase::Lower, Some(MovingPhase::Lift)) => "up",
        (Phase::Lower, Some(MovingPhase::Lower)) | (Phase::Lift, Some(MovingPhase::Lift)) => "down",
        (Phase::Lift, None) => "out",
        (Phase::Lower, None) => "back",
        (Phase::Hold, _) => "hold",
        (Phase::Rest, _) if pause_asked => "wait",
        (Phase::Rest | Phase::None, _) => "",
    }
}

/// A second of a phase: "down, two, three, four".
pub(super) fn second(word: &str, number: u32) -> String {
    let number = match number {
        1 => word,
        2 => "two",
        3 => "three",
        4 => "four",
        5 => "five",
        6 => "six",
        7 => "seven",
        8 => "eight",
        _ => return number.to_string(),
    };
    number.to_owned()
}

/// How urgent a line is. No two are ever spoken at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Urgency {
    /// Said at once, whatever is being counted: a stop, a question, what comes next.
    Other,
    /// A word about a repetition: after its count, never over it.
    Remark,
    /// A repetition's number.
    Count,
    /// A second of a phase; one that comes late is left out.
    Second,
}

impl Urgency {
    /// The word that the page gets.
    pub fn name(self) -> &'static str {
        match self {
            Urgency::Other => "other",
            Urgency::Remark => "remark",
            Urgency::Count => "count",
            Urgency::Second => "second",
        }
    }
}

impl Line {
    /// How urgent it is.
    pub fn urgency(&self) -> Urgency {
        match self {
            Line::Second { .. } | Line::AndBack => Urgency::Second,
            Line::Count(_) => Urgency::Count,
            Line::MoreToGo(_)
            | Line::FarEnough
            | Line::AsFarAsComfortable
            | Line::Slower
            | Line::ForearmAway
            | Line::Worn(_)
            | Line::ForearmDown
            | Line::Position(_) => Urgency::Remark,
            _ => Urgency::Other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(phase: Phase, eccentric: Option<MovingPhase>) -> Vec<String> {
        let word = phase_word(phase, eccentric, false);
        (1..=4).map(|number| second(word, number)).collect()
    }

    fn first(phase: Phase, eccentric: Option<MovingPhase>) -> &'static str {
        phase_word(phase, eccentric, false)
    }

    #[test]
    fn a_lowering_of_four_is_counted_down_two_three_four() {
        let curl = Some(MovingPhase::Lower);
        assert_eq!(said(Phase::Lower, curl), ["down", "two", "three", "four"]);
        assert_eq!(first(Phase::Lift, curl), "up");
    }

    #[test]
    fn a_way_out_that_lets_the_weight_down_is_down() {
        let turn = Some(MovingPhase::Lift);
        assert_eq!(first(Phase::Lift, turn), "down");
        assert_eq!(first(Phase::Lower, turn), "up");
    }

    #[test]
    fn a_turn_without_a_load_goes_out_and_back() {
        assert_eq!(first(Phase::Lift, None), "out");
        assert_eq!(first(Phase::Lower, None), "back");
        assert_eq!(first(Phase::Hold, None), "hold");
    }

    #[test]
    fn nothing_between_two_repetitions_is_called_a_rest() {
        for eccentric in [None, Some(MovingPhase::Lift), Some(MovingPhase::Lower)] {
            assert_eq!(phase_word(Phase::Rest, eccentric, false), "");
            assert_eq!(phase_word(Phase::Rest, eccentric, true), "wait");
        }
    }
}
