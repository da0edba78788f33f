//! The folder of reference data.

use std::path::PathBuf;

/// The folder of reference data: the environment's CARPOTEMPO_REFERENCE, else beside the
/// repository. `None`, said aloud, where it is absent; under CI its absence fails.
pub fn reference() -> Option<PathBuf> {
    let folder = std::env::var_os("CARPOTEMPO_REFERENCE").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/reference"),
        PathBuf::from,
    );
    if folder.is_dir() {
        return Some(folder);
    }
    println!(
        "not checked, reference data absent: {} (set CARPOTEMPO_REFERENCE)",
        folder.display()
    );
    assert!(
        std::env::var("CI").as_deref() != Ok("true"),
        "reference data absent under CI"
    );
    None
}
