//! The open series of tests/open_series: counted, against counts made by eye.

use std::path::{Path, PathBuf};

use carpotempo::pipeline::{Expectation, SetResult, analyse};
use carpotempo::recording::{ForeignOptions, open_foreign};

/// One series counted by eye.
pub struct ByEye {
    pub series: String,
    pub exercise: String,
    pub count: usize,
    pub low: usize,
    pub high: usize,
}

/// How often the count agrees.
#[derive(Default)]
pub struct Tally {
    pub series: usize,
    exact: usize,
    within_one: usize,
    within_the_eyes_range: usize,
}

impl Tally {
    fn percent(&self, count: usize) -> f64 {
        100.0 * count as f64 / self.series as f64
    }

    pub fn exact_percent(&self) -> f64 {
        self.percent(self.exact)
    }

    pub fn within_one_percent(&self) -> f64 {
        self.percent(self.within_one)
    }

    fn add(&mut self, eye: &ByEye, found: usize) {
        let off = found.abs_diff(eye.count);
        self.series += 1;
        self.exact += usize::from(off == 0);
        self.within_one += usize::from(off <= 1);
        self.within_the_eyes_range += usize::from((eye.low..=eye.high).contains(&found));
    }
}

impl std::fmt::Display for Tally {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(
            f,
            "{} series, exact {:.1} %, within one {:.1} %, within the eye's own range {:.1} %",
            self.series,
            self.exact_percent(),
            self.within_one_percent(),
            self.percent(self.within_the_eyes_range)
        )
    }
}

/// The first reader's counts of 000 to 069, the second one's of 070 to 139.
fn counts() -> Vec<ByEye> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/open_series");
    let read = |file: &str, own: std::ops::Range<usize>| -> Vec<ByEye> {
        let mut reader = csv::Reader::from_path(folder.join(file)).unwrap();
        reader
            .records()
            .map(Result::unwrap)
            .filter(|row| own.contains(&row[0].parse().unwrap()))
            .map(|row| ByEye {
                series: row[0].to_owned(),
                exercise: row[1].to_owned(),
                count: row[3].parse().unwrap(),
                low: row[4].parse().unwrap(),
                high: row[5].parse().unwrap(),
            })
            .collect()
    };
    let mut all = read("counts_a.csv", 0..70);
    all.extend(read("counts_b.csv", 70..140));
    all
}

/// Tallies of the hundred series without PEN and ROW, and of all; `None` where the exported
/// series are absent. Each series is shown to `see` as it is counted.
pub fn tallies(see: &mut dyn FnMut((&ByEye, &SetResult))) -> Option<[Tally; 2]> {
    let folder = PathBuf::from(std::env::var_os("CARPOTEMPO_OPEN_SERIES")?);
    let files: Vec<PathBuf> = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .collect();
    let renamed = |axis: &str| format!("{axis}_m_s2={axis}_g").parse().unwrap();
    let options = ForeignOptions {
        columns: ["ax", "ay", "az"].map(renamed).into(),
        accel_unit: "g".parse().unwrap(),
        ..ForeignOptions::default()
    };
    let [mut hundred, mut all] = [Tally::default(), Tally::default()];
    for eye in counts() {
        let starts = format!("{}_", eye.series);
        let is_own = |path: &&PathBuf| {
            let name = path.file_name().unwrap().to_str().unwrap();
            name.starts_with(&starts)
        };
        let path = files.iter().find(is_own).unwrap();
        let recording = open_foreign(path, &options).unwrap();
        let analysis = analyse(&recording, &Expectation::default()).unwrap();
        let set = &analysis.sets[0];
        see((&eye, set));
        all.add(&eye, set.reps.len());
        if !["PEN", "ROW"].contains(&eye.exercise.as_str()) {
            hundred.add(&eye, set.reps.len());
        }
    }
    Some([hundred, all])
}
