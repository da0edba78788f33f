//! Remarks on a routine that reads well: what a clinician may want to look at once more. None of
//! them is an error, and none changes anything.

use jiff::civil::Date;

use super::{
    CountedItem, HARDLY_TOLD_DEG_S, Item, ItemSide, Pace, Routine, Weights, load_step_percent,
};
use crate::movement::{ForearmDirection, ForearmRotation, LoadShape, Movement};

/// A session longer than this is remarked on, minutes (common practice, no source).
const LONG_MIN: f64 = 30.0;
/// More exercises than this are remarked on (a handful).
const MANY_ITEMS: usize = 5;
/// A greater step of load than this is remarked on, percent: the upper end of 2 to 10 %.
///
/// Source: American College of Sports Medicine, position stand, Med Sci Sports Exerc 41:687-708,
/// 2009 (Ratamess et al.).
const GREAT_STEP_PERCENT: f64 = 10.0;
/// A provoking stretch held longer than this is remarked on, seconds (common practice, no source).
const LONG_STRETCH_S: f64 = 20.0;

/// A remark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Number of the item in the routine, from 1; `None` is the whole routine.
    pub item: Option<u32>,
    /// What there is to look at.
    pub words: String,
}

impl Routine {
    /// What to look at once more, the whole routine first. `previous` is the routine that this one
    /// takes the place of; `today` is the day on which it is looked at.
    pub fn remarks(&self, previous: Option<&Routine>, today: Date) -> Vec<Remark> {
        let mut remarks: Vec<Remark> = self
            .of_the_whole(today)
            .into_iter()
            .map(|words| Remark { item: None, words })
            .collect();
        for (number, item) in (1..).zip(&self.items) {
            let words = match item {
                Item::Counted(item) => self.of_counted(item, previous),
                Item::Stretch(item) if item.provokes() && item.hold_s > LONG_STRETCH_S => {
                    vec![format!(
                        "held for {} s: above {LONG_STRETCH_S} s in a position that can bring on tingling",
                        item.hold_s
                    )]
                }
                Item::RangeTest(item) if item.plane.drifts(&item.posture()) => vec![
                    "in this posture it turns about the vertical: the sensor's angle drifts, and a range is what this item is for"
                        .to_owned(),
                ],
                Item::RangeTest(_) | Item::Stretch(_) | Item::Timed(_) => Vec::new(),
            };
            remarks.extend(words.into_iter().map(|words| Remark {
                item: Some(number),
                words,
            }));
        }
        remarks
    }

    fn of_the_whole(&self, today: Date) -> Vec<String> {
        let mut words = Vec::new();
        match self.weights_on(today) {
            Weights::Allowed => {}
            Weights::PracticeOnly { missing } => words.push(format!(
                "practice without weight only, until {} {} said",
                missing.join(", "),
                if missing.len() == 1 { "is" } else { "are" }
            )),
            Weights::ReviewDue { since } => words.push(format!(
                "review_by = {since} has passed: no weight is offered until it is set anew"
            )),
        }
        let duration = self.duration();
        let minutes = duration.session_s / 60.0;
        if minutes > LONG_MIN {
            words.push(format!(
                "a session takes about {minutes:.0} minutes; above {LONG_MIN:.0} fewer people keep it up"
            ));
        }
        if self.items.len() > MANY_ITEMS {
            words.push(format!(
                "{} exercises are more than a handful; fewer than 4 help people to keep them up (Bachmann 2018)",
                self.items.len()
            ));
        }
        words.extend(self.mixed_hands());
        if duration.strap_changes > 1 {
            words.push(format!(
                "the strap goes from hand to hand {} times in a session; order = \"hand-by-hand\" needs one change at most",
                duration.strap_changes
            ));
        }
        if duration.weight_changes > 1 {
            words.push(format!(
                "another weight is taken up {} times in a session",
                duration.weight_changes
            ));
        }
        if self.sessions_a_week.is_none() {
            words.push(
                "sessions_a_week is not said: how many of those asked for were done cannot be shown"
                    .to_owned(),
            );
        }
        words
    }

