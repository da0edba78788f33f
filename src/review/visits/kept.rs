//! A visit as this program writes it down: its goniometer's ranges, and the rest in words, what was
//! decided first.

use super::Noted;
use crate::movement::{Movement, Side};
use crate::recording::{Visit, VisitHand};

const SIDES: [Side; 2] = [Side::Right, Side::Left];

/// The goniometer's ranges.
pub(super) fn ranges(visit: &Visit) -> Vec<(Movement, Option<Side>, f64)> {
    let of_hand = |side: Side| {
        let hand = visit.hand(side);
        [
            (Movement::WristFlexion, hand.flexion_deg),
            (Movement::WristExtension, hand.extension_deg),
            (Movement::RadialDeviation, hand.radial_deviation_deg),
            (Movement::UlnarDeviation, hand.ulnar_deviation_deg),
            (Movement::Pronation, hand.pronation_deg),
            (Movement::Supination, hand.supination_deg),
        ]
        .into_iter()
        .filter_map(move |(movement, range_deg)| Some((movement, Some(side), range_deg?)))
    };
    SIDES.into_iter().flat_map(of_hand).collect()
}

/// Everything but the goniometer.
pub(super) fn noted(visit: &Visit) -> Vec<Noted> {
    let mut all = Vec::new();
    let mut note = |about: String, words: Option<String>| {
        all.extend(words.map(|words| Noted { about, words }));
    };
    note("decision".to_owned(), visit.decision.clone());
    note("reason".to_owned(), visit.reason.clone());
    let mean = |mean: Option<f64>| mean.map(|mean| format!("{mean} of 1 to 5, higher is worse"));
    note("symptom mean".to_owned(), mean(visit.symptom_mean));
    note("function mean".to_owned(), mean(visit.function_mean));
    for side in SIDES {
        let VisitHand {
            grip_kg,
            pinch_kg,
            pinch_kind,
            sensation,
            thumb_strength,
            ..
        } = visit.hand(side);
        let about = |what: &str| format!("{what} {}", side.name());
        note(about("grip"), trials(grip_kg));
        let pinch = match pinch_kind {
            Some(kind) => format!("pinch ({kind})"),
            None => "pinch".to_owned(),
        };
        note(about(&pinch), trials(pinch_kg));
        note(about("sensation"), sensation.clone());
        note(about("thumb strength"), thumb_strength.clone());
    }
    all
}

/// "21, 22.5, 21.5 kg".
fn trials(all_kg: &[f64]) -> Option<String> {
    let words: Vec<String> = all_kg.iter().map(f64::to_string).collect();
    (!words.is_empty()).then(|| format!("{} kg", words.join(", ")))
}
