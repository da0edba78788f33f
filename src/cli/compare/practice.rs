//! Writes the practice set: recordings that say nothing, and their truth apart from them.

use std::fmt::Write as _;
use std::path::Path;

use rayon::prelude::*;

use super::truth::TRUTH_FOLDER;
use crate::cli::exit::say;
use crate::recording::{NewFile, RecordingError, create_folder};
use crate::source::simulator::practice::{PracticeRecording, practice_set};

const README: &str = "README.txt";

/// Writes the set of a seed into a new or empty folder.
///
/// # Errors
/// A folder that holds something; those of writing.
pub fn write(folder: &Path, seed: u64) -> anyhow::Result<()> {
    let holds_something =
        std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some());
    if holds_something || folder.is_file() {
        let path = folder.to_owned();
        return Err(RecordingError::Exists { path }.into());
    }
    let set = practice_set(seed)?;
    let truths = folder.join(TRUTH_FOLDER);
    create_folder(&truths)?;
    set.par_iter().try_for_each(|own| {
        own.played.record(&folder.join(&own.name), &own.head)?;
        let truth = truths.join(format!("{}.csv", own.name));
        write_text(&truth, &own.truth_csv())
    })?;
    write_text(&folder.join(README), &readme(&set, seed))?;
    let shown = folder.display();
    say(&format!(
        "Six invented recordings to learn to see by, in {shown}; {README} there says how.\n\
         Each is one set of wrist curls asked for as lowering in four, lift in two, hold for one. Mark\n\
         them without looking into {TRUTH_FOLDER}:\n\n    \
         carpotempo replay {} --mark\n\n\
         then, with the marks of as many as you like:\n\n    \
         carpotempo compare {shown} marks\n",
        folder.join("practice-1").display()
    ))
}

fn write_text(path: &Path, text: &str) -> Result<(), RecordingError> {
    use std::io::Write;

    let mut file = NewFile::begin(path)?;
    file.write_all(text.as_bytes())
        .map_err(|error| RecordingError::writing(path, error))?;
    file.finish()
}

fn readme(set: &[PracticeRecording], seed: u64) -> String {
    let mut text = format!(
        "\
Invented data: every recording in this folder was played by the carpotempo simulator (set {seed}).
No person did these exercises.

Six sets of wrist curls, each asked for as lowering in four seconds, lift in two, hold for one. One
is ordinary; in the others something is to be seen: hurried, shrinking, the elbow helping, a sagging
hold, an oblique curl. Which is which lies in {TRUTH_FOLDER}: mark first, look afterwards.

Each recording begins with one movement by which the sensor is calibrated; it is no repetition. Mark
the repetitions of the set:

"
    );
    for own in set {
        if let Some(set) = own.set() {
            let _ = writeln!(
                text,
                "{}   from {:.0} to {:.0} s",
                own.name, set.start_s, set.end_s
            );
        }
    }
    text.push_str(
        "
On the page, whose marks go into the folder marks:

    carpotempo replay THIS_FOLDER/practice-1 --mark

or in a spreadsheet: one row a repetition, rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s, in
seconds of the recording, in a file named after it: practice-1-marks.csv; marked again later,
practice-1-marks-2.csv. Then:

    carpotempo compare THIS_FOLDER marks

Agreement with the program is not correctness. Here the truth is known, so both are held against it.
",
    );
    text
}
