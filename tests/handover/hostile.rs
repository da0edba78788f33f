//! Archives made to climb out, to grow, to link, to lie: nothing is taken from any of them.

use carpotempo::handover::{HandoverError, Placed, open, restore};
use serde_json::{Value, json};
use tar::EntryType;

use super::crafted::{Crafted, EVENTS, Entry, SESSION, entry, good, head_of, listed};
use super::places::{Places, code, places};

fn restored(places: &Places, crafted: &Crafted) -> Result<Placed, HandoverError> {
    let path = crafted.plain(places);
    restore(&places.clinic, &path, &code("P-0001"))
}

fn opened(places: &Places, crafted: &Crafted) -> Result<Placed, HandoverError> {
    let path = crafted.sealed(places);
    open(&places.clinic, &path, &places.key, &places.key_path, None)
}

/// Everything in the test's folder but the archives themselves and the store's own, empty folder.
pub fn surroundings(places: &Places) -> Vec<(String, Vec<u8>)> {
    let own = |name: &str| name.starts_with("crafted.") || name == "clinic/";
    let all = places.all().into_iter();
    all.filter(|(name, _)| !own(name)).collect()
}

/// Refused as a backup and as a sealed file, with these words, and nothing changed anywhere.
fn refused(places: &Places, crafted: &Crafted, words: &str) {
    let before = surroundings(places);
    for (how, result) in [
        ("plain", restored(places, crafted)),
        ("sealed", {
            let mut sealed = crafted.clone();
            if sealed.list["kind"] == "backup" {
                sealed.list["kind"] = json!("handover");
            }
            opened(places, &sealed)
        }),
    ] {
        let error = result.expect_err(how).to_string();
        assert!(error.contains(words), "{how}: {error}");
        assert!(!error.contains('\n') && error.len() < 500, "{how}: {error}");
        assert_eq!(surroundings(places), before, "{how}");
    }
}

pub fn session_mut(crafted: &mut Crafted) -> &mut Value {
    &mut crafted.list["sessions"][0]
}

#[test]
fn the_good_one_is_taken_so_that_the_others_are_refused_for_their_own_reason() {
    let places = places();
    let placed = restored(&places, &good("backup")).unwrap();
    assert_eq!(placed.new, [SESSION]);
    let placed = opened(&places, &good("handover")).unwrap();
    assert_eq!(placed.already, [SESSION]);
}

#[test]
fn names_that_lead_elsewhere_are_refused_in_the_list() {
    let places = places();
    let long = "x".repeat(65);
    for name in [
        "..",
        ".",
        "",
        "../P-0002",
        "/tmp/x",
        "a/b",
        "a\\b",
        "C:",
        "C:\\x",
        "..\\x",
        ".incoming-1",
        "nul",
        "con.d",
        "a\0b",
        "\u{2025}",
        "a ",
        "a.",
        &long,
    ] {
        let mut crafted = good("backup");
        session_mut(&mut crafted)["name"] = json!(name);
        for entry in &mut crafted.entries {
            let file = entry
                .name
                .rsplit(|byte| *byte == b'/')
                .next()
                .unwrap()
                .to_vec();
            entry.name = [name.as_bytes(), b"/", &file].concat();
        }
        refused(&places, &crafted, "is no session's name");
        let mut crafted = good("backup");
        session_mut(&mut crafted)["files"][1]["name"] = json!(name);
        crafted.entries[1].name = format!("{SESSION}/{name}").into_bytes();
        refused(&places, &crafted, "is no file of a recording");
    }
}

#[test]
fn an_entry_that_the_list_does_not_name_is_refused() {
    let places = places();
    for name in [
        "../../key",
        "/etc/cron.d/x",
        "P-0001",
        "2026-03-02T173000Z/session.jsonx",
        "",
        "x\0y",
    ] {
        let mut crafted = good("backup");
        crafted.entries[1].name = name.as_bytes().to_vec();
        refused(&places, &crafted, "that its list names");
    }
    let mut crafted = good("backup");
    crafted.entries.push(entry("more", b"x"));
    refused(&places, &crafted, "more in it than its list names");
    let mut crafted = good("backup");
    crafted.entries.swap(0, 1);
    refused(&places, &crafted, "that its list names");
    let mut crafted = good("backup");
    crafted.entries.pop();
    refused(&places, &crafted, "ends too early");
}

#[test]
fn links_devices_and_extensions_are_refused() {
    let places = places();
    for kind in [
        EntryType::Symlink,
        EntryType::Link,
        EntryType::Directory,
        EntryType::Char,
        EntryType::Block,
        EntryType::Fifo,
        EntryType::GNUSparse,
        EntryType::GNULongName,
        EntryType::GNULongLink,
        EntryType::XHeader,
        EntryType::XGlobalHeader,
        EntryType::Continuous,
        EntryType::new(b'Z'),
    ] {
        let mut crafted = good("backup");
        crafted.entries[1].kind = kind;
        crafted.entries[1].link = b"/etc/passwd".to_vec();
        refused(&places, &crafted, "that its list names");
    }
    // A long name of the GNU kind before an entry: read by a tar, it would rename what follows.
    let mut crafted = good("backup");
    let long = Entry {
        kind: EntryType::GNULongName,
        ..entry("././@LongLink", b"../../escaped\0")
    };
    crafted.entries.insert(1, long);
    refused(&places, &crafted, "that its list names");
    let mut crafted = good("backup");
    let pax = Entry {
        kind: EntryType::XHeader,
        ..entry("pax", b"28 path=../../escaped-by-pax\n")
    };
    crafted.entries.insert(1, pax);
    refused(&places, &crafted, "that its list names");
}

