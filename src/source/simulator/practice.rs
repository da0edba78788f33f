//! The practice set: six invented recordings to learn to see by, one of each case, in an order that the
//! seed draws, and the truth about them.
//!
//! Ours. All six are the same exercise by the same person under the same tempo, so that nothing but the
//! movement tells them apart. Sizes are invented (common practice, no source) but for the oblique axis
//! (Crisco et al. 2011, see `session`).

use crate::movement::{LoadShape, Movement, Side};
use crate::recording::{MARKS_COLUMNS, RecordingError, SessionHead, SetEndReason, SetStart};
use crate::routine::Tempo;

use super::patient::{Difficulty, SetManner};
use super::random::Random;
use super::session::{Manner, Person, Played, SetPlan, Step, TrueSet, play, simulated};
use super::timeline::ElbowHelp;
use super::unit::UnitErrors;

/// What is to be seen in a recording.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PracticeCase {
    /// As asked.
    Ordinary,
    /// The lowering takes a third of the time asked for.
    Hurried,
    /// The range falls to half within the set.
    Shrinking,
    /// The forearm does half of the turn.
    ElbowHelping,
    /// The hold is long and sags.
    SaggingHold,
    /// Ulnar deviation goes along with flexion.
    ObliqueCurl,
}

/// Share of the turn that the helping elbow does.
const ELBOW_SHARE: f64 = 0.5;
/// Samples a second.
const RATE_HZ: f64 = 52.0;
/// When all of them are said to have begun, seconds since 1970: 2 March 2026, 10:00.
const STARTED_AT_S: i64 = 1_772_445_600;
/// What the person was asked for: lower in four, lift in two, hold one.
const TEMPO: &str = "4-0-2-1";

impl PracticeCase {
    /// Every case.
    pub const ALL: [PracticeCase; 6] = [
        PracticeCase::Ordinary,
        PracticeCase::Hurried,
        PracticeCase::Shrinking,
        PracticeCase::ElbowHelping,
        PracticeCase::SaggingHold,
        PracticeCase::ObliqueCurl,
    ];

    /// Its name in a file of truth.
    pub fn name(self) -> &'static str {
        match self {
            PracticeCase::Ordinary => "ordinary",
            PracticeCase::Hurried => "hurried",
            PracticeCase::Shrinking => "shrinking",
            PracticeCase::ElbowHelping => "elbow-helping",
            PracticeCase::SaggingHold => "sagging-hold",
            PracticeCase::ObliqueCurl => "oblique-curl",
        }
    }

    /// The case of that name.
    pub fn from_name(name: &str) -> Option<PracticeCase> {
        PracticeCase::ALL
            .into_iter()
            .find(|case| case.name() == name)
    }

    /// What it was, and what there was to see.
    pub fn words(self) -> &'static str {
        match self {
            PracticeCase::Ordinary => "the ordinary one: two up, one held, four down, as asked",
            PracticeCase::Hurried => {
                "the hurried one: the lowering took about a third of the four seconds asked for"
            }
            PracticeCase::Shrinking => {
                "the shrinking one: from the first repetition to the last the range fell to half, and the times with it"
            }
            PracticeCase::ElbowHelping => {
                "the one with the elbow helping: half of the hand's turn was the forearm's, so the wrist went half as far as the hand"
            }
            PracticeCase::SaggingHold => {
                "the one with the sagging hold: the hand stayed up for six seconds and sank by a few degrees, more slowly than a lowering"
            }
            PracticeCase::ObliqueCurl => {
                "the oblique curl: the hand went to the little finger's side as it curled, which is how a wrist turns and no fault"
            }
        }
    }

    /// Share of the hand's turn that is the forearm's.
    pub fn elbow_share_ratio(self) -> f64 {
        match self {
            PracticeCase::ElbowHelping => ELBOW_SHARE,
            _ => 0.0,
        }
    }

    fn manner(self, random: &mut Random) -> Manner {
        let usual = SetManner {
            lift_s: 2.2,
            lower_s: 4.4,
            rest_s: 1.2,
            start_deg: -12.0,
            ..SetManner::ordinary(random.whole(7, 10), random.between(46.0, 54.0))
        };
        Manner::Strokes(match self {
            PracticeCase::Ordinary => usual,
            PracticeCase::ObliqueCurl => return Manner::Oblique(usual),
            PracticeCase::Hurried => SetManner {
                lift_s: 1.4,
                lower_s: 1.4,
                hold_s: 0.4,
                spread_ratio: 0.12,
                ..usual
            },
            PracticeCase::Shrinking => SetManner {
                last_travel_ratio: 0.5,
                last_time_ratio: 0.7,
                ..usual
            },
            PracticeCase::ElbowHelping => SetManner {
                elbow: Some(ElbowHelp::steady(ELBOW_SHARE)),
                ..usual
            },
            PracticeCase::SaggingHold => SetManner {
                hold_s: 6.0,
                difficulties: vec![Difficulty::LongHold],
                ..usual
            },
        })
    }
}

/// One recording of the set.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticeRecording {
    /// Its name, which says nothing.
    pub name: String,
    /// What it is.
    pub case: PracticeCase,
    /// What session.json says.
    pub head: SessionHead,
    /// The recording.
    pub played: Played,
}

