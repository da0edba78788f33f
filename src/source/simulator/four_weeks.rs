//! Four invented weeks of one invented patient: what the demo shows. Nobody did these exercises.
//!
//! The story: the right hand has the trouble, the left is free of symptoms and there to compare.
//! Range grows slowly. In the second week, after long days, the lowering gets hurried, and one
//! session ends early because of tingling. The next morning it is asked about; the clinician halves
//! the load on the right. One session is skipped, in one the radio is lost for a moment. The last
//! week is steady. Summer time begins on a day with a session (Europe, last Sunday in March).

use jiff::civil::date;
use jiff::tz::{Offset, TimeZone};

use super::patient::{Difficulty, SetManner};
use super::random::Random;
use super::session::{Manner, Person, SetPlan, Step, simulated};
use super::unit::UnitErrors;
use crate::movement::{Movement, Side};
use crate::recording::{
    EventKind, ItemMark, ItemRef, Night, Note, PatientCode, Reason, Scale, SessionHead,
    SetEndReason, SetStart, Symptom, When,
};
use crate::routine::{CountedItem, Routine};

/// The invented patient's code.
pub const PATIENT: &str = "P-0042";
/// The two plans, as routine files.
const PLANS: [&str; 2] = [
    include_str!("four_weeks/first.toml"),
    include_str!("four_weeks/second.toml"),
];
/// What the first session's note says.
const INVENTED: &str = "Invented data: played by the simulator. No person did these exercises.";

/// One of the sessions, ready to be played.
#[derive(Debug, Clone, PartialEq)]
pub struct StorySession {
    /// What its session.json says.
    pub head: SessionHead,
    /// What happens in it.
    pub steps: Vec<Step>,
    /// Seed of everything in it that is left to chance.
    pub seed: u64,
}

/// How a day goes.
struct Day {
    month: i8,
    day: i8,
    hour: i8,
    minute: i8,
    /// Which plan, 0 or 1.
    plan: usize,
    /// Range of the right hand as a share of the left one's.
    right_ratio: f64,
    /// Lowering time over the prescribed one.
    lower_ratio: f64,
    /// The same in the last repetition of a set, over the first.
    fading_ratio: f64,
    /// Pain and tingling of the right hand before and after, 0 to 10.
    answers: [[u8; 2]; 2],
    course: Course,
    note: Option<&'static str>,
}

