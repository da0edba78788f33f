#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]
use serde_json::json;

use super::*;
use crate::routine::{Item as RoutineItem, Routine, STARTING};

fn way(steps: Json) -> Vec<Step> {
    serde_json::from_value(steps).unwrap()
}

fn set(text: &str, at: Json, to: Json) -> String {
    edited(text, &[Edit::Set { at: way(at), to }]).unwrap()
}

fn two_rounds() -> &'static str {
    let named = |own: &&crate::routine::Starting| own.name == "two-rounds";
    STARTING.iter().find(named).unwrap().toml
}

#[test]
fn a_text_that_is_not_changed_stays_to_the_letter() {
    for starting in STARTING {
        assert_eq!(edited(starting.toml, &[]).unwrap(), starting.toml);
    }
}

#[test]
fn one_value_changes_and_nothing_around_it() {
    let text = set(two_rounds(), json!(["items", 0, "load_kg"]), json!(0.75));
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    let (before, after) = (lines(two_rounds()), lines(&text));
    assert_eq!(before.len(), after.len());
    let changed: Vec<_> = before.iter().zip(&after).filter(|(a, b)| a != b).collect();
    assert_eq!(changed.len(), 1);
    assert_eq!(changed[0].1, "load_kg = 0.75");
}

#[test]
fn values_come_and_go_also_within_tables() {
    let text = "title = \"T\" # its name\n[[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"left\"\nrepetitions = 8\ntempo = \"4-0-2-1\" # slow\n";
    let text = set(text, json!(["screened_on"]), json!("2026-03-02"));
    let text = set(&text, json!(["title"]), json!("Two \"rounds\""));
    let text = set(&text, json!(["items", 0, "tempo", "lower_s"]), json!(6));
    let text = set(&text, json!(["items", 0, "range", "target_deg"]), json!(40));
    let text = set(&text, json!(["limits", "pain_max"]), json!(4));
    let routine = Routine::from_toml(&text).unwrap();
    assert_eq!(routine.title, "Two \"rounds\"");
    assert!(text.contains("# its name"), "{text}");
    assert!(text.contains("screened_on = 2026-03-02"), "{text}");
    assert_eq!(routine.limits.pain_max, 4);
    let item = routine.items[0].counted().unwrap();
    assert_eq!(item.tempo.unwrap(), "6-0-2-1".parse().unwrap());
    assert_eq!(item.range.unwrap().target_deg, Some(40.0));
    let text = set(
        &text,
        json!(["items", 0, "range", "target_deg"]),
        Json::Null,
    );
    let text = set(&text, json!(["screened_on"]), Json::Null);
    let routine = Routine::from_toml(&text).unwrap();
    assert_eq!(routine.items[0].counted().unwrap().range, None);
    assert_eq!(routine.screened_on, None);
    assert!(!text.contains("range"), "{text}");
}

#[test]
fn items_move_with_their_tables_and_their_comments() {
    let text = edited(two_rounds(), &[Edit::Move { item: 4, to: 0 }]).unwrap();
    let routine = Routine::from_toml(&text).unwrap();
    let before = Routine::from_toml(two_rounds()).unwrap();
    let expected: Vec<&RoutineItem> = [4, 0, 1, 2, 3].map(|place| &before.items[place]).into();
    assert_eq!(routine.items.iter().collect::<Vec<_>>(), expected);
    let place = |words: &str| text.find(words).unwrap();
    assert!(place("The last, and the lightest") < place("Palm up, the weight loads"));
    let text = edited(&text, &[Edit::Strike { item: 1 }]).unwrap();
    let routine = Routine::from_toml(&text).unwrap();
    assert_eq!(routine.items.len(), 4);
    assert!(!text.contains("Palm up, the weight loads"), "{text}");
    for edit in [
        Edit::Strike { item: 4 },
        Edit::Move { item: 0, to: 4 },
        Edit::Set {
            at: way(json!(["items", 9, "side"])),
            to: json!("left"),
        },
    ] {
        assert!(matches!(edited(&text, &[edit]), Err(EditError::NoPlace(_))));
    }
}

