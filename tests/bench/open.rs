//! The open series of tests/open_series: counted, against counts made by eye.
//!
//! Needs the exported series (tests/open_series/README.md) in the folder that the environment's
//! CARPOTEMPO_OPEN_SERIES names.

use std::path::{Path, PathBuf};

use carpotempo::pipeline::{Expectation, analyse};
use carpotempo::recording::{ForeignOptions, open_foreign};

use crate::Options;

/// One series counted by eye.
pub struct ByEye {
    pub series: String,
    pub exercise: String,
    pub count: usize,
    pub low: usize,
    pub high: usize,
}

/// The first reader's counts of 000 to 069, the second one's of 070 to 139.
pub fn by_eye() -> Vec<ByEye> {
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

pub fn run(options: &Options) {
    let Some(folder) = std::env::var_os("CARPOTEMPO_OPEN_SERIES").map(PathBuf::from) else {
        println!("open series: CARPOTEMPO_OPEN_SERIES is not set, left out");
        return;
    };
    let files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    let foreign = ForeignOptions {
        columns: ["ax", "ay", "az"]
            .iter()
            .map(|a| format!("{a}_m_s2={a}_g").parse().unwrap())
            .collect(),
        accel_unit: "g".parse().unwrap(),
        ..ForeignOptions::default()
    };
    let mut tallies = [[0usize; 4]; 2];
    for eye in by_eye() {
        let path = files
            .iter()
            .find(|p| {
                p.file_name()
                    .unwrap()
                    .to_str()
                    .unwrap()
                    .starts_with(&format!("{}_", eye.series))
            })
            .unwrap();
        let recording = open_foreign(path, &foreign).unwrap();
        let analysis = analyse(&recording, &Expectation::default()).unwrap();
        let set = &analysis.sets[0];
        let found = set.reps.len();
        let off = found.abs_diff(eye.count);
        let twice = ["PEN", "ROW"].contains(&eye.exercise.as_str());
        let groups: &[usize] = if twice { &[1] } else { &[0, 1] };
        for &group in groups {
            tallies[group][0] += 1;
            tallies[group][1] += usize::from(off == 0);
            tallies[group][2] += usize::from(off <= 1);
            tallies[group][3] += usize::from((eye.low..=eye.high).contains(&found));
        }
        if options.verbose && off > 0 {
            let ranges: Vec<String> = set
                .reps
                .iter()
                .map(|r| format!("{:.0}", r.range_deg))
                .collect();
            println!(
                "  {} {:5} eye {} ({}-{}) found {found} incomplete {} ranges {}",
                eye.series,
                eye.exercise,
                eye.count,
                eye.low,
                eye.high,
                set.incomplete_count,
                ranges.join(" ")
            );
        }
    }
    for (name, [all, exact, near, within]) in ["without PEN and ROW", "all"].iter().zip(tallies) {
        println!(
            "open series, {name}: {all} series, exact {:.1} %, within one {:.1} %, within the eye's range {:.1} %",
            100.0 * exact as f64 / all as f64,
            100.0 * near as f64 / all as f64,
            100.0 * within as f64 / all as f64
        );
    }
}
