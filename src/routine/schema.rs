//! What a routine may hold: the keys of each table, and what each key takes.

/// A key of a table.
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) required: bool,
    pub(super) takes: Takes,
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
    /// An array of tables, each of the kind that its `kind` names.
    Items(&'static [(&'static str, &'static [Key])]),
}

const fn key(name: &'static str, takes: Takes) -> Key {
    Key {
        name,
        required: false,
        takes,
    }
}

const fn required(name: &'static str, takes: Takes) -> Key {
    Key {
        name,
        required: true,
        takes,
    }
}

/// Most rounds of a session.
pub(super) const MOST_ROUNDS: u32 = 10;
/// Most sets of an item in a round.
pub(super) const MOST_SETS: u32 = 20;

pub(super) const ROUTINE: &[Key] = &[
    required("title", Takes::Text),
    key("source", Takes::Text),
    key("words", Takes::Text),
    key("rounds", Takes::Whole(1, MOST_ROUNDS as i64)),
    key("order", Takes::Word(&["hand-by-hand", "item-by-item"])),
    key("sessions_a_week", Takes::Whole(1, 28)),
    key("screened_on", Takes::Day),
    key("contact", Takes::Text),
    key("review_by", Takes::Day),
    key("limits", Takes::Table(LIMITS)),
    key("form", Takes::Table(FORM)),
    key("tempo_band", Takes::Table(TEMPO_BAND)),
    required("items", Takes::Items(ITEMS)),
];

const LIMITS: &[Key] = &[
    key("pain_max", Takes::Whole(0, 10)),
    key("pain_rise_max", Takes::Whole(0, 10)),
    key("tingling_rise_max", Takes::Whole(0, 10)),
    key("numbness_rise_max", Takes::Whole(0, 10)),
    key("weight_when_numb", Takes::Flag),
];

const FORM: &[Key] = &[
    key("hurried_in_a_row", Takes::Whole(1, 50)),
    key(
        "least_range_ratio",
        Takes::Number(0.0, 1.0, "of the range of the set's first three"),
    ),
];

const TEMPO_BAND: &[Key] = &[
    key(
        "low_ratio",
        Takes::Number(0.1, 1.0, "of the prescribed time"),
    ),
    key(
        "high_ratio",
        Takes::Number(1.0, 10.0, "of the prescribed time"),
    ),
];

/// The kinds of item and the keys of each.
const ITEMS: &[(&str, &[Key])] = &[("counted", COUNTED), ("stretch", STRETCH), ("timed", TIMED)];

pub(super) const MOVEMENTS: &[&str] = &[
    "wrist-extension",
    "wrist-flexion",
    "radial-deviation",
    "ulnar-deviation",
    "supination",
    "pronation",
    "arm-circles",
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
    required("kind", Takes::Word(&["counted"])),
    required("movement", Takes::Word(MOVEMENTS)),
    required("side", Takes::Word(SIDES)),
    key("sets", Takes::Whole(1, MOST_SETS as i64)),
    required("repetitions", Takes::Whole(1, 200)),
    key("extra_repetitions_max", Takes::Whole(0, 50)),
    key("load_kg", Takes::Number(0.0, 20.0, "kg")),
    key("load_lb", Takes::Number(0.0, 44.0, "lb")),
    key("load_shape", Takes::Word(&["centred", "one-sided"])),
    key("rest_s", Takes::Number(0.0, 1800.0, "s")),
    key("provokes", Takes::Flag),
    key("words", Takes::Text),
    key("tempo", Takes::Tempo),
    key("push_s", Takes::Number(0.1, super::LONGEST_PART_S, "s")),
    key("back_s", Takes::Number(0.1, super::LONGEST_PART_S, "s")),
    key("range", Takes::Table(RANGE)),
    key("posture", Takes::Table(POSTURE)),
];

const STRETCH: &[Key] = &[
    required("kind", Takes::Word(&["stretch"])),
    required("stretch", Takes::Word(STRETCHES)),
    required("side", Takes::Word(SIDES)),
    required("hold_s", Takes::Number(5.0, 120.0, "s")),
    key("times", Takes::Whole(1, 10)),
    key("rest_s", Takes::Number(0.0, 1800.0, "s")),
    key("provokes", Takes::Flag),
    key("words", Takes::Text),
];

const TIMED: &[Key] = &[
    required("kind", Takes::Word(&["timed"])),
    required("what", Takes::Word(ACTIVITIES)),
    key("side", Takes::Word(SIDES)),
    key("seconds", Takes::Whole(5, 600)),
    key("repetitions", Takes::Whole(1, 50)),
    key("pause_s", Takes::Number(1.0, 60.0, "s")),
    key("provokes", Takes::Flag),
    key("words", Takes::Text),
];

/// The named parts of a tempo.
pub(super) const TEMPO: &[Key] = &[
    required("lower_s", Takes::Pace),
    key("rest_s", Takes::Number(0.0, super::LONGEST_PART_S, "s")),
    required("lift_s", Takes::Pace),
    key("hold_s", Takes::Number(0.0, super::LONGEST_PART_S, "s")),
];

const RANGE: &[Key] = &[
    key("target_deg", Takes::Number(1.0, 180.0, "degrees")),
    key("no_further_deg", Takes::Number(1.0, 180.0, "degrees")),
];

const POSTURE: &[Key] = &[
    key("elbow_deg", Takes::Number(0.0, 150.0, "degrees")),
    key("forearm", Takes::Word(&["rested", "free"])),
    key("direction", Takes::Word(&["level", "hanging", "upright"])),
    required(
        "rotation",
        Takes::Word(&["palm-down", "thumb-up", "palm-up", "little-finger-up"]),
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::movement::{Activity, Movement, Stretch};

    #[test]
    fn everything_in_the_catalogue_can_be_prescribed() {
        assert_eq!(MOVEMENTS, Movement::ALL.map(Movement::name));
        assert_eq!(STRETCHES, Stretch::ALL.map(Stretch::name));
        assert_eq!(ACTIVITIES, Activity::ALL.map(Activity::name));
    }
}