#[test]
fn sizes_that_lie_or_have_no_end_are_refused() {
    let places = places();
    let mut crafted = good("backup");
    session_mut(&mut crafted)["files"][1]["size_bytes"] = json!(5_u64 << 30);
    refused(&places, &crafted, "is too large");
    session_mut(&mut crafted)["files"][1]["size_bytes"] = json!(u64::MAX);
    refused(&places, &crafted, "is too large");
    session_mut(&mut crafted)["files"][1]["size_bytes"] = json!(-1);
    refused(&places, &crafted, "its list is wrong");
    session_mut(&mut crafted)["files"][1]["size_bytes"] = json!(1_u64 << 30);
    refused(&places, &crafted, "that its list names");
    crafted.entries[1].claimed_bytes = Some(1 << 30);
    refused(&places, &crafted, "ends too early");
    let mut crafted = good("backup");
    crafted.list["sessions"] = json!(vec![json!({"name": "s", "files": []}); 20_001]);
    refused(&places, &crafted, "more than 20000 sessions");
    let mut crafted = good("backup");
    let file = session_mut(&mut crafted)["files"][1].clone();
    session_mut(&mut crafted)["files"] = json!(vec![file; 65]);
    refused(&places, &crafted, "has no session.json");
    let mut crafted = good("backup");
    crafted.list["padding"] = json!("x".repeat(17 << 20));
    refused(&places, &crafted, "its list is too long");
    let mut crafted = good("backup");
    crafted.tail = vec![0; 3 << 20];
    refused(&places, &crafted, "something follows its end");
    crafted.tail = vec![0; 1024];
    crafted.tail.extend_from_slice(b"hidden");
    refused(&places, &crafted, "something follows its end");
}

#[test]
fn what_is_listed_twice_is_refused_also_where_only_capitals_differ() {
    let places = places();
    let mut crafted = good("backup");
    let mut twin = session_mut(&mut crafted).clone();
    twin["name"] = json!(SESSION.to_lowercase());
    crafted.list["sessions"].as_array_mut().unwrap().push(twin);
    refused(&places, &crafted, "twice");
    let mut crafted = good("backup");
    let files = session_mut(&mut crafted)["files"].as_array_mut().unwrap();
    files.push(listed("events.csv", EVENTS));
    refused(&places, &crafted, "twice");
}

#[test]
fn contents_that_are_not_what_the_list_says_are_refused() {
    let places = places();
    let mut crafted = good("backup");
    crafted.entries[1].bytes[20] ^= 1;
    refused(&places, &crafted, "is not what its list says");
    let mut crafted = good("backup");
    session_mut(&mut crafted)["files"][1]["sha256"] = json!("f".repeat(63));
    refused(&places, &crafted, "the hash of events.csv is none");
    // Hash and list agree, but it is another patient's.
    let mut crafted = good("backup");
    let other = head_of("P-0002");
    session_mut(&mut crafted)["files"][0] = listed("session.json", &other);
    crafted.entries[0].bytes = other;
    refused(&places, &crafted, "is of another patient");
}

#[test]
fn what_is_no_recording_comes_into_no_clinic() {
    let places = places();
    let before = surroundings(&places);
    for text in [&b"{}"[..], b"", b"{\"format\":\"carpotempo-recording\",\"version\":2,\"started_at\":\"2026-03-02T18:30:00+01:00\"}"] {
        let mut crafted = good("handover");
        session_mut(&mut crafted)["files"][0] = listed("session.json", text);
        crafted.entries[0].bytes = text.to_vec();
        let error = opened(&places, &crafted).unwrap_err();
        match error {
            HandoverError::Refused { .. } | HandoverError::Newer { .. } => {}
            other => panic!("{other}"),
        }
        assert_eq!(surroundings(&places), before);
    }
    let mut crafted = good("handover");
    session_mut(&mut crafted)["files"]
        .as_array_mut()
        .unwrap()
        .push(listed("x.sh", b"x"));
    crafted
        .entries
        .push(entry(&format!("{SESSION}/x.sh"), b"x"));
    assert!(matches!(
        opened(&places, &crafted),
        Err(HandoverError::Refused { .. })
    ));
    let mut crafted = good("handover");
    crafted.list["files"] = json!([listed("handed-over.json", b"{}")]);
    crafted.entries.insert(0, entry("handed-over.json", b"{}"));
    assert!(matches!(
        opened(&places, &crafted),
        Err(HandoverError::Refused { .. })
    ));
}

#[test]
fn a_newer_format_and_another_kind_are_named() {
    let places = places();
    let mut crafted = good("backup");
    crafted.list["version"] = json!(2);
    crafted.list["kind"] = json!("something-new");
    refused(
        &places,
        &crafted,
        "format version 2, this program reads version 1",
    );
    let mut crafted = good("backup");
    crafted.list["format"] = json!("another");
    refused(&places, &crafted, "of another format");
    let swapped = restored(&places, &good("handover"))
        .unwrap_err()
        .to_string();
    assert!(
        swapped.contains("`carpotempo handover open` opens it"),
        "{swapped}"
    );
    let swapped = opened(&places, &good("backup")).unwrap_err().to_string();
    assert!(
        swapped.contains("`carpotempo store restore` opens it"),
        "{swapped}"
    );
}
