//! A routine read back in the patient's words: what the handout prints and the clinician checks.
//!
//! Ours. The words are those of the guided session wherever it has them.

use jiff::civil::Date;
use serde::Serialize;

use super::guided::exercise::{load_words, today};
use super::guided::line::item_title;
use crate::movement::{
    Activity, ForearmDirection, ForearmRotation, ForearmSupport, Hands, LoadShape, Posture,
    RANGE_TEST_CAUTION,
};
use crate::routine::{
    CountedItem, Item, ItemSide, Limits, Order, RangeTestItem, Routine, TimedDose, Weights,
};

/// A routine in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadBack {
    /// How often and in which order.
    pub course: Vec<String>,
    /// Why no weight is offered; `None` where it is.
    pub no_weight: Option<String>,
    /// When to stop, by the routine's limits.
    pub limits: Vec<String>,
    /// The exercises, in order.
    pub items: Vec<ItemWords>,
}

/// An exercise in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ItemWords {
    /// What it is called.
    pub title: String,
    /// Which hand; `None` where it is for no hand.
    pub hand: Option<&'static str>,
    /// How the arm is held, or how it is done.
    pub how: String,
    /// How often, or for how long.
    pub dose: String,
    /// What is in the hand; `None` where nothing belongs there.
    pub load: Option<String>,
    /// How slowly; `None` is not prescribed.
    pub tempo: Option<String>,
    /// How far; `None` is not prescribed.
    pub reach: Option<String>,
    /// The pause after it; `None` is not prescribed.
    pub rest: Option<String>,
    /// The clinician's own words.
    pub own_words: Option<String>,
    /// What to be careful of.
    pub caution: &'static str,
}

/// Reads a routine back, as it holds on a day.
pub fn read_back(routine: &Routine, day: Date) -> ReadBack {
    let weights = routine.weights_on(day);
    let allowed = weights == Weights::Allowed;
    ReadBack {
        course: course(routine),
        no_weight: no_weight(&weights),
        limits: limits(&routine.limits),
        items: (routine.items.iter())
            .map(|item| item_words(item, allowed))
            .collect(),
    }
}

fn course(routine: &Routine) -> Vec<String> {
    let mut words = Vec::new();
    words.extend(
        (routine.sessions_a_week).map(|count| format!("{} a week.", counted(count, "session"))),
    );
    if routine.rounds > 1 {
        words.push(format!(
            "The whole list {} in each session.",
            times(routine.rounds)
        ));
    }
    if routine.hands().len() > 1 {
        words.push(
            match routine.order {
                Order::HandByHand => "One hand first, everything; then the other hand.",
                Order::ItemByItem => "Each exercise with one hand, then with the other.",
            }
            .to_owned(),
        );
    }
    let minutes = (routine.duration().session_s / 60.0).round().max(1.0);
    words.push(format!("A session takes about {minutes} minutes."));
    words
}

fn no_weight(weights: &Weights) -> Option<String> {
    match weights {
        Weights::Allowed => None,
        Weights::PracticeOnly { .. } => Some(
            "Practise with an empty hand for now. Your clinician says when a weight is added."
                .to_owned(),
        ),
        Weights::ReviewDue { .. } => Some(
            "This page is to be looked at again. No weight until you have asked your clinician."
                .to_owned(),
        ),
    }
}

fn limits(limits: &Limits) -> Vec<String> {
    let rise = |name: &str, most: u8| match most {
        0 => format!("Stop at any new or increased {name}."),
        most => format!("Stop when {name} goes up by more than {most} of 10."),
    };
    let mut words = vec![
        format!(
            "Stop when pain goes above {} of 10, or up by more than {} since the session began.",
            limits.pain_max, limits.pain_rise_max
        ),
        rise("tingling", limits.tingling_rise_max),
        rise("numbness", limits.numbness_rise_max),
    ];
    if !limits.weight_when_numb {
        words.push("Fingers numb today: no weight today.".to_owned());
    }
    words
}

