//! What a routine may hold: the keys of each table, and what each key takes.

/// A key of a table.
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) required: bool,
    pub(super) takes: Takes,
    /// What it means, and after a semicolon what holds where it is left out.
    pub(super) means: &'static str,
}

/// What a key takes.
pub(super) enum Takes {
    /// Words of a person.
    Text,
    /// Yes or no.
    Flag,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A whole number from the first to the second.
    Whole(i64, i64),
    /// A number from the first to the second, in the unit named.
    Number(f64, f64, &'static str),
    /// A day.
    Day,
    /// A tempo: the code, or a table of the four parts.
    Tempo,
    /// A part of a tempo: seconds or X.
    Pace,
    /// A table of its own.
    Table(&'static [Key]),
    /// Nothing: it cannot stand here, for this reason.
    Nothing(&'static str),
    /// An array of tables, each of the kind that its `kind` names.
    Items(&'static [(&'static str, &'static [Key])]),
}

impl Key {
    /// Whether it may stand where it is listed.
    pub(super) fn may_stand(&self) -> bool {
        !matches!(self.takes, Takes::Nothing(_))
    }
}

const fn key(name: &'static str, takes: Takes, means: &'static str) -> Key {
    Key {
        name,
        required: false,
        takes,
        means,
    }
}

const fn required(name: &'static str, takes: Takes, means: &'static str) -> Key {
    Key {
        name,
        required: true,
        takes,
        means,
    }
}

/// Most rounds of a session.
pub(super) const MOST_ROUNDS: u32 = 10;
/// Most sets of an item in a round.
pub(super) const MOST_SETS: u32 = 20;

pub(super) const ROUTINE: &[Key] = &[
    required("title", Takes::Text, "its name, for headings"),
    key("source", Takes::Text, "where the dose comes from"),
    key("words", Takes::Text, "your own words for the whole routine"),
    key(
        "rounds",
        Takes::Whole(1, MOST_ROUNDS as i64),
        "how often the list is gone through in a session; 1",
    ),
    key(
        "order",
        Takes::Word(&["hand-by-hand", "item-by-item"]),
        "how the hands take turns; hand-by-hand, one strap change",
    ),
    key(
        "sessions_a_week",
        Takes::Whole(1, 28),
        "how many are asked for",
    ),
    key(
        "screened_on",
        Takes::Day,
        "the day on which the questions before the first session were gone through",
    ),
    key("contact", Takes::Text, "whom to ask, and how"),
    key(
        "review_by",
        Takes::Day,
        "the last day on which the routine holds; after it no weight is offered",
    ),
    key("limits", Takes::Table(LIMITS), "when to stop"),
    key("form", Takes::Table(FORM), "when a set has become tired"),
    key(
        "tempo_band",
        Takes::Table(TEMPO_BAND),
        "what counts as in tempo",
    ),
    required("items", Takes::Items(ITEMS), "what is done, in order"),
];

const LIMITS: &[Key] = &[
    key(
        "pain_max",
        Takes::Whole(0, 10),
        "highest pain to go on with, of 10; 3",
    ),
    key(
        "pain_rise_max",
        Takes::Whole(0, 10),
        "highest rise of pain above the day's start; 2",
    ),
    key(
        "tingling_rise_max",
        Takes::Whole(0, 10),
        "highest rise of tingling above the day's start; 0: any ends the set",
    ),
    key(
        "numbness_rise_max",
        Takes::Whole(0, 10),
        "highest rise of numbness above the day's start; 0: any ends the set",
    ),
    key(
        "weight_when_numb",
        Takes::Flag,
        "whether a weight may be held on a day that starts with numb fingers; false",
    ),
];

const FORM: &[Key] = &[
    key(
        "hurried_in_a_row",
        Takes::Whole(1, 50),
        "as many hurried or short repetitions in a row end the set; 3",
    ),
    key(
        "least_range_ratio",
        Takes::Number(0.0, 1.0, "of the range of the set's first three"),
        "shorter than this is short; 0.6",
    ),
];

const TEMPO_BAND: &[Key] = &[
    key(
        "low_ratio",
        Takes::Number(0.1, 1.0, "of the prescribed time"),
        "below it a lowering is hurried; 0.75",
    ),
    key(
        "high_ratio",
        Takes::Number(1.0, 10.0, "of the prescribed time"),
        "above it a lowering is slower than asked; 1.5",
    ),
];

/// The kinds of item and the keys of each.
pub(super) const ITEMS: &[(&str, &[Key])] = &[
    ("counted", COUNTED),
    ("range-test", RANGE_TEST),
    ("stretch", STRETCH),
    ("timed", TIMED),
];

pub(super) const MOVEMENTS: &[&str] = &[
    "wrist-extension",
    "wrist-flexion",
    "radial-deviation",
    "ulnar-deviation",
    "supination",
    "pronation",
    "arm-circles",
];

const PLANES: &[&str] = &[
    "flexion-extension",
    "radial-ulnar-deviation",
    "pronation-supination",
];

const STRETCHES: &[&str] = &[
    "bend-back",
    "bend-down",
    "palms-together",
    "backs-together",
    "forearm-turned-up",
    "forearm-turned-down",
    "fingers-spread",
    "thumb-out",
];

const ACTIVITIES: &[&str] = &[
    "tendon-glides",
    "shaking",
    "self-massage",
    "breathing",
    "own-words",
];

const SIDES: &[&str] = &["left", "right", "both"];

const COUNTED: &[Key] = &[
    required(
        "kind",
        Takes::Word(&["counted"]),
        "a movement whose repetitions are counted and timed",
    ),
    required("movement", Takes::Word(MOVEMENTS), "which one"),
    required("side", Takes::Word(SIDES), "for which hand"),
    key(
        "sets",
        Takes::Whole(1, MOST_SETS as i64),
        "sets in one round; 1",
    ),
    required("repetitions", Takes::Whole(1, 200), "repetitions of a set"),
    key(
        "extra_repetitions_max",
        Takes::Whole(0, 50),
        "how many more may be done if it goes easily; 0",
    ),
    key(
        "load_kg",
        Takes::Number(0.0, 20.0, "kg"),
        "the weight; 0 is the empty hand",
    ),
    key(
        "load_lb",
        Takes::Number(0.0, 44.0, "lb"),
        "the weight, in place of load_kg",
    ),
    key(
        "load_shape",
        Takes::Word(&["centred", "one-sided"]),
        "where its mass lies",
    ),
    key(
        "rest_s",
        Takes::Number(0.0, 1800.0, "s"),
        "pause after a set; 60",
    ),
    key(
        "provokes",
        Takes::Flag,
        "whether it can bring on tingling; as the catalogue says",
    ),
    key("words", Takes::Text, "your own words for it"),
    key(
        "tempo",
        Takes::Tempo,
        "how slowly: lowering, pause at the bottom, lift, pause at the top",
    ),
    key(
        "push_s",
        Takes::Number(0.1, super::LONGEST_PART_S, "s"),
        "of a rotation, in place of a tempo: out to the end",
    ),
    key(
        "back_s",
        Takes::Number(0.1, super::LONGEST_PART_S, "s"),
        "of a rotation, in place of a tempo: the way back",
    ),
    key("range", Takes::Table(RANGE), "how far"),
    key(
        "posture",
        Takes::Table(POSTURE),
        "how the arm is held; the movement's usual posture",
    ),
];

const EMPTY_HAND: &str =
    "a range test is always done with an empty hand: a hand that grips goes less far";
const NO_TEMPO: &str =
    "a range test goes as slowly as is comfortable; only hold_s, the stay at the end, is asked for";
const NO_TARGET: &str = "a range test goes as far as is comfortable; only no_further_deg, where to turn back, can be said";
const NO_DOSE: &str = "a range test says times, how often each direction";

/// A key that cannot stand in an item.
const fn refused(name: &'static str, reason: &'static str) -> Key {
    key(name, Takes::Nothing(reason), "")
}

const RANGE_TEST: &[Key] = &[
    required(
        "kind",
        Takes::Word(&["range-test"]),
        "how far a joint goes with the empty hand: out as far as is comfortable, held at the end, back, each direction by itself",
    ),
    required("plane", Takes::Word(PLANES), "its two directions"),
    required("side", Takes::Word(SIDES), "for which hand"),
    key("times", Takes::Whole(1, 10), "how often each direction; 3"),
    key(
        "hold_s",
        Takes::Number(0.5, 10.0, "s"),
        "how long the hand stays at the end; 1",
    ),
    key(
        "no_further_deg",
        Takes::Number(1.0, 180.0, "degrees"),
        "where to turn back at the latest, from the neutral pose",
    ),
    key("words", Takes::Text, "your own words for it"),
    key(
        "posture",
        Takes::Table(POSTURE),
        "how the arm is held; rested and level, palm down for flexion and extension, else thumb up",
    ),
    refused("load_kg", EMPTY_HAND),
    refused("load_lb", EMPTY_HAND),
    refused("load_shape", EMPTY_HAND),
    refused("tempo", NO_TEMPO),
    refused("push_s", NO_TEMPO),
    refused("back_s", NO_TEMPO),
    refused("range", NO_TARGET),
    refused("target_deg", NO_TARGET),
    refused("sets", NO_DOSE),
    refused("repetitions", NO_DOSE),
    refused("extra_repetitions_max", NO_DOSE),
];

const STRETCH: &[Key] = &[
    required(
        "kind",
        Takes::Word(&["stretch"]),
        "a stretch or hold with a timer",
    ),
    required("stretch", Takes::Word(STRETCHES), "which one"),
    required("side", Takes::Word(SIDES), "for which hand"),
    required(
        "hold_s",
        Takes::Number(5.0, 120.0, "s"),
        "how long it is held",
    ),
    key("times", Takes::Whole(1, 10), "how often in one round; 1"),
    key(
        "rest_s",
        Takes::Number(0.0, 1800.0, "s"),
        "pause after a hold",
    ),
    key(
        "provokes",
        Takes::Flag,
        "whether it can bring on tingling; as the catalogue says",
    ),
    key("words", Takes::Text, "your own words for it"),
];

const TIMED: &[Key] = &[
    required(
        "kind",
        Takes::Word(&["timed"]),
        "something done for a time, which is not counted",
    ),
    required("what", Takes::Word(ACTIVITIES), "which one"),
    key("side", Takes::Word(SIDES), "for which hand; both"),
    key("seconds", Takes::Whole(5, 600), "how long"),
    key(
        "repetitions",
        Takes::Whole(1, 50),
        "of tendon glides, in place of seconds: how often",
    ),
    key(
        "pause_s",
        Takes::Number(1.0, 60.0, "s"),
        "of tendon glides: how long in each position",
    ),
    key(
        "provokes",
        Takes::Flag,
        "whether it can bring on tingling; as the catalogue says",
    ),
    key(
        "words",
        Takes::Text,
        "your own words for it; own-words needs them",
    ),
];

/// The named parts of a tempo.
pub(super) const TEMPO: &[Key] = &[
    required("lower_s", Takes::Pace, "lowering, the eccentric phase"),
    key(
        "rest_s",
        Takes::Number(0.0, super::LONGEST_PART_S, "s"),
        "pause at the bottom; 0",
    ),
    required("lift_s", Takes::Pace, "lifting"),
    key(
        "hold_s",
        Takes::Number(0.0, super::LONGEST_PART_S, "s"),
        "pause at the top; 0",
    ),
];

const RANGE: &[Key] = &[
    key(
        "target_deg",
        Takes::Number(1.0, 180.0, "degrees"),
        "where to reach, from the neutral pose",
    ),
    key(
        "no_further_deg",
        Takes::Number(1.0, 180.0, "degrees"),
        "where to turn back at the latest",
    ),
];

const POSTURE: &[Key] = &[
    key(
        "elbow_deg",
        Takes::Number(0.0, 150.0, "degrees"),
        "the elbow; 0 is straight",
    ),
    key(
        "forearm",
        Takes::Word(&["rested", "free"]),
        "rested or free; rested",
    ),
    key(
        "direction",
        Takes::Word(&["level", "hanging", "upright"]),
        "where the forearm points; level",
    ),
    required(
        "rotation",
        Takes::Word(&["palm-down", "thumb-up", "palm-up", "little-finger-up"]),
        "how the forearm is turned",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::movement::{Activity, Movement, Plane, Stretch};

    #[test]
    fn everything_in_the_catalogue_can_be_prescribed() {
        assert_eq!(MOVEMENTS, Movement::ALL.map(Movement::name));
        assert_eq!(PLANES, Plane::ALL.map(Plane::name));
        assert_eq!(STRETCHES, Stretch::ALL.map(Stretch::name));
        assert_eq!(ACTIVITIES, Activity::ALL.map(Activity::name));
    }
}
