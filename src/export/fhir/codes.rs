//! The codes of this program, as a FHIR CodeSystem; the same text is published beside this file,
//! `code-system.json`. What SNOMED CT, LOINC and HL7 have a known code for is not repeated here.

use serde_json::{Value, json};

/// The address of the code system. This program owns no domain, so it is a name and no page.
pub const SYSTEM: &str = "urn:uuid:5b0c8f0e-6d0a-4f0b-9a57-2f4f3c1c7e21";

/// Version of the code system; it goes up with every change.
pub const SYSTEM_VERSION: &str = "2";

/// A code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Code {
    /// The code itself.
    pub code: &'static str,
    /// Its name.
    pub display: &'static str,
    /// What it means.
    pub definition: &'static str,
}

impl Code {
    /// As a coding.
    pub(super) fn coding(&self) -> Value {
        json!({"system": SYSTEM, "version": SYSTEM_VERSION, "code": self.code, "display": self.display})
    }

    /// As a concept of this code alone.
    pub(super) fn concept(&self) -> Value {
        json!({"coding": [self.coding()], "text": self.display})
    }
}

macro_rules! codes {
    ($($name:ident = $code:literal, $display:literal, $definition:literal;)*) => {
        $(pub(super) const $name: Code =
            Code { code: $code, display: $display, definition: $definition };)*

        /// Every code.
        pub const CODES: &[Code] = &[$($name),*];
    };
}

