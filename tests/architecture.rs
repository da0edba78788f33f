//! The rooms of the house: each imports only rooms above it, and the pure ones know no machine.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::path::{Path, PathBuf};

/// The rooms in order. A room imports only rooms above it in this list.
const ROOMS: [&str; 16] = [
    "sample",
    "movement",
    "routine",
    "recording",
    "orientation",
    "joint",
    "reps",
    "pipeline",
    "session",
    "source",
    "review",
    "chart",
    "report",
    "handover",
    "page",
    "cli",
];

/// Rooms that know no clock, file, socket, thread or terminal.
const PURE: [&str; 9] = [
    "sample",
    "movement",
    "routine",
    "orientation",
    "joint",
    "reps",
    "pipeline",
    "session",
    "review",
];

/// What in a pure room touches the disk on purpose: summaries are kept beside recordings.
const ALLOWED: &str = "pipeline/summary";

/// What a pure room may not mention.
const FORBIDDEN: [&str; 10] = [
    "std::fs",
    "std::net",
    "std::thread",
    "std::io",
    "SystemTime",
    "Instant::now",
    "Zoned::now",
    "tokio",
    "rayon",
    "println!",
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Each source file of a room: its path below src and its code without comments.
fn files() -> Vec<(String, String)> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    sources(&src, &mut found);
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(&src).unwrap().to_str().unwrap();
            let name = name.replace('\\', "/");
            let text = std::fs::read_to_string(&path).unwrap();
            let code: Vec<&str> = text
                .lines()
                .map(|line| line.split("//").next().unwrap())
                .collect();
            (name, code.join("\n"))
        })
        .filter(|(name, _)| name != "lib.rs" && name != "main.rs")
        .collect()
}

fn room_of(name: &str) -> &str {
    name.split('/').next().unwrap().trim_end_matches(".rs")
}

/// The rooms that a piece of code names after `crate::`.
fn imports(code: &str) -> Vec<String> {
    code.match_indices("crate::")
        .flat_map(|(at, word)| {
            let rest = &code[at + word.len()..];
            if let Some(group) = rest.strip_prefix('{') {
                let end = group.find('}').unwrap_or(group.len());
                group[..end]
                    .split(',')
                    .map(|part| first_word(part.trim()))
                    .collect::<Vec<_>>()
            } else {
                vec![first_word(rest)]
            }
        })
        .filter(|word| !word.is_empty())
        .collect()
}

fn first_word(text: &str) -> String {
    text.chars()
        .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
        .collect()
}

#[test]
fn a_room_imports_only_rooms_above_it() {
    let place = |room: &str| ROOMS.iter().position(|r| *r == room);
    let mut seen = 0;
    for (name, code) in files() {
        let room = room_of(&name);
        let own = place(room)
            .unwrap_or_else(|| panic!("src/{name}: the room {room} has no line in the table"));
        for import in imports(&code) {
            let Some(other) = place(&import) else {
                continue;
            };
            seen += 1;
            assert!(
                other <= own,
                "src/{name}: {room} imports {import}, which lies below it"
            );
        }
    }
    assert!(seen > 100, "the test sees the imports: {seen}");
}

#[test]
fn the_pure_rooms_know_no_machine() {
    for (name, code) in files() {
        if !PURE.contains(&room_of(&name)) || name.starts_with(ALLOWED) {
            continue;
        }
        for word in FORBIDDEN {
            assert!(!code.contains(word), "src/{name} mentions {word}");
        }
    }
}

#[test]
fn the_checks_can_fail() {
    assert_eq!(imports("use crate::{reps::curve, cli};"), ["reps", "cli"]);
    assert_eq!(imports("crate::joint::align(a)"), ["joint"]);
    assert_eq!(room_of("reps/curve.rs"), "reps");
    assert_eq!(room_of("sample.rs"), "sample");
}
