//! Backed up, restored, removed.

use carpotempo::handover::{HandoverError, backup, remove, restore};
use carpotempo::recording::RecordingError;

use super::places::{code, places, session, three, tree};

#[test]
fn a_patient_comes_back_from_a_backup_as_it_was() {
    let places = places();
    let names = three(&places.home);
    let own = places.home.root().join("P-0001");
    // What is computed is not kept, what was put there by hand is, and so is what is broken.
    std::fs::write(own.join(&names[0]).join("summary.json"), "{}").unwrap();
    std::fs::write(own.join(&names[0]).join("photo.jpg"), [0xff, 0xd8]).unwrap();
    std::fs::write(own.join(&names[1]).join("session.json"), "{").unwrap();
    std::fs::write(own.join("handed-over.json"), "{}").unwrap();
    let file = places.folder.path().join("p.tar");
    let done = backup(&places.home, &code("P-0001"), &file).unwrap();
    assert_eq!((done.session_count, done.left_out.len()), (3, 0));
    std::fs::remove_file(own.join(&names[0]).join("summary.json")).unwrap();
    let before = tree(places.home.root());
    remove(&places.home, &code("P-0001")).unwrap();
    assert!(tree(places.home.root()).is_empty());
    let placed = restore(&places.home, &file, &code("P-0001")).unwrap();
    assert_eq!(placed.new, names);
    assert_eq!(tree(places.home.root()), before);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        for path in [&file, &own.join(&names[2]).join("samples.csv")] {
            assert_eq!(path.metadata().unwrap().permissions().mode() & 0o077, 0);
        }
    }
}

/// Source: the same archive read by the system's own tar.
#[cfg(unix)]
#[test]
fn any_tar_opens_a_backup() {
    let places = places();
    let names = three(&places.home);
    let file = places.folder.path().join("p.tar");
    backup(&places.home, &code("P-0001"), &file).unwrap();
    let listed = std::process::Command::new("tar")
        .arg("-tf")
        .arg(&file)
        .output()
        .unwrap();
    assert!(listed.status.success());
    let mut expected = vec!["carpotempo-archive.json".to_owned()];
    for name in &names {
        expected.extend(
            ["events.csv", "samples.csv", "session.json"].map(|file| format!("{name}/{file}")),
        );
    }
    let listed = String::from_utf8(listed.stdout).unwrap();
    assert_eq!(listed.lines().collect::<Vec<_>>(), expected);
    let out = places.folder.path().join("by-tar");
    std::fs::create_dir(&out).unwrap();
    let status = std::process::Command::new("tar")
        .arg("-xf")
        .arg(&file)
        .arg("-C")
        .arg(&out)
        .status();
    assert!(status.unwrap().success());
    std::fs::remove_file(out.join("carpotempo-archive.json")).unwrap();
    assert_eq!(tree(&out), tree(&places.home.root().join("P-0001")));
}

#[test]
fn restoring_leaves_what_is_there_as_it_is() {
    let places = places();
    let names = three(&places.home);
    let file = places.folder.path().join("p.tar");
    backup(&places.home, &code("P-0001"), &file).unwrap();
    let own = places.home.root().join("P-0001");
    std::fs::remove_dir_all(own.join(&names[0])).unwrap();
    let samples = own.join(&names[1]).join("samples.csv");
    let text = std::fs::read_to_string(&samples)
        .unwrap()
        .replace("9.81", "9.80");
    std::fs::write(&samples, &text).unwrap();
    let fourth = session(&places.home, "P-0001", "2026-03-09T18:30:00+01:00");
    let placed = restore(&places.home, &file, &code("P-0001")).unwrap();
    assert_eq!(placed.new, [names[0].clone()]);
    assert_eq!(placed.already, [names[2].clone()]);
    assert_eq!(placed.different, [names[1].clone()]);
    assert_eq!(std::fs::read_to_string(&samples).unwrap(), text);
    assert!(own.join(fourth).is_dir());
}

#[test]
fn a_backup_is_never_written_over_another_file() {
    let places = places();
    three(&places.home);
    let file = places.folder.path().join("p.tar");
    std::fs::write(&file, "mine").unwrap();
    let error = backup(&places.home, &code("P-0001"), &file).unwrap_err();
    assert!(
        matches!(
            error,
            HandoverError::Recording(RecordingError::Exists { .. })
        ),
        "{error}"
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn removing_takes_one_patient_and_no_other() {
    let places = places();
    three(&places.home);
    session(&places.home, "P-0002", "2026-03-02T18:30:00+01:00");
    let other = tree(&places.home.root().join("P-0002"));
    remove(&places.home, &code("P-0001")).unwrap();
    assert_eq!(places.home.patients().unwrap(), [code("P-0002")]);
    assert_eq!(tree(&places.home.root().join("P-0002")), other);
    let again = remove(&places.home, &code("P-0001")).unwrap_err();
    assert!(
        again.to_string().contains("there is no patient P-0001"),
        "{again}"
    );
}

#[cfg(unix)]
#[test]
fn links_are_not_followed_out_of_the_store() {
    use std::os::unix::fs::symlink;
    let places = places();
    let names = three(&places.home);
    let outside = places.folder.path().join("outside");
    std::fs::create_dir(&outside).unwrap();
    std::fs::write(outside.join("mine.txt"), "mine").unwrap();
    symlink(&outside, places.home.root().join("P-0009")).unwrap();
    let error = remove(&places.home, &code("P-0009")).unwrap_err();
    assert!(matches!(error, HandoverError::Link { .. }), "{error}");
    // A link within the patient's folder is named, not followed; removing takes the link alone.
    let link = places
        .home
        .root()
        .join("P-0001")
        .join(&names[0])
        .join("secret.txt");
    symlink(outside.join("mine.txt"), &link).unwrap();
    let done = backup(
        &places.home,
        &code("P-0001"),
        &places.folder.path().join("p.tar"),
    )
    .unwrap();
    assert_eq!(done.left_out, [link.display().to_string()]);
    symlink(&outside, places.home.root().join("P-0001").join("linked")).unwrap();
    remove(&places.home, &code("P-0001")).unwrap();
    assert_eq!(
        std::fs::read_to_string(outside.join("mine.txt")).unwrap(),
        "mine"
    );
}

#[test]
fn what_a_crash_left_of_a_removal_is_swept_with_the_next() {
    let places = places();
    three(&places.home);
    let left = places.home.root().join(".removed-0123abcd");
    std::fs::create_dir_all(left.join("2026")).unwrap();
    let fresh = places.home.root().join(".incoming-0123abcd");
    std::fs::create_dir(&fresh).unwrap();
    assert_eq!(
        places.home.patients().unwrap(),
        [code("P-0001")],
        "neither is a patient"
    );
    carpotempo::handover::sweep(&places.home);
    assert!(!left.exists());
    assert!(fresh.exists(), "somebody may be at it");
}