    /// Where most exercises are for one hand alone and others are not.
    fn mixed_hands(&self) -> Option<String> {
        let of = |side: ItemSide| {
            self.items
                .iter()
                .filter(move |item| item.side() == side)
                .count()
        };
        let (left, right) = (of(ItemSide::Left), of(ItemSide::Right));
        let (side, most) = if left > right {
            ("left", left)
        } else {
            ("right", right)
        };
        let others = self.items.len() - most;
        (others > 0 && most > 2 * others).then(|| {
            format!(
                "{most} exercises are for the {side} hand alone and {others} {}",
                if others == 1 { "is not" } else { "are not" }
            )
        })
    }

    fn of_counted(&self, item: &CountedItem, previous: Option<&Routine>) -> Vec<String> {
        let mut words = Vec::new();
        words.extend(previous.and_then(|before| load_step(item, before)));
        let posture = item.posture();
        let level = posture.direction == ForearmDirection::Level;
        let deviation = matches!(
            item.movement,
            Movement::RadialDeviation | Movement::UlnarDeviation
        );
        let flat = matches!(
            posture.rotation,
            ForearmRotation::PalmDown | ForearmRotation::PalmUp
        );
        if deviation && level && flat {
            words.push(
                "with the palm down or up this turns about the vertical: the sensor's angle drifts, and the weight does not load it"
                    .to_owned(),
            );
        }
        let loaded = item.load_kg.is_some_and(|kg| kg > 0.0);
        let rotation = matches!(item.movement, Movement::Supination | Movement::Pronation);
        if rotation && loaded && item.load_shape == Some(LoadShape::Centred) {
            words.push(
                "a weight held at its centre hardly loads rotation; load_shape = \"one-sided\" does"
                    .to_owned(),
            );
        }
        if loaded && item.tempo.is_some_and(|tempo| tempo.rest_s > 0.0) {
            words.push(
                "the tempo lets a loaded wrist wait at the bottom, which a hand routine avoids (common practice, no source)"
                    .to_owned(),
            );
        }
        words.extend(too_slow(item));
        if item.movement == Movement::WristExtension && loaded && !self.is_lightest(item) {
            words.push(
                "bending back against a firm grip presses on the tunnel most (McGorry 2014): last and lightest is usual"
                    .to_owned(),
            );
        }
        words
    }

    /// Whether no other loaded item is lighter.
    fn is_lightest(&self, item: &CountedItem) -> bool {
        let loads = self.items.iter().filter_map(Item::counted);
        let lightest_kg = loads
            .filter_map(|other| other.load_kg.filter(|kg| *kg > 0.0))
            .fold(f64::INFINITY, f64::min);
        item.load_kg.is_none_or(|kg| kg <= lightest_kg + 0.005)
    }
}

/// A lowering so slow over so little that it is hardly told from rest.
fn too_slow(item: &CountedItem) -> Option<String> {
    let lower_s = item.tempo.and_then(|tempo| Pace::seconds(tempo.lower_s))?;
    let range = item.range?;
    let asked_deg = range.target_deg.or(range.no_further_deg)?;
    (asked_deg / lower_s < HARDLY_TOLD_DEG_S).then(|| {
        format!(
            "{lower_s} s for {asked_deg} degrees is under {HARDLY_TOLD_DEG_S} degrees a second, hardly told from rest: such a lowering may read as hurried when it was not"
        )
    })
}