fn item_words(item: &Item, weights: bool) -> ItemWords {
    let rest = |rest_s: Option<f64>| {
        let rest_s = rest_s.filter(|rest_s| *rest_s > 0.0)?;
        Some(format!("then rest {rest_s} seconds"))
    };
    let plain = ItemWords {
        title: item_title(item).to_owned(),
        hand: hand(item),
        how: String::new(),
        dose: String::new(),
        load: None,
        tempo: None,
        reach: None,
        rest: rest(item.rest_s()),
        own_words: item.words().map(str::to_owned),
        caution: "",
    };
    match item {
        Item::Counted(item) => of_counted(&today(item, weights), plain),
        Item::RangeTest(item) => of_range_test(item, plain),
        Item::Stretch(item) => ItemWords {
            how: item.stretch.how().to_owned(),
            dose: match item.times {
                1 => format!("hold {} seconds", item.hold_s),
                count => format!("hold {} seconds, {}", item.hold_s, times(count)),
            },
            caution: item.stretch.caution(),
            ..plain
        },
        Item::Timed(item) => ItemWords {
            how: match item.what {
                Activity::OwnWords => String::new(),
                what => what.how().unwrap_or_default().to_owned(),
            },
            dose: match item.dose {
                TimedDose::Seconds { seconds } => format!("{seconds} seconds"),
                TimedDose::Glides {
                    repetitions,
                    pause_s,
                } => format!("{}, {pause_s} seconds in each position", times(repetitions)),
            },
            caution: item.what.caution(),
            ..plain
        },
    }
}

/// Both directions as one exercise: "bend down, 3 times; bend back, 3 times".
fn of_range_test(item: &RangeTestItem, plain: ItemWords) -> ItemWords {
    let sets = item.sets();
    let each: Vec<String> = (sets.iter())
        .map(|set| {
            let said = set.movement.said(&set.posture());
            format!("{said}, {}", times(set.repetitions))
        })
        .collect();
    let first = sets.first();
    ItemWords {
        how: posture(&item.posture()),
        dose: each.join("; "),
        load: first.map(|set| load_words(set.load_kg, None)),
        tempo: first.and_then(CountedItem::tempo_words),
        reach: item
            .no_further_deg
            .map(|deg| format!("no farther than {deg} degrees")),
        caution: RANGE_TEST_CAUTION,
        ..plain
    }
}

fn of_counted(item: &CountedItem, plain: ItemWords) -> ItemWords {
    let mut dose = match item.sets {
        1 => times(item.repetitions),
        sets => format!("{sets} sets of {}", item.repetitions),
    };
    if item.extra_repetitions_max > 0 {
        dose.push_str(&format!(
            ", up to {} more if it goes easily",
            item.extra_repetitions_max
        ));
    }
    let loaded = item.load_kg != Some(0.0);
    let shape = match item.load_shape.filter(|_| loaded) {
        Some(LoadShape::Centred) => ", held at its middle",
        Some(LoadShape::OneSided) => ", heavy at one end",
        None => "",
    };
    let reach = item.range.and_then(|band| {
        let asked = [
            (band.target_deg)
                .map(|deg| format!("to about {deg} degrees, as far as is comfortable")),
            (band.no_further_deg).map(|deg| format!("no farther than {deg} degrees")),
        ];
        let asked: Vec<String> = asked.into_iter().flatten().collect();
        (!asked.is_empty()).then(|| asked.join("; "))
    });
    ItemWords {
        how: posture(&item.posture()),
        dose,
        load: Some(format!("{}{shape}", load_words(item.load_kg, item.load_lb))),
        tempo: item.tempo_words(),
        reach,
        caution: item.movement.caution(),
        ..plain
    }
}

fn hand(item: &Item) -> Option<&'static str> {
    match (item.hands(), item.side()) {
        (Hands::None, _) => None,
        (_, ItemSide::Left) => Some("left hand"),
        (_, ItemSide::Right) => Some("right hand"),
        (Hands::OneAtATime, ItemSide::Both) => Some("each hand"),
        (Hands::OneOrBoth | Hands::BothAtOnce, ItemSide::Both) => Some("both hands"),
    }
}

/// How the arm is held, in plain words.
pub fn posture(posture: &Posture) -> String {
    let place = match (posture.direction, posture.forearm) {
        (ForearmDirection::Level, ForearmSupport::Rested) => {
            "Forearm on the table, the hand over its edge"
        }
        (ForearmDirection::Level, ForearmSupport::Free) => "Forearm held level, not rested",
        (ForearmDirection::Hanging, _) => "Arm hanging at your side",
        (ForearmDirection::Upright, ForearmSupport::Rested) => {
            "Elbow on the table, forearm pointing up"
        }
        (ForearmDirection::Upright, ForearmSupport::Free) => "Forearm pointing up, not rested",
    };
    let rotation = match posture.rotation {
        ForearmRotation::PalmDown => "palm down",
        ForearmRotation::ThumbUp => "thumb up",
        ForearmRotation::PalmUp => "palm up",
        ForearmRotation::LittleFingerUp => "little finger up",
    };
    // "Up" says nothing of an arm that points up or down.
    let rotation = match (posture.direction, posture.rotation) {
        (ForearmDirection::Hanging, ForearmRotation::ThumbUp) => "thumb in front",
        (ForearmDirection::Hanging, ForearmRotation::PalmDown) => "palm behind",
        (ForearmDirection::Hanging, ForearmRotation::PalmUp) => "palm in front",
        _ => rotation,
    };
    let elbow = match posture.elbow_deg {
        Some(elbow_deg) if elbow_deg < 15.0 => ", elbow straight".to_owned(),
        Some(elbow_deg) if (80.0..=100.0).contains(&elbow_deg) => {
            ", elbow bent to a right angle".to_owned()
        }
        Some(elbow_deg) => format!(", elbow bent by {elbow_deg:.0} degrees"),
        None => String::new(),
    };
    format!("{place}, {rotation}{elbow}")
}

