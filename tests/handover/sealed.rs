//! From the patient to the clinic.

use std::path::Path;

use carpotempo::handover::{Chosen, HandoverError, Placed, Saved, SecretKey, open, save};
use carpotempo::recording::open as read;

use super::places::{Places, begun, code, places, samples, session, three, tree};

pub fn saved(places: &Places, chosen: &Chosen) -> Result<Saved, HandoverError> {
    let key = places.key.public();
    save(
        &places.home,
        &code("P-0001"),
        &key,
        chosen,
        &places.outbox(),
    )
}

pub fn opened(places: &Places, path: &Path) -> Result<Placed, HandoverError> {
    open(&places.clinic, path, &places.key, &places.key_path, None)
}

#[test]
fn what_the_patient_saved_is_byte_for_byte_in_the_clinics_store() {
    let places = places();
    let names = three(&places.home);
    let saved = saved(&places, &Chosen::SinceLastTime).unwrap();
    assert_eq!((&saved.sessions, saved.left_out.len()), (&names, 0));
    let placed = opened(&places, &saved.path).unwrap();
    assert_eq!(
        (placed.patient, placed.new),
        (code("P-0001"), names.clone())
    );
    assert!(placed.already.is_empty() && placed.grown.is_empty() && placed.different.is_empty());
    for name in names {
        let path = format!("P-0001/{name}");
        let (home, clinic) = (
            places.home.root().join(&path),
            places.clinic.root().join(&path),
        );
        assert_eq!(tree(&home), tree(&clinic));
        assert_eq!(read(&clinic).unwrap().hand.len(), 50);
    }
    let left: Vec<String> = tree(places.clinic.root()).into_keys().collect();
    assert!(
        left.iter().all(|path| path.starts_with("P-0001/")),
        "{left:?}"
    );
}

#[test]
fn nothing_about_the_patient_is_readable_outside() {
    let places = places();
    let names = three(&places.home);
    let saved = saved(&places, &Chosen::All).unwrap();
    let name = saved.path.file_name().unwrap().to_str().unwrap();
    let chance = name
        .strip_prefix("for-my-clinic-")
        .unwrap()
        .strip_suffix(".age")
        .unwrap();
    assert!(chance.len() == 8 && chance.bytes().all(|digit| digit.is_ascii_hexdigit()));
    let bytes = std::fs::read(&saved.path).unwrap();
    let key = places.key.public().to_string();
    for word in [
        "P-0001",
        "2026",
        "session",
        "carpotempo",
        "woke",
        "0.5",
        &names[0],
        &key,
    ] {
        let found = bytes
            .windows(word.len())
            .any(|part| part == word.as_bytes());
        // Three letters may come by chance among the sealed ones; words may not.
        assert!(!found || word.len() < 4, "{word}");
    }
    let again = self::saved(&places, &Chosen::All).unwrap();
    assert_ne!(
        std::fs::read(&again.path).unwrap(),
        bytes,
        "the same sessions look different each time"
    );
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = saved.path.metadata().unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}

/// One session more or less does not show, unless it is longer than a step.
#[test]
fn the_length_of_a_sealed_file_goes_up_in_steps() {
    let places = places();
    let names = three(&places.home);
    let long = |chosen: &Chosen| {
        saved(&places, chosen)
            .unwrap()
            .path
            .metadata()
            .unwrap()
            .len()
    };
    // Sealed pieces of 64 KiB carry 16 bytes each; before them stand a nonce and a header, whose
    // length is chance.
    let pieces = |chosen: &Chosen| {
        let long = long(chosen);
        let count = long / (64 << 10);
        let outside = long - count * ((64 << 10) + 16);
        assert!((150..2000).contains(&outside), "{long}: {outside} outside");
        count
    };
    let one = pieces(&Chosen::Named(vec![names[0].clone()]));
    assert!(one >= 1);
    assert_eq!(one, pieces(&Chosen::Named(vec![names[1].clone()])));
    assert!(pieces(&Chosen::All) >= one);
}

#[test]
fn only_what_is_new_since_last_time_is_saved_unless_more_is_asked_for() {
    let places = places();
    let names = three(&places.home);
    assert_eq!(
        saved(&places, &Chosen::SinceLastTime).unwrap().sessions,
        names
    );
    let nothing = saved(&places, &Chosen::SinceLastTime).unwrap_err();
    assert!(
        matches!(nothing, HandoverError::Nothing { .. }),
        "{nothing}"
    );
    assert_eq!(
        std::fs::read_dir(places.outbox()).unwrap().count(),
        1,
        "no second file"
    );
    let fourth = session(&places.home, "P-0001", "2026-03-09T18:30:00+01:00");
    assert_eq!(
        saved(&places, &Chosen::SinceLastTime).unwrap().sessions,
        std::slice::from_ref(&fourth)
    );
    assert_eq!(saved(&places, &Chosen::All).unwrap().sessions.len(), 4);
    let since = Chosen::Since("2026-03-06".parse().unwrap());
    assert_eq!(
        saved(&places, &since).unwrap().sessions,
        [names[2].clone(), fourth]
    );
    let one = Chosen::Named(vec![names[1].clone()]);
    assert_eq!(saved(&places, &one).unwrap().sessions, [names[1].clone()]);
    let none = saved(&places, &Chosen::Named(vec!["../clinic".to_owned()])).unwrap_err();
    assert!(
        matches!(none, HandoverError::UnknownSession { .. }),
        "{none}"
    );
    // Another clinic has seen nothing yet.
    let other = SecretKey::make(&places.folder.path().join("other"))
        .unwrap()
        .public();
    let (home, outbox) = (&places.home, places.outbox());
    let for_other = save(
        home,
        &code("P-0001"),
        &other,
        &Chosen::SinceLastTime,
        &outbox,
    )
    .unwrap();
    assert_eq!(for_other.sessions.len(), 4);
}