codes! {
    EXERCISE_SET = "exercise-set", "Exercise set",
        "A set of counted repetitions of one movement of one hand.";
    RANGE_TEST = "range-test", "Range test",
        "One direction of a joint with the empty hand, some times: out as far as is comfortable, held, and back.";
    MOVEMENT = "movement", "Movement", "The movement of the set.";
    WRIST_EXTENSION = "wrist-extension", "Wrist extension", "Bending the wrist back.";
    WRIST_FLEXION = "wrist-flexion", "Wrist flexion", "Bending the wrist towards the palm.";
    RADIAL_DEVIATION = "radial-deviation", "Radial deviation",
        "Moving the hand towards the thumb side.";
    ULNAR_DEVIATION = "ulnar-deviation", "Ulnar deviation",
        "Moving the hand towards the little-finger side.";
    SUPINATION = "supination", "Supination", "Turning the forearm palm up.";
    PRONATION = "pronation", "Pronation", "Turning the forearm palm down.";
    ARM_CIRCLES = "arm-circles", "Arm circles", "Circles of the arm, counted by whole turns.";
    POSTURE = "posture", "Posture", "How the arm is held: elbow, forearm, its direction and turn.";
    REPS_COUNTED = "reps-counted", "Repetitions counted", "Repetitions done.";
    REPS_PRESCRIBED = "reps-prescribed", "Repetitions prescribed", "Repetitions asked for.";
    REPS_INCOMPLETE = "reps-incomplete", "Repetitions incomplete",
        "Repetitions begun and cut by the end of the record.";
    REPS_DOUBTFUL = "reps-doubtful", "Repetitions in doubt",
        "Repetitions whose numbers deserve less trust; they are among the figures.";
    REPS_JUDGED = "reps-judged", "Repetitions held against the tempo",
        "Repetitions whose eccentric phase was held against the tempo band.";
    REPS_HURRIED = "reps-hurried", "Repetitions hurried", "Of those, shorter than the band.";
    REPS_SLOWER = "reps-slower", "Repetitions slower", "Of those, longer than the band.";
    LOAD = "load", "Load", "The weight in the hand; 0 is the empty hand.";
    TEMPO = "tempo", "Tempo prescribed",
        "Lower, pause at the bottom, lift, pause at the top, in seconds; X is as fast as possible.";
    ECCENTRIC_PHASE = "eccentric-phase", "Eccentric phase",
        "The phase in which the loaded muscle lengthens: lift (the way out) or lower (the way back).";
    TIMED_MEDIAN = "timed-median", "Time of the eccentric phase, median",
        "Median time of the eccentric phase, of the way back where neither phase is eccentric; repetitions whose phase the record cuts are left out.";
    TIMED_PRESCRIBED = "timed-prescribed", "Time prescribed for the eccentric phase",
        "What the tempo asks for.";
    LIFT_MEDIAN = "lift-median", "Time of the lift, median", "Median time of the travel away from the start.";
    LOWER_MEDIAN = "lower-median", "Time of the way back, median", "Median time of the way back.";
    TIME_UNDER_TENSION = "time-under-tension", "Time under tension",
        "Time in lifts and ways back, without the pauses.";
    SPARC_MEDIAN = "sparc-median", "Smoothness of the way back, median",
        "Spectral arc length (Balasubramanian et al. 2015); nearer 0 is smoother.";
    END_REASON = "end-reason", "Why the set ended", "Reached, tired, idle, stop, skip or lost.";
    RANGE_MEDIAN = "range-median", "Range of the repetitions, median",
        "Highest angle less the lower of the angles at the two ends of a repetition; hand against neutral pose, one sensor.";
    RANGE_LOWER_QUARTILE = "range-lower-quartile", "Range of the repetitions, lower quartile",
        "Definition 7 of Hyndman and Fan 1996.";
    RANGE_UPPER_QUARTILE = "range-upper-quartile", "Range of the repetitions, upper quartile",
        "Definition 7 of Hyndman and Fan 1996.";
    RANGE_GREATEST = "range-greatest", "Range of the repetitions, greatest", "The greatest range of the set.";
    ISB_PEAK_MEDIAN = "isb-peak-median", "Highest wrist angle, median, signed",
        "Against the own neutral pose by the ISB definition (Wu et al. 2005): flexion, ulnar deviation and pronation are positive; unknown without a calibration.";
    TINGLING = "tingling", "Tingling, 0 to 10", "Answer from 0 (none) to 10.";
    NUMBNESS = "numbness", "Numbness, 0 to 10", "Answer from 0 (none) to 10.";
    ANSWER_TIME = "answer-time", "Time that an answer is about", "Against the exercise.";
    BEFORE = "before", "Before the exercise", "The day's start.";
    DURING = "during", "During the exercise", "Between or within sets.";
    AFTER = "after", "After the exercise", "After the last set.";
    NEXT_MORNING = "next-morning", "The next morning", "The morning after the exercise.";
    ANSWER_ABOUT = "answer-about", "Session or item that an answer is about",
        "Given where that is not the session in which it was asked.";
    NIGHT = "night", "The night before", "Answers about the night and the day before.";
    NIGHT_WOKE = "night-woke", "Woken by the hand", "Woken in the night by the hand.";
    NIGHT_SPLINT = "night-splint", "Splint worn at night", "A splint was worn.";
    DROPPED_THINGS = "dropped-things", "Dropped things", "Things were dropped the day before.";
    HAND_SENSOR = "hand-sensor", "Motion sensor on the back of the hand",
        "Accelerometer and gyroscope, worn over the middle of the third metacarpal.";
    ANALYSIS = "analysis", "Analysis of a recording",
        "Repetitions, times and angles computed from the recorded samples.";
    SIMULATED = "simulated", "Invented data", "Played by a simulator; no person did this.";
}

/// The code system as a FHIR resource.
pub fn code_system() -> Value {
    let concepts: Vec<Value> = CODES
        .iter()
        .map(|own| json!({"code": own.code, "display": own.display, "definition": own.definition}))
        .collect();
    json!({
        "resourceType": "CodeSystem",
        "url": SYSTEM,
        "version": SYSTEM_VERSION,
        "name": "CarpotempoCodes",
        "title": "Codes of carpotempo",
        "status": "draft",
        "description": "Figures of counted wrist exercise from a motion sensor on the back of the hand, and the answers asked beside it.",
        "caseSensitive": true,
        "content": "complete",
        "count": concepts.len(),
        "concept": concepts,
    })
}