fn counted(count: u32, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}

fn times(count: u32) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        count => format!("{count} times"),
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::*;

    const HEAD: &str = "title = \"T\"\nsessions_a_week = 4\nrounds = 2\nscreened_on = 2026-03-02\ncontact = \"the practice\"\nreview_by = 2026-03-30\n";
    const ITEMS: &str = "[[items]]\nkind = \"counted\"\nmovement = \"ulnar-deviation\"\nside = \"both\"\nsets = 2\nrepetitions = 8\nextra_repetitions_max = 2\nload_lb = 2\nload_shape = \"one-sided\"\nrest_s = 45\ntempo = \"4-0-2-1\"\nrange = { target_deg = 20, no_further_deg = 30 }\n\
        [[items]]\nkind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\nhold_s = 15\ntimes = 2\n\
        [[items]]\nkind = \"timed\"\nwhat = \"own-words\"\nseconds = 60\nwords = \"Roll a soft ball.\"\n";

    fn read(text: &str, day: &str) -> ReadBack {
        read_back(&Routine::from_toml(text).unwrap(), day.parse().unwrap())
    }

    #[test]
    fn every_part_of_the_dose_is_read_back() {
        let words = read(&format!("{HEAD}{ITEMS}"), "2026-03-09");
        assert_eq!(
            words.course[..3],
            [
                "4 sessions a week.",
                "The whole list twice in each session.",
                "One hand first, everything; then the other hand."
            ]
        );
        assert_eq!(words.no_weight, None);
        let counted = &words.items[0];
        assert_eq!(counted.hand, Some("each hand"));
        assert_eq!(
            counted.how,
            "Arm hanging at your side, thumb in front, elbow straight"
        );
        assert_eq!(counted.dose, "2 sets of 8, up to 2 more if it goes easily");
        assert_eq!(counted.load.as_deref(), Some("2 lb, heavy at one end"));
        assert_eq!(
            counted.tempo.as_deref(),
            Some("up in two, hold one at the top, down in four")
        );
        assert_eq!(
            counted.reach.as_deref(),
            Some("to about 20 degrees, as far as is comfortable; no farther than 30 degrees")
        );
        assert_eq!(counted.rest.as_deref(), Some("then rest 45 seconds"));
        let stretch = &words.items[1];
        assert_eq!(stretch.hand, Some("left hand"));
        assert_eq!(stretch.dose, "hold 15 seconds, twice");
        let own = &words.items[2];
        assert_eq!(own.hand, Some("both hands"));
        assert_eq!(own.dose, "60 seconds");
        assert_eq!(own.own_words.as_deref(), Some("Roll a soft ball."));
    }

    #[test]
    fn without_screening_or_after_the_review_there_is_no_weight_in_the_words() {
        for (text, day) in [
            (HEAD.replace("screened_on = 2026-03-02\n", ""), "2026-03-09"),
            (HEAD.to_owned(), "2026-03-31"),
        ] {
            let words = read(&format!("{text}{ITEMS}"), day);
            assert!(words.no_weight.is_some());
            assert_eq!(words.items[0].load.as_deref(), Some("empty hand"));
        }
    }

    #[test]
    fn the_limits_are_the_routines_own() {
        let words = read(
            &format!("{HEAD}{ITEMS}[limits]\npain_max = 4\ntingling_rise_max = 1\n"),
            "2026-03-09",
        );
        assert_eq!(
            words.limits,
            [
                "Stop when pain goes above 4 of 10, or up by more than 2 since the session began.",
                "Stop when tingling goes up by more than 1 of 10.",
                "Stop at any new or increased numbness.",
                "Fingers numb today: no weight today.",
            ]
        );
    }
}
