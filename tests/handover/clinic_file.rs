//! What sets up a patient's computer, and the key behind it.

use carpotempo::handover::{ClinicFile, HandoverError, PublicKey, SecretKey};
use carpotempo::routine::{Routine, STARTING};

use super::places::{code, places};

#[test]
fn every_starting_routine_comes_out_of_a_clinic_file_as_it_went_in() {
    let places = places();
    for starting in STARTING {
        let mut routine = Routine::from_toml(starting.toml).unwrap();
        let words = "Call the hand clinic: \"extension\" 12, # mornings";
        let key = places.key.public();
        let made = ClinicFile::new(
            key.clone(),
            Some(code("P-0001")),
            routine.clone(),
            Some(words),
        );
        let path = places.folder.path().join(starting.name);
        made.unwrap().write(&path).unwrap();
        let read = ClinicFile::read(&path).unwrap();
        routine.contact = Some(words.to_owned());
        assert_eq!(
            (read.key, read.patient, read.routine),
            (key, Some(code("P-0001")), routine)
        );
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(!text.contains("SECRET"));
    }
}

#[test]
fn a_clinic_file_says_whom_to_ask() {
    let places = places();
    let routine = Routine::from_toml(STARTING[0].toml).unwrap();
    let without = Routine {
        contact: None,
        ..routine.clone()
    };
    for contact in [
        None,
        Some(""),
        Some("  "),
        Some("a\u{1b}[2J"),
        Some("x".repeat(501).as_str()),
    ] {
        let made = ClinicFile::new(places.key.public(), None, without.clone(), contact);
        assert!(matches!(made, Err(HandoverError::NoContact)), "{contact:?}");
    }
    let own = Routine {
        contact: Some("Ward 3".to_owned()),
        ..routine
    };
    let made = ClinicFile::new(places.key.public(), None, own, None).unwrap();
    assert_eq!(made.routine.contact.as_deref(), Some("Ward 3"));
}

#[test]
fn a_clinic_file_that_is_none_is_refused_with_one_line() {
    let places = places();
    let routine = Routine::from_toml(STARTING[0].toml).unwrap();
    let made = ClinicFile::new(places.key.public(), None, routine, Some("Ward 3")).unwrap();
    let good_path = places.folder.path().join("good");
    made.write(&good_path).unwrap();
    let good = std::fs::read_to_string(&good_path).unwrap();
    let key = places.key.public().to_string();
    for (text, words) in [
        (String::new(), "no line format"),
        ("title = \"T\"\n".to_owned(), "no line format"),
        ("[[[".to_owned(), "is no clinic file"),
        (
            good.replace("version = 1\n", "version = 2\n"),
            "of format version 2",
        ),
        (good.replace(&key, "age1qqqq"), "is no clinic's public key"),
        (
            good.replace(&key, "AGE-SECRET-KEY-1QQQQ"),
            "\"a secret key\" is no clinic's public key",
        ),
        (
            good.replace("contact = ", "contakt = "),
            "is no clinic file",
        ),
        (
            good.replace("rounds = 1", "rounds = 0")
                .replace("kind = \"counted\"", "kind = \"counting\""),
            "its routine is wrong",
        ),
        ("x".repeat((1 << 20) + 1), "too long"),
    ] {
        let path = places.folder.path().join("bad");
        std::fs::write(&path, &text).unwrap();
        let error = ClinicFile::read(&path).expect_err(words).to_string();
        assert!(error.contains(words), "{words}: {error}");
        assert!(error.len() < 600, "{error}");
    }
    let again = made.write(&good_path).unwrap_err();
    assert!(again.to_string().contains("never overwritten"), "{again}");
    assert_eq!(std::fs::read_to_string(&good_path).unwrap(), good);
}

#[test]
fn a_secret_key_is_the_users_alone_and_is_read_back() {
    let places = places();
    let read = SecretKey::read(&places.key_path).unwrap();
    assert_eq!(read.public(), places.key.public());
    assert_eq!(format!("{read:?}"), "SecretKey", "no key in a log");
    let text = std::fs::read_to_string(&places.key_path).unwrap();
    assert!(text.contains("Keep this file in the clinic"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = places.key_path.metadata().unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
    let again = SecretKey::make(&places.key_path).unwrap_err();
    assert!(again.to_string().contains("never overwritten"));
    assert_eq!(std::fs::read_to_string(&places.key_path).unwrap(), text);
    let bad = places.folder.path().join("bad");
    let secret = text.lines().last().unwrap();
    for text in [
        "",
        "# only words\n",
        "age1x",
        &secret[..40],
        &format!("{secret}\n{secret}\n"),
    ] {
        std::fs::write(&bad, text).unwrap();
        let error = SecretKey::read(&bad).unwrap_err();
        assert!(matches!(error, HandoverError::SecretKey { .. }), "{error}");
        assert!(
            !error.to_string().contains(&secret[17..30]),
            "no secret in a message"
        );
    }
}

/// Source: the test vectors of the age format (age-encryption.org/v1, "X25519 recipient type"; the pair is
/// from the specification's example, from memory, check): text to key and back to the same text.
#[test]
fn a_public_key_reads_back_to_its_text() {
    let text = "age1zvkyg2lqzraa2lnjvqej32nkuu0ues2s82hzrye869xeexvn73equnujwj";
    assert_eq!(text.parse::<PublicKey>().unwrap().to_string(), text);
    for bad in [
        "",
        "age1",
        &text[..61],
        &text.replace("zvk", "zvj"),
        "ssh-ed25519 AAAA",
    ] {
        assert!(bad.parse::<PublicKey>().is_err(), "{bad}");
    }
}
