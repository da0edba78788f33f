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

pub(super) const ROUTINE: &[Key] = &[
    required("title", Takes::Text),
    key("source", Takes::Text),
    key("words", Takes::Text),
    key("rounds", Takes::Whole(1, 10)),
    key("sessions_a_week", Takes::Whole(1, 28)),
    key("screened_on", Takes::Day),
    key("contact", Takes::Text),
    key("review_by", Takes::Day),
    key("limits", Takes::Table(LIMITS)),
    key("tempo_band", Takes::Table(TEMPO_BAND)),
    required("items", Takes::Items(ITEMS)),
];

const LIMITS: &[Key] = &[
    key("pain_max", Takes::Whole(0, 10)),
    key("pain_rise_max", Takes::Whole(0, 10)),
    key("tingling_rise_max", Takes::Whole(0, 10)),
    key("numbness_rise_max", Takes::Whole(0, 10)),
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
const ITEMS: &[(&str, &[Key])] = &[("counted", COUNTED)];

pub(super) const MOVEMENTS: &[&str] = &[
    "wrist-extension",
    "wrist-flexion",
    "radial-deviation",
    "ulnar-deviation",
    "supination",
    "pronation",
    "arm-circles",
];

const COUNTED: &[Key] = &[
    required("kind", Takes::Word(&["counted"])),
    required("movement", Takes::Word(MOVEMENTS)),
    required("side", Takes::Word(&["left", "right", "both"])),
    key("sets", Takes::Whole(1, 20)),
    required("repetitions", Takes::Whole(1, 200)),
    key("extra_repetitions", Takes::Whole(0, 50)),
    key("load_kg", Takes::Number(0.0, 20.0, "kg")),
    key("load_lb", Takes::Number(0.0, 44.0, "lb")),
    key("load_shape", Takes::Word(&["centred", "one-sided"])),
    key("rest_s", Takes::Number(0.0, 1800.0, "s")),
    key("words", Takes::Text),
    key("tempo", Takes::Tempo),
    key("range", Takes::Table(RANGE)),
    key("posture", Takes::Table(POSTURE)),
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
    use crate::movement::Movement;

    #[test]
    fn every_movement_can_be_prescribed() {
        assert_eq!(MOVEMENTS, Movement::ALL.map(Movement::name));
    }
}
