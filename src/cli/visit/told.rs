//! A visit read back in words.

use std::fmt::Write as _;

use crate::movement::Side;
use crate::recording::{TRIALS, Visit, VisitHand};

/// The visit, a line for each thing that is known, indented.
pub fn told(visit: &Visit) -> String {
    let mut text = String::new();
    for side in [Side::Right, Side::Left] {
        hand(&mut text, side, visit.hand(side));
    }
    let means = [
        ("symptom mean", visit.symptom_mean),
        ("function mean", visit.function_mean),
    ];
    for (name, mean) in means {
        if let Some(mean) = mean {
            line(
                &mut text,
                name,
                &format!("{mean} of 1 to 5, higher is worse"),
            );
        }
    }
    for (name, words) in [("decision", &visit.decision), ("reason", &visit.reason)] {
        if let Some(words) = words {
            line(&mut text, name, words);
        }
    }
    text
}

fn hand(text: &mut String, side: Side, hand: &VisitHand) {
    let mut own = |name: &str, words: &str| line(text, &format!("{} {name}", side.name()), words);
    let ranges: Vec<String> = hand
        .ranges_deg()
        .into_iter()
        .map(|(name, range_deg)| format!("{name} {range_deg}"))
        .collect();
    if !ranges.is_empty() {
        own("hand, goniometer", &format!("{} deg", ranges.join(", ")));
    }
    if !hand.grip_kg.is_empty() {
        own("grip", &trials(&hand.grip_kg));
    }
    if !hand.pinch_kg.is_empty() {
        let kind = hand.pinch_kind.as_deref();
        let name = kind.map_or("pinch".to_owned(), |kind| format!("pinch ({kind})"));
        own(&name, &trials(&hand.pinch_kg));
    }
    for (name, words) in [
        ("sensation", &hand.sensation),
        ("thumb strength", &hand.thumb_strength),
    ] {
        if let Some(words) = words {
            own(name, words);
        }
    }
}

fn trials(trials_kg: &[f64]) -> String {
    let all: Vec<String> = trials_kg.iter().map(f64::to_string).collect();
    let missing = match trials_kg.len() {
        TRIALS => String::new(),
        count => format!(" ({count} of {TRIALS} trials)"),
    };
    format!("{} kg{missing}", all.join(", "))
}

fn line(text: &mut String, name: &str, words: &str) {
    let words = words.replace('\n', "\n      ");
    let _infallible = writeln!(text, "  {name}: {words}");
}