/// The practice set of a seed: the same seed gives the same set.
///
/// # Errors
/// None in fact: the head's own texts are read.
pub fn practice_set(seed: u64) -> Result<Vec<PracticeRecording>, RecordingError> {
    let mut random = Random::new(seed);
    let mut cases = PracticeCase::ALL;
    // Fisher and Yates, from the end.
    for last in (1..cases.len()).rev() {
        cases.swap(last, random.whole(0, last));
    }
    let patient = "practice".parse()?;
    let started_at = jiff::Timestamp::from_second(STARTED_AT_S)
        .unwrap_or(jiff::Timestamp::UNIX_EPOCH)
        .to_zoned_datetime(jiff::tz::TimeZone::fixed(jiff::tz::offset(0)));
    let head = SessionHead {
        started_at,
        patient,
        routine: None,
    };
    Ok(cases
        .into_iter()
        .enumerate()
        .map(|(place, case)| PracticeRecording {
            name: format!("practice-{}", place + 1),
            case,
            head: head.clone(),
            played: played(case, &mut random),
        })
        .collect())
}

fn played(case: PracticeCase, random: &mut Random) -> Played {
    let person = Person {
        forearm_m: 0.26,
        lever_m: 0.07,
        unit: UnitErrors::consumer(RATE_HZ, random),
    };
    let movement = Movement::WristFlexion;
    let side = Side::Right;
    let start = SetStart {
        item: None,
        movement: Some(movement),
        side: Some(side),
        load_kg: Some(0.5),
        load_shape: Some(LoadShape::Centred),
        posture: Some(movement.usual_posture()),
        tempo: TEMPO.parse::<Tempo>().ok(),
        // A number asked for would be a hint.
        target_reps: None,
        range_test: false,
    };
    let steps = [
        Step::Wear(side),
        Step::Say(simulated("a recording of the practice set")),
        Step::Calibrate {
            movement,
            posture: movement.usual_posture(),
        },
        Step::Set(Box::new(SetPlan {
            start,
            manner: case.manner(random),
            end: SetEndReason::Reached,
            lost_s: None,
        })),
    ];
    play(&person, &steps, random)
}

impl PracticeRecording {
    /// The set that is to be marked.
    pub fn set(&self) -> Option<&TrueSet> {
        self.played.truth.first()
    }

    /// The truth as CSV: a file of marks with what else is true; `range_deg` is the wrist's own.
    pub fn truth_csv(&self) -> String {
        let mut text = MARKS_COLUMNS.join(",") + ",range_deg,elbow_share_ratio,case\n";
        let share = self.case.elbow_share_ratio();
        let reps = self.set().map(|set| set.reps.as_slice());
        for (place, rep) in reps.unwrap_or_default().iter().enumerate() {
            text.push_str(&format!(
                "{},{:.3},{:.3},{:.3},{:.3},{:.2},{share},{}\n",
                place + 1,
                rep.lift_start_s,
                rep.lift_end_s,
                rep.lower_start_s,
                rep.lower_end_s,
                rep.range_deg * (1.0 - share),
                self.case.name()
            ));
        }
        text
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::panic,
        reason = "a test stops at the first surprise"
    )]
    use super::*;

    #[test]
    fn a_seed_gives_one_of_each_case_and_always_the_same() {
        let names = |seed| -> Vec<&str> {
            let set = practice_set(seed).unwrap();
            set.iter().map(|own| own.case.name()).collect()
        };
        let mut sorted = names(1);
        assert_eq!(sorted, names(1));
        assert!(
            (2..6).any(|seed| names(seed) != sorted),
            "the order is drawn"
        );
        sorted.sort_unstable();
        let mut all = PracticeCase::ALL.map(PracticeCase::name);
        all.sort_unstable();
        assert_eq!(sorted, all);
        assert_eq!(
            practice_set(3).unwrap().first(),
            practice_set(3).unwrap().first()
        );
    }

    /// What is said of a case holds of its truth.
    #[test]
    fn each_case_is_what_it_says() {
        for recording in practice_set(11).unwrap() {
            let reps = &recording.set().unwrap().reps;
            assert!((7..=10).contains(&reps.len()));
            let mean = |of: fn(&super::super::truth::TrueRepetition) -> f64| {
                reps.iter().map(of).sum::<f64>() / reps.len() as f64
            };
            let lower_s = mean(|rep| rep.lower_end_s - rep.lower_start_s);
            let hold_s = mean(|rep| rep.lower_start_s - rep.lift_end_s);
            let (Some(first), Some(last)) = (reps.first(), reps.last()) else {
                panic!("no repetitions");
            };
            let shrunk = last.range_deg / first.range_deg;
            let hurried = recording.case == PracticeCase::Hurried;
            assert_eq!(lower_s < 2.0, hurried, "{:?} {lower_s}", recording.case);
            let shrinking = recording.case == PracticeCase::Shrinking;
            assert_eq!(shrunk < 0.7, shrinking, "{:?} {shrunk}", recording.case);
            let sagging = recording.case == PracticeCase::SaggingHold;
            assert_eq!(hold_s > 4.0, sagging, "{:?} {hold_s}", recording.case);
        }
    }
}