#[test]
fn a_session_without_anything_in_it_and_a_broken_one_are_not_saved() {
    let places = places();
    let names = three(&places.home);
    let own = places.home.root().join("P-0001");
    std::fs::remove_file(own.join(&names[0]).join("events.csv")).unwrap();
    std::fs::remove_file(own.join(&names[0]).join("samples.csv")).unwrap();
    std::fs::write(own.join(&names[1]).join("session.json"), "{").unwrap();
    let saved = saved(&places, &Chosen::All).unwrap();
    assert_eq!(saved.sessions, [names[2].clone()]);
    assert_eq!(saved.left_out.len(), 1);
    assert!(saved.left_out[0].ends_with(&names[1]));
}

#[test]
fn the_same_sessions_again_are_said_and_nothing_is_doubled() {
    let places = places();
    let names = three(&places.home);
    let first = saved(&places, &Chosen::All).unwrap();
    opened(&places, &first.path).unwrap();
    let before = tree(places.clinic.root());
    let second = saved(&places, &Chosen::All).unwrap();
    for path in [&first.path, &second.path] {
        let placed = opened(&places, path).unwrap();
        assert_eq!((placed.new.len(), &placed.already), (0, &names));
        assert_eq!(tree(places.clinic.root()), before);
    }
}

#[test]
fn a_session_saved_while_it_was_recorded_is_completed_by_the_next_file() {
    let places = places();
    let mut writer = begun(&places.home, "P-0001", "2026-03-02T18:30:00+01:00");
    writer.flush().unwrap();
    let folder = writer.folder().to_owned();
    let part = saved(&places, &Chosen::SinceLastTime).unwrap();
    opened(&places, &part.path).unwrap();
    samples(&mut writer, 2.0);
    writer.finish().unwrap();
    let whole = saved(&places, &Chosen::SinceLastTime).unwrap();
    let placed = opened(&places, &whole.path).unwrap();
    assert_eq!(
        (placed.new.len(), placed.grown.len(), placed.different.len()),
        (0, 1, 0)
    );
    let at_clinic = places
        .clinic
        .root()
        .join("P-0001")
        .join(folder.file_name().unwrap());
    assert_eq!(tree(&at_clinic), tree(&folder));
    // The part that came first changes nothing any more.
    assert_eq!(opened(&places, &part.path).unwrap().already.len(), 1);
    assert_eq!(tree(&at_clinic), tree(&folder));
}

#[test]
fn what_the_clinic_has_under_that_name_is_never_written_over() {
    let places = places();
    let names = three(&places.home);
    let file = saved(&places, &Chosen::All).unwrap().path;
    let other = session(&places.clinic, "P-0001", "2026-03-04T18:30:00+01:00");
    assert_eq!(other, names[1]);
    let events = places
        .clinic
        .root()
        .join("P-0001")
        .join(&other)
        .join("events.csv");
    let text = std::fs::read_to_string(&events)
        .unwrap()
        .replace("true", "false");
    std::fs::write(&events, &text).unwrap();
    let placed = opened(&places, &file).unwrap();
    assert_eq!(placed.different, [names[1].clone()]);
    assert_eq!(placed.new, [names[0].clone(), names[2].clone()]);
    assert_eq!(std::fs::read_to_string(&events).unwrap(), text);
}

#[test]
fn another_key_opens_nothing() {
    let places = places();
    three(&places.home);
    let file = saved(&places, &Chosen::All).unwrap().path;
    let other_path = places.folder.path().join("other-key.txt");
    let other = SecretKey::make(&other_path).unwrap();
    let before = places.all();
    let error = open(&places.clinic, &file, &other, &other_path, None).unwrap_err();
    assert!(matches!(error, HandoverError::WrongKey { .. }), "{error}");
    assert_eq!(places.all(), before);
}

#[test]
fn another_patients_sessions_are_refused_where_one_is_expected() {
    let places = places();
    three(&places.home);
    let file = saved(&places, &Chosen::All).unwrap().path;
    let before = tree(places.clinic.root());
    let expected = code("P-0002");
    let error = open(
        &places.clinic,
        &file,
        &places.key,
        &places.key_path,
        Some(&expected),
    );
    assert!(
        matches!(error, Err(HandoverError::OtherPatient { .. })),
        "{error:?}"
    );
    assert!(tree(places.clinic.root()).len() == before.len());
}
