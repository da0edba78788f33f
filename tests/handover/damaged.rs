//! Sealed files that were cut, changed or never were any.

use carpotempo::handover::{Chosen, HandoverError};
use proptest::prelude::*;

use super::places::{Places, begun, places, samples, session, tree};
use super::sealed::{opened, saved};

/// A file that was saved, with another text in it.
fn changed(places: &Places, bytes: &[u8]) -> std::path::PathBuf {
    let path = places.folder.path().join("changed.age");
    std::fs::write(&path, bytes).unwrap();
    path
}

#[test]
fn a_file_that_is_no_sealed_file_is_named_so() {
    let places = places();
    for text in [
        &b""[..],
        b"age",
        b"hello, this is no sealed file at all",
        &[0; 5000],
    ] {
        let path = changed(&places, text);
        let error = opened(&places, &path).unwrap_err();
        assert!(matches!(error, HandoverError::NotSealed { .. }), "{error}");
    }
    let path = changed(&places, b"age-encryption.org/v2\n-> X25519 abc\n");
    let error = opened(&places, &path).unwrap_err();
    assert!(matches!(error, HandoverError::Newer { .. }), "{error}");
    let mut endless = b"age-encryption.org/v1\n".to_vec();
    for _ in 0..20_000 {
        endless.extend_from_slice(b"-> X25519 abcdefghijklmnopqrstuvwxyz\nAAAA\n");
    }
    let path = changed(&places, &endless);
    let error = opened(&places, &path).unwrap_err();
    assert!(matches!(error, HandoverError::Damaged { .. }), "{error}");
    assert!(!places.clinic.root().exists() || tree(places.clinic.root()).is_empty());
}

/// Anything may be refused but nothing taken.
fn refused(places: &Places, bytes: &[u8], what: &str) {
    let path = changed(places, bytes);
    let before = places.all();
    match opened(places, &path) {
        Err(
            HandoverError::Damaged { .. }
            | HandoverError::WrongKey { .. }
            | HandoverError::NotSealed { .. }
            | HandoverError::Newer { .. },
        ) => {}
        other => panic!("{what}: {other:?}"),
    }
    let mut after = places.all();
    // The store's own folder may have been made.
    after.remove("clinic/");
    let mut before = before;
    before.remove("clinic/");
    assert_eq!(before, after, "{what}");
}

#[test]
fn a_cut_file_is_refused_wherever_it_was_cut() {
    let places = places();
    session(&places.home, "P-0001", "2026-03-02T18:30:00+01:00");
    let file = saved(&places, &Chosen::All).unwrap().path;
    let bytes = std::fs::read(&file).unwrap();
    // The end of a piece is where a cut might be overlooked: every one near it, and some elsewhere.
    let near = bytes.len().saturating_sub(40)..bytes.len();
    for long in (0..bytes.len()).step_by(97).chain(near) {
        refused(
            &places,
            &bytes[..long],
            &format!("cut to {long} of {}", bytes.len()),
        );
    }
    opened(&places, &changed(&places, &bytes)).unwrap();
}

#[test]
fn a_long_file_cut_at_the_end_of_a_piece_is_refused() {
    let places = places();
    let mut writer = begun(&places.home, "P-0001", "2026-03-02T18:30:00+01:00");
    for second in 2..140 {
        samples(&mut writer, f64::from(second));
    }
    writer.finish().unwrap();
    let file = saved(&places, &Chosen::All).unwrap().path;
    let bytes = std::fs::read(&file).unwrap();
    assert!(bytes.len() > 3 * 65_552, "{} bytes", bytes.len());
    // The header ends with its authentication line; 16 bytes of nonce follow; pieces of 64 KiB and 16
    // bytes of tag (age-encryption.org/v1).
    let mac = bytes.windows(5).position(|part| part == b"\n--- ").unwrap();
    let end = mac
        + 1
        + bytes[mac + 1..]
            .iter()
            .position(|byte| *byte == b'\n')
            .unwrap()
        + 1
        + 16;
    for pieces in 0..3 {
        refused(
            &places,
            &bytes[..end + pieces * 65_552],
            &format!("{pieces} pieces"),
        );
    }
    let mut twice = bytes[..end + 65_552].to_vec();
    twice.extend_from_slice(&bytes[end..]);
    refused(&places, &twice, "a piece twice");
    let mut longer = bytes.clone();
    longer.extend_from_slice(&bytes[end..]);
    refused(&places, &longer, "pieces after the last");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn one_changed_byte_anywhere_and_nothing_is_taken(at in any::<prop::sample::Index>(), by in 1_u8..) {
        thread_local!(static MADE: (Places, Vec<u8>) = {
            let places = places();
            session(&places.home, "P-0001", "2026-03-02T18:30:00+01:00");
            let file = saved(&places, &Chosen::All).unwrap().path;
            let bytes = std::fs::read(file).unwrap();
            (places, bytes)
        });
        MADE.with(|(places, bytes)| {
            let mut bytes = bytes.clone();
            let at = at.index(bytes.len());
            bytes[at] ^= by;
            refused(places, &bytes, &format!("byte {at} by {by}"));
        });
    }
}