/// A step of load against the same movement, posture and hand of the routine before.
fn load_step(item: &CountedItem, before: &Routine) -> Option<String> {
    let same = |other: &&CountedItem| {
        other.movement == item.movement
            && other.posture() == item.posture()
            && (other.side.sides().iter()).any(|side| item.side.sides().contains(side))
    };
    let mut earlier = before.items.iter().filter_map(Item::counted);
    let before_kg = earlier.find(same)?.load_kg?;
    let load_kg = item.load_kg?;
    if before_kg == 0.0 && load_kg > 0.0 {
        return Some(format!(
            "a first weight, {} kg, where the routine before asks for an empty hand",
            rounded(load_kg)
        ));
    }
    let change_kg = load_kg - before_kg;
    let percent = load_step_percent(before_kg, change_kg)?;
    // 10 % of a decimal load is not always 10 % of the number nearest to it.
    (percent > GREAT_STEP_PERCENT + 1e-9).then(|| {
        format!(
            "load_kg from {} to {} is +{percent:.0} %; steps of 2 to 10 % are published (ACSM 2009)",
            rounded(before_kg),
            rounded(before_kg + change_kg)
        )
    })
}

fn rounded(load_kg: f64) -> f64 {
    (load_kg * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    const HEAD: &str = "title = \"T\"\nsessions_a_week = 4\nscreened_on = 2026-03-02\ncontact = \"the practice\"\nreview_by = 2026-03-30\n";

    fn counted(movement: &str, keys: &str) -> String {
        format!(
            "[[items]]\nkind = \"counted\"\nmovement = \"{movement}\"\nside = \"both\"\nrepetitions = 8\n{keys}"
        )
    }

    fn remarks(text: &str, previous: Option<&str>) -> Vec<String> {
        let previous = previous.map(|text| Routine::from_toml(text).unwrap());
        let routine = Routine::from_toml(text).unwrap();
        let today = "2026-03-09".parse().unwrap();
        let all = routine.remarks(previous.as_ref(), today);
        let said = |own: Remark| match own.item {
            Some(item) => format!("item {item}: {}", own.words),
            None => own.words,
        };
        all.into_iter().map(said).collect()
    }

    fn one(text: &str, previous: Option<&str>, words: &str) {
        let all = remarks(text, previous);
        assert_eq!(all.len(), 1, "{all:?}");
        assert!(all.iter().any(|own| own.contains(words)), "{all:?}");
    }

    #[test]
    fn a_plain_routine_has_none() {
        let curl = counted("wrist-flexion", "load_kg = 1\ntempo = \"4-0-2-1\"\n");
        assert_eq!(
            remarks(&format!("{HEAD}{curl}"), None),
            Vec::<String>::new()
        );
    }

    #[test]
    fn what_is_not_said_or_past_keeps_the_weights_away() {
        let curl = counted("wrist-flexion", "tempo = \"4-0-2-1\"\n");
        let without = HEAD.replace("contact = \"the practice\"\n", "");
        one(
            &format!("{without}{curl}"),
            None,
            "practice without weight only, until contact is said",
        );
        let past = HEAD.replace("2026-03-30", "2026-03-08");
        one(
            &format!("{past}{curl}"),
            None,
            "review_by = 2026-03-08 has passed",
        );
        let unasked = HEAD.replace("sessions_a_week = 4\n", "");
        one(&format!("{unasked}{curl}"), None, "cannot be shown");
    }

    #[test]
    fn long_sessions_many_exercises_and_changes_are_remarked_on() {
        let curl = |kg: f64| {
            counted(
                "wrist-flexion",
                &format!("sets = 2\nload_kg = {kg}\ntempo = \"4-0-2-1\"\n"),
            )
        };
        let six = [0.5, 0.5, 0.5, 0.5, 0.5, 0.5].map(curl).concat();
        let all = remarks(&format!("{HEAD}order = \"item-by-item\"\n{six}"), None);
        assert_eq!(all.len(), 3, "{all:?}");
        for (remark, words) in all.iter().zip([
            "minutes; above 30",
            "6 exercises are more than a handful",
            "the strap goes from hand to hand 6 times",
        ]) {
            assert!(remark.contains(words), "{remark}");
        }
        let two = [0.5, 1.0].map(curl).concat();
        one(
            &format!("{HEAD}{two}"),
            None,
            "another weight is taken up 3 times",
        );
    }

    #[test]
    fn a_step_of_load_above_ten_percent_is_remarked_on_with_both_loads() {
        let curl = |kg: f64| {
            let keys = format!("load_kg = {kg}\ntempo = \"4-0-2-1\"\n");
            format!("{HEAD}{}", counted("wrist-flexion", &keys))
        };
        one(
            &curl(1.5),
            Some(&curl(1.0)),
            "item 1: load_kg from 1 to 1.5 is +50 %",
        );
        for (now, before) in [(1.1, 1.0), (1.0, 1.5), (1.0, 1.0), (0.0, 0.0)] {
            assert!(
                remarks(&curl(now), Some(&curl(before))).is_empty(),
                "{before} to {now}"
            );
        }
        // Another posture is another exercise.
        let hanging = format!(
            "{}[items.posture]\ndirection = \"hanging\"\nrotation = \"palm-up\"\n",
            curl(1.5)
        );
        assert!(remarks(&hanging, Some(&curl(1.0))).is_empty());
    }

    #[test]
    fn what_a_posture_a_shape_or_a_tempo_does_is_said() {
        for (movement, keys, words) in [
            (
                "radial-deviation",
                "tempo = \"4-0-2-1\"\nposture = { rotation = \"palm-down\" }\n",
                "turns about the vertical",
            ),
            (
                "supination",
                "load_kg = 0.5\nload_shape = \"centred\"\npush_s = 4\nback_s = 1\n",
                "hardly loads rotation",
            ),
            (
                "wrist-flexion",
                "load_kg = 0.5\ntempo = \"4-2-2-1\"\n",
                "wait at the bottom",
            ),
            (
                "wrist-flexion",
                "tempo = \"8-0-2-1\"\nrange = { target_deg = 35 }\n",
                "8 s for 35 degrees is under 5 degrees a second",
            ),
        ] {
            one(&format!("{HEAD}{}", counted(movement, keys)), None, words);
        }
        let tempo = "tempo = \"4-0-2-1\"\n";
        let both = [
            counted("wrist-flexion", &format!("load_kg = 0.5\n{tempo}")),
            counted("wrist-extension", &format!("load_kg = 1\n{tempo}")),
        ];
        let all = remarks(&format!("{HEAD}{}", both.concat()), None);
        assert!(
            all.iter()
                .any(|own| own.starts_with("item 2: bending back against a firm grip")),
            "{all:?}"
        );
    }

    #[test]
    fn a_long_stretch_is_remarked_on_where_it_can_provoke() {
        let stretch = |name: &str, side: &str, hold_s: u32| {
            format!(
                "{HEAD}[[items]]\nkind = \"stretch\"\nstretch = \"{name}\"\nside = \"{side}\"\nhold_s = {hold_s}\n"
            )
        };
        one(
            &stretch("palms-together", "both", 25),
            None,
            "item 1: held for 25 s",
        );
        assert!(remarks(&stretch("palms-together", "both", 20), None).is_empty());
        assert!(remarks(&stretch("fingers-spread", "left", 40), None).is_empty());
    }

    #[test]
    fn a_first_weight_and_a_hand_that_differs_are_remarked_on() {
        let curl = |load: &str| counted("wrist-flexion", &format!("{load}tempo = \"4-0-2-1\"\n"));
        let (empty, first) = (curl("load_kg = 0\n"), curl("load_kg = 0.5\n"));
        one(
            &format!("{HEAD}{first}"),
            Some(&format!("{HEAD}{empty}")),
            "a first weight, 0.5 kg",
        );
        let right = empty.replace("both", "right");
        one(
            &format!("{HEAD}{right}{right}{right}{empty}"),
            None,
            "3 exercises are for the right hand alone and 1 is not",
        );
        let none: Vec<String> = Vec::new();
        assert_eq!(remarks(&format!("{HEAD}{right}{right}{empty}"), None), none);
        assert_eq!(remarks(&format!("{HEAD}{right}{right}{right}"), None), none);
    }
}
