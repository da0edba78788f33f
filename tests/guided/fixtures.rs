//! The invented views by which the page is looked at have the shape of the program's own.

use std::collections::{BTreeMap, BTreeSet};

use carpotempo::session::guided::press::Press;
use serde_json::Value;

use super::drive::{ROUTINE, plan};
use super::fed::Fed;

/// Keys of an object and of what is in it, as paths; a value that may be null has no inside.
fn keys(value: &Value, path: &str, found: &mut BTreeSet<String>) {
    if let Value::Object(object) = value {
        for (key, inside) in object {
            let path = format!("{path}/{key}");
            keys(inside, &path, found);
            found.insert(path);
        }
    }
}

#[test]
fn each_fixture_has_the_keys_that_the_program_sends() {
    let mut own: BTreeMap<String, Value> = BTreeMap::new();
    let mut keep = |fed: &Fed| {
        let view = serde_json::to_value(fed.guided.view()).unwrap();
        let screen = view["screen"]["screen"].as_str().unwrap().to_owned();
        own.insert(screen, view);
    };
    let toml = ROUTINE.replace("repetitions = 4", "repetitions = 4\nrange = { target_deg = 40, no_further_deg = 55 }\nload_shape = \"centred\"");
    let mut fed = Fed::at_work(plan(&toml));
    keep(&fed);
    fed.ready();
    fed.counted(45.0, false);
    keep(&fed);
    fed.press(Press::Pause);
    keep(&fed);
    fed.press(Press::No);
    fed.press(Press::FinishHere);
    keep(&fed);
    let fixtures = std::fs::read_to_string("tests/page_look/views.json").unwrap();
    let fixtures: BTreeMap<String, Value> = serde_json::from_str(&fixtures).unwrap();
    let mut compared = 0;
    for (name, fixture) in &fixtures {
        let Some(own) = own.get(fixture["screen"]["screen"].as_str().unwrap()) else {
            continue;
        };
        let (mut of_fixture, mut of_program) = (BTreeSet::new(), BTreeSet::new());
        keys(fixture, "", &mut of_fixture);
        keys(own, "", &mut of_program);
        // The latest repetition is null in one and known in the other.
        let known = |path: &&String| !path.contains("/latest/");
        let missing: Vec<&String> = of_program.difference(&of_fixture).filter(known).collect();
        let more: Vec<&String> = of_fixture.difference(&of_program).filter(known).collect();
        assert!(
            missing.is_empty() && more.is_empty(),
            "{name}: without {missing:?}, with {more:?}"
        );
        compared += 1;
    }
    assert!(compared >= 8, "{compared}");
}
