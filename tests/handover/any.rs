//! Archives bent at random: refused, or taken as their list says, and nothing outside.

use std::io::Write;

use carpotempo::handover::restore;
use proptest::prelude::*;
use serde_json::json;
use tar::EntryType;

use super::crafted::{EVENTS, Entry, entry, good};
use super::hostile::{session_mut, surroundings};
use super::places::{Places, code, places};

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    /// Bytes changed, taken out or put in anywhere: the archive is refused, or what is taken is exactly
    /// what its list names; never anything outside the patient's folder.
    #[test]
    fn a_bent_archive_writes_nothing_outside(
        bends in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..3_u8), 1..6),
    ) {
        let places = places();
        let mut bytes = good("backup").bytes();
        for (at, by, how) in bends {
            let at = at.index(bytes.len());
            match how {
                0 => bytes[at] = by,
                1 => drop(bytes.remove(at)),
                _ => bytes.insert(at, by),
            }
        }
        contained(&places, &bytes);
    }

    #[test]
    fn any_names_and_kinds_write_nothing_outside(
        name in "[./\\\\a-zA-Z0-9:~ \u{0}-]{0,24}", file in "[./\\\\a-z]{0,12}", kind in any::<u8>(), link in "[./a-z]{0,20}",
    ) {
        let places = places();
        let mut crafted = good("backup");
        session_mut(&mut crafted)["name"] = json!(name);
        session_mut(&mut crafted)["files"][1]["name"] = json!(file);
        crafted.entries[0].name = format!("{name}/session.json").into_bytes();
        crafted.entries[1] = Entry {
            kind: EntryType::new(kind),
            link: link.into_bytes(),
            ..entry(&format!("{name}/{file}"), EVENTS)
        };
        contained(&places, &crafted.bytes());
    }

    #[test]
    fn noise_is_refused(bytes in prop::collection::vec(any::<u8>(), 0..3000)) {
        let places = places();
        contained(&places, &bytes);
        prop_assert!(!places.clinic.root().join("P-0001").exists());
    }
}

/// Tries to restore, and looks that nothing but plain files two levels below the patient is there.
fn contained(places: &Places, bytes: &[u8]) {
    let path = places.folder.path().join("crafted.tar");
    std::fs::File::create(&path)
        .unwrap()
        .write_all(bytes)
        .unwrap();
    let before = surroundings(places);
    let result = restore(&places.clinic, &path, &code("P-0001"));
    let after = surroundings(places);
    let new = after.iter().filter(|one| !before.contains(one));
    for (name, _) in new {
        assert!(
            result.is_ok() && name.starts_with("clinic/P-0001/"),
            "{name}: {result:?}"
        );
        let full = places.folder.path().join(name);
        assert!(!full.symlink_metadata().unwrap().is_symlink());
        assert!(name.trim_end_matches('/').split('/').count() <= 4, "{name}");
    }
    assert!(before.iter().all(|one| after.contains(one)));
}
