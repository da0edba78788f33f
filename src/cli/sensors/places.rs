//! What to do where several sensors cannot be told apart by where they are set to be worn.

use serde_json::{Value, json};

use super::quoted;
use crate::sample::Place;
use crate::source::radio::Near;
use crate::source::unit::set_to::{PlaceTrouble, SetTo, place_troubles};

/// In words, one for each trouble.
pub(super) fn words(near: &[Near]) -> Vec<String> {
    let told = troubles(near);
    told.into_iter().map(|(_, _, words)| words).collect()
}

/// As objects: which trouble, of which sensors, and the words.
pub(super) fn objects(near: &[Near]) -> Vec<Value> {
    troubles(near)
        .into_iter()
        .map(|(trouble, sensors, words)| {
            json!({ "trouble": trouble, "sensors": sensors, "words": words })
        })
        .collect()
}

fn troubles(near: &[Near]) -> Vec<(&'static str, Vec<String>, String)> {
    let set_to: Vec<SetTo> = near.iter().map(|one| one.set_to).collect();
    let name = |unit: usize| {
        let one = near.get(unit);
        one.map_or_else(String::new, |one| {
            one.name.clone().unwrap_or_else(|| one.address.clone())
        })
    };
    place_troubles(&set_to)
        .into_iter()
        .map(|trouble| match trouble {
            PlaceTrouble::Same { place, units } => {
                let names: Vec<String> = units.into_iter().map(name).collect();
                let words = same(place, &names);
                ("same-place", names, words)
            }
            PlaceTrouble::Unset { unit } => {
                let name = name(unit);
                let words = unset(&name);
                ("no-place", vec![name], words)
            }
        })
        .collect()
}

fn same(place: Place, names: &[String]) -> String {
    let place = place.name();
    let all = match names {
        [one, two] => format!("{one} and {two} are both"),
        names => format!("{} are all", names.join(", ")),
    };
    let named = |at: usize| names.get(at).map(|name| quoted(name)).unwrap_or_default();
    format!(
        "{all} set to the {place}, so they cannot be told apart by themselves. Say which is which:\n  \
         carpotempo record --sensor {} --forearm {} ...\n\
         or set one of them to the other place in its firmware (firmware-notes, the description's byte 1).",
        named(0),
        named(1)
    )
}

fn unset(name: &str) -> String {
    let option = quoted(name);
    format!(
        "{name} is set to no place: name it where you use it, on the hand with --sensor {option}, on the forearm with --forearm {option}."
    )
}