enum Course {
    Whole,
    /// The radio is lost for a moment in the right hand's first set.
    RadioLost,
    /// Stopped within this set of this item (both from 1) after so many repetitions.
    Stopped {
        item: usize,
        set: u32,
        after: usize,
    },
    Skipped(&'static str),
    /// Only the questions of the morning after.
    Morning,
}

const fn day(month: i8, day: i8, hour: i8, minute: i8) -> Day {
    Day {
        month,
        day,
        hour,
        minute,
        plan: 0,
        right_ratio: 0.75,
        lower_ratio: 1.0,
        fading_ratio: 0.95,
        answers: [[1, 1], [1, 1]],
        course: Course::Whole,
        note: None,
    }
}

const DAYS: [Day; 16] = [
    Day {
        right_ratio: 0.70,
        lower_ratio: 0.92,
        answers: [[2, 2], [2, 2]],
        note: Some(INVENTED),
        ..day(3, 9, 18, 10)
    },
    Day {
        right_ratio: 0.715,
        lower_ratio: 0.97,
        answers: [[2, 2], [1, 1]],
        ..day(3, 11, 18, 25)
    },
    Day {
        right_ratio: 0.725,
        answers: [[1, 2], [1, 1]],
        ..day(3, 13, 18, 5)
    },
    Day {
        right_ratio: 0.735,
        lower_ratio: 1.03,
        ..day(3, 15, 10, 40)
    },
    Day {
        right_ratio: 0.74,
        lower_ratio: 0.80,
        fading_ratio: 0.72,
        answers: [[1, 2], [1, 1]],
        note: Some("Long day, tired."),
        ..day(3, 17, 21, 35)
    },
    Day {
        right_ratio: 0.735,
        lower_ratio: 0.70,
        fading_ratio: 0.68,
        answers: [[2, 2], [1, 1]],
        note: Some("Late again, in a hurry."),
        ..day(3, 18, 21, 50)
    },
    Day {
        right_ratio: 0.71,
        lower_ratio: 0.72,
        fading_ratio: 0.75,
        answers: [[2, 3], [1, 4]],
        course: Course::Stopped {
            item: 3,
            set: 2,
            after: 4,
        },
        ..day(3, 20, 20, 15)
    },
    Day {
        course: Course::Morning,
        answers: [[1, 1], [2, 2]],
        ..day(3, 21, 8, 30)
    },
    Day {
        plan: 1,
        right_ratio: 0.72,
        lower_ratio: 1.04,
        note: Some("After the clinician's call: half the load on the right."),
        ..day(3, 24, 18, 20)
    },
    Day {
        plan: 1,
        right_ratio: 0.755,
        lower_ratio: 1.0,
        answers: [[1, 1], [0, 0]],
        course: Course::RadioLost,
        ..day(3, 26, 18, 0)
    },
    Day {
        plan: 1,
        course: Course::Skipped("visitors all evening, no time"),
        ..day(3, 27, 22, 10)
    },
    Day {
        plan: 1,
        right_ratio: 0.775,
        lower_ratio: 1.03,
        answers: [[1, 1], [0, 0]],
        note: Some("Clocks went forward last night."),
        ..day(3, 29, 10, 15)
    },
    Day {
        plan: 1,
        right_ratio: 0.79,
        lower_ratio: 1.0,
        answers: [[1, 1], [0, 0]],
        ..day(3, 30, 18, 15)
    },
    Day {
        plan: 1,
        right_ratio: 0.80,
        lower_ratio: 1.05,
        answers: [[0, 1], [0, 0]],
        ..day(4, 1, 18, 30)
    },
    Day {
        plan: 1,
        right_ratio: 0.825,
        lower_ratio: 1.02,
        answers: [[1, 1], [0, 0]],
        ..day(4, 3, 17, 55)
    },
    Day {
        plan: 1,
        right_ratio: 0.84,
        lower_ratio: 1.02,
        answers: [[0, 0], [0, 0]],
        note: Some("Four weeks done."),
        ..day(4, 5, 10, 20)
    },
];

/// Who wears the sensor, and the sensor.
pub fn person() -> Person {
    let mut random = Random::new(4242);
    Person {
        forearm_m: 0.25,
        lever_m: 0.07,
        unit: UnitErrors::consumer(104.0, &mut random),
    }
}

/// The sessions in order of time.
///
/// `None` would be a fault of the table above or of the plans; a test holds that it is not.
pub fn sessions() -> Option<Vec<StorySession>> {
    let plans: Option<Vec<Routine>> = PLANS
        .iter()
        .map(|text| Routine::from_toml(text).ok())
        .collect();
    let plans = plans?;
    DAYS.iter()
        .enumerate()
        .map(|(index, day)| story_session(index, day, plans.get(day.plan)?))
        .collect()
}

fn story_session(index: usize, day: &Day, plan: &Routine) -> Option<StorySession> {
    let seed = 420_000 + index as u64;
    // European summer time of 2026 begins on 29 March at 01:00 universal time.
    let summer = (day.month, day.day) >= (3, 29);
    let offset = Offset::constant(if summer { 2 } else { 1 });
    let started_at = date(2026, day.month, day.day)
        .at(day.hour, day.minute, 0, 0)
        .to_zoned_datetime(TimeZone::fixed(offset))
        .ok()?;
    Some(StorySession {
        head: SessionHead {
            started_at,
            patient: PATIENT.parse::<PatientCode>().ok()?,
            routine: Some(plan.clone()),
        },
        steps: steps(day, plan, &mut Random::new(seed ^ 0x5eed)),
        seed,
    })
}

fn note(text: &str) -> Step {
    Step::Say(EventKind::Note(Note {
        text: Some(text.to_owned()),
    }))
}

fn steps(day: &Day, plan: &Routine, random: &mut Random) -> Vec<Step> {
    let mut steps = vec![Step::Say(simulated("four invented weeks"))];
    steps.extend(day.note.map(note));
    match day.course {
        Course::Skipped(reason) => {
            let reason = Some(reason.to_owned());
            steps.push(Step::Say(EventKind::Skipped(Reason { reason })));
        }
        Course::Morning => {
            steps.push(Step::Say(EventKind::Night(Night {
                woke: Some(true),
                splint: Some(true),
                dropped: Some(false),
            })));
            steps.extend(questions(When::NextMorning, day, 0));
        }
        Course::Whole | Course::RadioLost | Course::Stopped { .. } => {
            exercise(day, plan, random, &mut steps);
        }
    }
    steps
}

/// Pain, tingling and numbness of both hands.
fn questions(when: When, day: &Day, nth: usize) -> Vec<Step> {
    let answer = |kind: fn(Symptom) -> EventKind, value: u8, side| {
        Step::Say(kind(Symptom {
            value: Scale::new(value),
            side: Some(side),
            when: Some(when),
            of: None,
        }))
    };
    let of = |which: usize| day.answers.get(which).and_then(|a| a.get(nth)).copied();
    let (pain, tingling) = (of(0).unwrap_or(0), of(1).unwrap_or(0));
    vec![
        answer(EventKind::Pain, 0, Side::Left),
        answer(EventKind::Tingling, 0, Side::Left),
        answer(EventKind::Numbness, 0, Side::Left),
        answer(EventKind::Pain, pain, Side::Right),
        answer(EventKind::Tingling, tingling, Side::Right),
        answer(EventKind::Numbness, 0, Side::Right),
    ]
}

fn exercise(day: &Day, plan: &Routine, random: &mut Random, steps: &mut Vec<Step>) {
    steps.extend(questions(When::Before, day, 0));
    let mut strapped = None;
    let mut lost = matches!(day.course, Course::RadioLost);
    for (index, item) in plan.items.iter().enumerate() {
        let Some(item) = item.counted() else {
            continue;
        };
        let number = index + 1;
        let mark = ItemMark {
            item: u32::try_from(number).ok().map(ItemRef::Number),
        };
        for side in item.side.sides() {
            if strapped != Some(*side) {
                steps.push(Step::Strap(*side));
                strapped = Some(*side);
            }
            steps.push(Step::Say(EventKind::ItemStart(mark.clone())));
            steps.push(Step::Calibrate {
                movement: item.movement,
                posture: item.posture(),
            });
            for set_number in 1..=item.sets {
                let stopped = match day.course {
                    Course::Stopped { item, set, after } if (item, set) == (number, set_number) => {
                        Some(after)
                    }
                    _ => None,
                };
                let lost_s = (lost && *side == Side::Right).then_some(2.5);
                lost &= lost_s.is_none();
                steps.push(Step::Set(Box::new(SetPlan {
                    start: announced(item, *side, &mark),
                    manner: Manner::Strokes(manner(day, item, *side, stopped, random)),
                    end: match stopped {
                        Some(_) => SetEndReason::Stop,
                        None => SetEndReason::Reached,
                    },
                    lost_s,
                })));
                if stopped.is_some() {
                    steps.extend(stopping(day));
                    return;
                }
                steps.push(Step::Rest(item.rest_s.unwrap_or(25.0)));
            }
            steps.push(Step::Say(EventKind::ItemEnd(mark.clone())));
        }
    }
    steps.extend(questions(When::After, day, 1));
}

fn stopping(day: &Day) -> Vec<Step> {
    let reason = Some("tingling in thumb and index finger".to_owned());
    let mut steps = vec![Step::Say(EventKind::Stop(Reason { reason }))];
    steps.extend(questions(When::During, day, 1));
    // Asked again ten minutes later in life; a demo does not wait so long.
    steps.extend(questions(When::After, day, 1));
    steps
}

fn announced(item: &CountedItem, side: Side, mark: &ItemMark) -> SetStart {
    SetStart {
        item: mark.item.clone(),
        movement: Some(item.movement),
        side: Some(side),
        load_kg: item.load_kg,
        load_shape: item.load_shape,
        posture: Some(item.posture()),
        tempo: item.tempo,
        target_reps: Some(item.repetitions),
        range_test: false,
    }
}

fn manner(
    day: &Day,
    item: &CountedItem,
    side: Side,
    stopped: Option<usize>,
    random: &mut Random,
) -> SetManner {
    // Where the hand hangs at the start, and how far the healthy side goes, degrees.
    let (start_deg, healthy_deg) = match item.movement {
        Movement::RadialDeviation => (-10.0, 28.0),
        Movement::WristFlexion => (-15.0, 62.0),
        _ => (-12.0, 56.0),
    };
    let hand_ratio = match side {
        Side::Left => 1.0,
        Side::Right => day.right_ratio,
    };
    let chance = |random: &mut Random, spread: f64| 1.0 + spread * random.normal().clamp(-2.0, 2.0);
    let prescribed = |seconds: Option<f64>| seconds.unwrap_or(2.0);
    let tempo = item.tempo;
    let lower_s = prescribed(tempo.and_then(|tempo| tempo.lower_s.seconds()));
    let lift_s = prescribed(tempo.and_then(|tempo| tempo.lift_s.seconds()));
    // Hurry takes from the lift as well, though less.
    let lift_ratio = 0.5 + 0.5 * day.lower_ratio;
    let hurried = day.lower_ratio < 0.9;
    SetManner {
        repetitions: stopped.unwrap_or(item.repetitions as usize),
        travel_deg: healthy_deg * hand_ratio * chance(random, 0.015),
        lift_s: lift_s * lift_ratio * chance(random, 0.04),
        hold_s: tempo.map_or(1.0, |tempo| tempo.hold_s) * if hurried { 0.4 } else { 0.9 },
        lower_s: 1.12 * lower_s * day.lower_ratio * chance(random, 0.03),
        rest_s: random.between(0.4, 0.8),
        still_start_s: random.between(1.6, 2.4),
        start_deg,
        spread_ratio: 0.05,
        last_travel_ratio: if hurried { 0.88 } else { 0.96 },
        last_time_ratio: day.fading_ratio,
        elbow: None,
        difficulties: if random.chance(0.2) {
            vec![Difficulty::Fidgets]
        } else {
            Vec::new()
        },
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
    use crate::source::simulator::session::SIMULATED;

    #[test]
    fn the_story_is_told_in_order_and_crosses_the_change_to_summer_time() {
        let sessions = sessions().unwrap();
        assert_eq!(sessions.len(), DAYS.len());
        let starts: Vec<_> = sessions.iter().map(|s| &s.head.started_at).collect();
        assert!(starts.is_sorted());
        let offsets: Vec<i32> = starts.iter().map(|s| s.offset().seconds()).collect();
        assert_eq!(*offsets.first().unwrap(), 3600);
        assert_eq!(*offsets.last().unwrap(), 7200);
    }

    /// Source: the time zone database's rule for central Europe, where the system has it.
    #[test]
    fn the_offsets_are_those_of_central_europe() {
        let Ok(zone) = TimeZone::get("Europe/Berlin") else {
            return;
        };
        for session in sessions().unwrap() {
            let start = &session.head.started_at;
            let there = start.timestamp().to_zoned_datetime(zone.clone());
            assert_eq!(there.offset(), start.offset(), "{start}");
        }
    }

    #[test]
    fn every_session_says_that_it_is_invented() {
        for session in sessions().unwrap() {
            let Some(Step::Say(kind)) = session.steps.first() else {
                panic!("{}", session.head.started_at);
            };
            assert_eq!(kind.name(), SIMULATED);
        }
    }
}