#[test]
fn everything_in_the_form_can_be_added_and_reads() {
    for item in form().items {
        assert!(!item.names.is_empty(), "{}", item.kind);
        for (name, _) in item.names {
            let add = Edit::Add {
                kind: item.kind.to_owned(),
                name: name.to_owned(),
            };
            let text = edited(two_rounds(), &[add]).unwrap();
            let problems = placed_problems(&text);
            if name == "own-words" {
                // Only the clinician has those.
                assert_eq!(problems[0].at, way(json!(["items", 5, "words"])));
            } else {
                assert_eq!(problems, [], "{name}: {text}");
                assert_eq!(Routine::from_toml(&text).unwrap().items.len(), 6);
            }
        }
    }
}

#[test]
fn items_written_in_one_line_are_edited_too() {
    let text = "title = \"T\"\nitems = [{ kind = \"stretch\", stretch = \"bend-back\", side = \"left\", hold_s = 10 }]\n";
    let text = set(text, json!(["items", 0, "hold_s"]), json!(15));
    let routine = Routine::from_toml(&text).unwrap();
    assert!(matches!(&routine.items[0], RoutineItem::Stretch(own) if own.hold_s == 15.0));
}

#[test]
fn a_problem_says_which_field_it_is_about() {
    let text = set(two_rounds(), json!(["items", 2, "load_kg"]), json!(90));
    let text = set(&text, json!(["items", 1, "tempo", "lower_s"]), json!(0));
    let text = set(&text, json!(["items", 3, "repetitions"]), Json::Null);
    let text = set(
        &text,
        json!(["items", 2, "posture", "direction"]),
        json!("level"),
    );
    let text = set(&text, json!(["review_by"]), json!("soon"));
    let at: Vec<_> = placed_problems(&text)
        .into_iter()
        .map(|problem| serde_json::to_value(problem.at).unwrap())
        .collect();
    for place in [
        json!(["items", 2, "load_kg"]),
        json!(["items", 1, "tempo", "lower_s"]),
        json!(["items", 3, "repetitions"]),
        json!(["review_by"]),
    ] {
        assert!(at.contains(&place), "{place}: {at:?}");
    }
    let broken = placed_problems("title = ");
    assert_eq!((broken.len(), broken[0].line), (1, 1));
    assert_eq!(edited("title = ", &[]), Err(EditError::NotToml));
}

#[test]
fn what_toml_has_not_is_refused() {
    for (at, to) in [
        (json!(["title"]), json!(["a", "b"])),
        (json!(["items", 0]), json!("x")),
        (json!([]), json!("x")),
    ] {
        let edit = Edit::Set { at: way(at), to };
        assert!(edited(two_rounds(), &[edit]).is_err());
    }
}

#[test]
fn what_is_added_is_for_the_hand_that_all_the_others_are_for() {
    let right = two_rounds().replace("side = \"both\"", "side = \"right\"");
    for (kind, name) in [
        ("counted", "pronation"),
        ("stretch", "thumb-out"),
        ("timed", "shaking"),
    ] {
        for (text, side) in [(right.as_str(), "right"), (two_rounds(), "both")] {
            let add = Edit::Add {
                kind: kind.to_owned(),
                name: name.to_owned(),
            };
            let text = edited(text, &[add]).unwrap();
            let routine = Routine::from_toml(&text).unwrap();
            let side: crate::routine::ItemSide = serde_json::from_value(json!(side)).unwrap();
            assert_eq!(routine.items[5].side(), side, "{name}");
        }
    }
    let glides = Edit::Add {
        kind: "timed".to_owned(),
        name: "tendon-glides".to_owned(),
    };
    let text = edited(&right, &[glides]).unwrap();
    assert!(Routine::from_toml(&text).unwrap().hands().len() == 1);
}
