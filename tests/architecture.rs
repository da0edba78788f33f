//! The rooms of the house: a room imports only rooms above it, and the pure ones know no file,
//! socket, thread, clock or terminal.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// A room and what it is not allowed to know.
struct Room {
    name: &'static str,
    /// Files of the room that may know the outside world; `None` is the whole room.
    outward: Option<&'static [&'static str]>,
}

const fn pure(name: &'static str) -> Room {
    Room {
        name,
        outward: Some(&[]),
    }
}

const fn open(name: &'static str) -> Room {
    Room {
        name,
        outward: None,
    }
}

/// A room imports only rooms above it in this list. A room that is not there yet may be missing; a
/// new module needs its line here.
const ROOMS: [Room; 21] = [
    pure("sample"),
    pure("movement"),
    pure("routine"),
    pure("drawing"),
    open("recording"),
    pure("orientation"),
    pure("joint"),
    pure("reps"),
    Room {
        name: "pipeline",
        // Summaries are read and written beside their sessions, several at a time.
        outward: Some(&["pipeline/summary.rs", "pipeline/summary/"]),
    },
    pure("session"),
    open("source"),
    open("sitting"),
    pure("review"),
    open("chart"),
    open("report"),
    open("export"),
    open("handover"),
    open("clinic"),
    open("page"),
    open("cli"),
    // The program itself.
    open("main"),
];

/// Folders of open rooms that are pure all the same.
const PURE_FOLDERS: [&str; 1] = ["source/unit/"];

/// What a pure room does not mention.
const OUTSIDE: [&str; 17] = [
    "std::fs",
    "std::io",
    "std::net",
    "std::thread",
    "std::process",
    "std::env",
    "std::time",
    "SystemTime",
    "Instant",
    "println!",
    "eprintln!",
    "print!",
    "eprint!",
    "dbg!",
    "tokio",
    "rayon",
    "Zoned::now",
];

fn source_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every source file but the library's root, by its path within `src`, with its code.
fn sources() -> Vec<(String, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|end| end == "rs") {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(&source_folder(), &mut found);
    found.sort();
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(source_folder()).unwrap();
            let name = name.to_str().unwrap().replace('\\', "/");
            (name, code(&std::fs::read_to_string(&path).unwrap()))
        })
        .filter(|(name, _)| name != "lib.rs")
        .collect()
}

/// The text without its line comments; a `//` within a string ends the line too, which is enough
/// for paths.
fn code(text: &str) -> String {
    text.lines()
        .map(|line| line.find("//").map_or(line, |comment| &line[..comment]))
        .collect::<Vec<_>>()
        .join("\n")
}

/// The room of a file, by its path within `src`.
fn room_of(file: &str) -> &str {
    let first = file.split('/').next().unwrap();
    first.strip_suffix(".rs").unwrap_or(first)
}

/// How far below the crate's root a file's module lies.
fn depth_of(file: &str) -> usize {
    let parts = file.split('/').count();
    if file.ends_with("/mod.rs") {
        parts - 1
    } else {
        parts
    }
}

fn is_word(character: char) -> bool {
    character.is_ascii_alphanumeric() || character == '_'
}

/// The places in the code where the word stands by itself.
fn places<'a>(code: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    code.match_indices(word)
        .map(|(at, _)| at)
        .filter(move |&at| {
            let before = code[..at].chars().next_back();
            let after = code[at + word.len()..].chars().next();
            !(before.is_some_and(is_word) || word.ends_with(is_word) && after.is_some_and(is_word))
        })
}

/// First words of a path or of a group of paths in braces.
fn first_words(path: &str) -> Vec<String> {
    let path = path.trim_start();
    let Some(group) = path.strip_prefix('{') else {
        return vec![path.chars().take_while(|&c| is_word(c)).collect()];
    };
    let mut words = Vec::new();
    let mut depth = 0;
    let mut own = String::new();
    for character in group.chars() {
        match character {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => words.push(std::mem::take(&mut own)),
            _ if depth == 0 => own.push(character),
            _ => {}
        }
    }
    words.push(own);
    words
        .iter()
        .flat_map(|own| first_words(own))
        .filter(|word| !word.is_empty())
        .collect()
}

/// The rooms that a file's code names: by `crate::`, by as many `super::` as lead to the root, and
/// by the crate's own name.
fn imports(file: &str, code: &str) -> BTreeSet<String> {
    let code: String = code
        .split("::")
        .map(str::trim)
        .collect::<Vec<_>>()
        .join("::");
    let rooms: Vec<&str> = ROOMS.iter().map(|room| room.name).collect();
    let mut found = BTreeSet::new();
    for root in ["crate::", "carpotempo::"] {
        for at in places(&code, root) {
            found.extend(first_words(&code[at + root.len()..]));
        }
    }
    let to_root = "super::".repeat(depth_of(file));
    for at in places(&code, &to_root) {
        let rest = code[at + to_root.len()..].trim_start_matches("super::");
        let words = first_words(rest);
        found.extend(words.into_iter().filter(|w| rooms.contains(&w.as_str())));
    }
    found
}

fn place_in_list(room: &str) -> Option<usize> {
    ROOMS.iter().position(|own| own.name == room)
}

/// What is wrong with a file's imports, in words.
fn wrong_imports(file: &str, code: &str) -> Vec<String> {
    let room = room_of(file);
    let Some(own) = place_in_list(room) else {
        return vec![format!(
            "src/{file}: the module {room} has no line in the list of rooms"
        )];
    };
    imports(file, code)
        .into_iter()
        .filter(|other| other != room)
        .filter_map(|other| match place_in_list(&other) {
            Some(place) if place < own => None,
            Some(_) => Some(format!(
                "src/{file}: {room} imports {other}, which lies below it"
            )),
            None => Some(format!("src/{file}: {other} is no room")),
        })
        .collect()
}

