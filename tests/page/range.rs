//! The range check by the program, with an invented person who follows the page.

use carpotempo::recording::EventKind;
use carpotempo::routine::STARTING;

use super::program::{Running, recordings, replayed, untroubled};

#[test]
fn the_range_check_is_done_to_its_end_and_kept_as_range_tests() {
    let own = STARTING.iter().find(|own| own.name == "range-check");
    let folder = tempfile::tempdir().unwrap();
    // One hand, to be done in half the time: tests/guided leads through both.
    let routine = own
        .unwrap()
        .toml
        .replace("side = \"both\"", "side = \"right\"");
    let mut running = Running::begin_with(folder.path(), &routine);
    running.answer(&untroubled, &|_| false);
    let screens = running.screens.join(" ");
    assert!(screens.ends_with("symptoms remark summary"), "{screens}");
    assert!(!screens.contains("paused"), "{screens}");
    assert_eq!(running.counts.len(), 18, "{:?}", running.counts);
    running.end();
    let recordings = recordings(folder.path());
    let [(path, recording)] = &recordings[..] else {
        panic!("{} recordings", recordings.len());
    };
    // A set that was announced to an arm on its way, and taken back, is none.
    assert_eq!(replayed(path), [3; 6]);
    for event in &recording.events {
        if let EventKind::SetStart(start) = &event.kind {
            assert!(start.range_test && start.load_kg == Some(0.0));
        }
    }
}