/// What a file of a pure room mentions of the outside world.
fn outside_words(file: &str, code: &str) -> Vec<String> {
    let room = place_in_list(room_of(file)).map(|place| &ROOMS[place]);
    let is_pure = PURE_FOLDERS.iter().any(|own| file.starts_with(own));
    let outward = room.and_then(|room| room.outward);
    let Some(outward) = outward.or(is_pure.then_some(&[])) else {
        return Vec::new();
    };
    if outward.iter().any(|own| file.starts_with(own)) {
        return Vec::new();
    }
    let mut words: Vec<String> = OUTSIDE
        .into_iter()
        .filter(|word| places(code, word).next().is_some())
        .map(str::to_owned)
        .collect();
    // The same behind one brace: use std::{fs, io}.
    for at in places(code, "std::{") {
        let names = first_words(&code[at + "std::".len()..]);
        let outside = |name: &String| OUTSIDE.contains(&format!("std::{name}").as_str());
        words.extend(names.into_iter().filter(outside));
    }
    words
        .into_iter()
        .map(|word| format!("src/{file}: the pure room mentions {word}"))
        .collect()
}

#[test]
fn a_room_imports_only_rooms_above_it() {
    let sources = sources();
    assert!(sources.len() > 50, "the sources are found");
    let wrong: Vec<String> = sources
        .iter()
        .flat_map(|(file, code)| wrong_imports(file, code))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_imports_are_seen() {
    let all: BTreeSet<String> = sources()
        .iter()
        .flat_map(|(file, code)| imports(file, code))
        .collect();
    for room in ["sample", "movement", "orientation", "reps", "pipeline"] {
        assert!(all.contains(room), "nobody imports {room}: {all:?}");
    }
}

#[test]
fn the_library_holds_rooms_of_the_list_and_nothing_else() {
    let root = code(&std::fs::read_to_string(source_folder().join("lib.rs")).unwrap());
    let modules: Vec<&str> = root
        .lines()
        .filter_map(|line| {
            let line = line.trim().strip_prefix("pub ").unwrap_or(line.trim());
            line.strip_prefix("mod ")?.strip_suffix(';')
        })
        .collect();
    assert!(modules.len() >= 12, "{modules:?}");
    for module in &modules {
        assert!(
            place_in_list(module).is_some(),
            "the module {module} has no line in the list of rooms"
        );
    }
    for entry in std::fs::read_dir(source_folder()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name != "lib.rs" {
            assert!(
                place_in_list(room_of(&name)).is_some(),
                "src/{name} belongs to no room"
            );
        }
    }
}

#[test]
fn the_pure_rooms_know_no_file_socket_thread_clock_or_terminal() {
    let wrong: Vec<String> = sources()
        .iter()
        .flat_map(|(file, code)| outside_words(file, code))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn wrong_imports_in_every_guise_are_found() {
    for (file, text) in [
        ("joint/axis.rs", "use crate::pipeline::analyse;"),
        ("joint/axis.rs", "use crate::{sample::Sample, cli};"),
        (
            "joint/axis.rs",
            "use crate::{\n    sample::{Sample, Place},\n    review::Review,\n};",
        ),
        ("joint/axis.rs", "fn f() -> crate::chart::Pen { todo!() }"),
        ("joint/axis.rs", "use super::super::report::page;"),
        ("joint/mod.rs", "use super::report::page;"),
        ("sample.rs", "use crate\n    ::movement::Movement;"),
        ("sample.rs", "mod tests { use super::super::review; }"),
        ("extras/mod.rs", ""),
        ("main.rs", "use carpotempo::extras;"),
    ] {
        let wrong = wrong_imports(file, &code(text));
        assert_eq!(wrong.len(), 1, "{file}: {text}: {wrong:?}");
    }
    for (file, text) in [
        ("joint/axis.rs", "use crate::{sample::Sample, orientation};"),
        (
            "joint/axis.rs",
            "use super::frames; use crate::joint::Measure;",
        ),
        ("joint/axis.rs", "// crate::pipeline is told of this"),
        ("joint/axis.rs", "use other_crate::pipeline::x;"),
        ("main.rs", "carpotempo::cli::main()"),
    ] {
        let wrong = wrong_imports(file, &code(text));
        assert!(wrong.is_empty(), "{file}: {text}: {wrong:?}");
    }
}

#[test]
fn the_outside_world_in_every_guise_is_found() {
    for text in [
        "use std::fs::File;",
        "use std::{fs, io};",
        "let now = Instant::now();",
        "println!(\"{x}\");",
        "std::thread::spawn(f);",
    ] {
        assert!(
            !outside_words("reps/curve.rs", &code(text)).is_empty(),
            "{text}"
        );
    }
    for text in [
        "RateMeaning::AtInstant",
        "use std::f64::consts::PI;",
        "// std::fs is not for here",
    ] {
        assert!(
            outside_words("reps/curve.rs", &code(text)).is_empty(),
            "{text}"
        );
    }
    assert!(outside_words("pipeline/summary.rs", "use std::fs;").is_empty());
    assert!(outside_words("recording/lines.rs", "use std::fs;").is_empty());
    assert!(outside_words("source/radio.rs", "use tokio::time;").is_empty());
    assert!(!outside_words("source/unit/stream.rs", "use tokio::time;").is_empty());
    assert!(!outside_words("pipeline/live.rs", "use std::fs;").is_empty());
}
