//! Bad input: one clear message, exit status 1, nothing on standard output, nothing touched.

use std::fmt::Write;
use std::path::Path;

use crate::run::{carpotempo, stderr, stdout};

const HEAD: &str = "t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s";

/// A quiet file of ten seconds at 50 Hz with a gentle turn in the middle, a row changed.
fn file_with(change: impl Fn(usize, &mut Vec<String>)) -> String {
    let mut text = format!("{HEAD}\n");
    for index in 0..500 {
        let t_s = index as f64 * 0.02;
        let moving = (150..350).contains(&index);
        let phase = (t_s - 3.0) / 4.0 * std::f64::consts::TAU;
        let angle = if moving {
            0.5 * (1.0 - phase.cos()) * 0.8
        } else {
            0.0
        };
        let rate = if moving {
            0.4 * phase.sin() * std::f64::consts::TAU / 4.0
        } else {
            0.0
        };
        let wobble = 0.01 * ((index * 7 % 11) as f64 - 5.0);
        let mut row: Vec<String> = [
            t_s,
            -9.80665 * angle.sin() + wobble,
            wobble,
            9.80665 * angle.cos(),
            0.001 * wobble,
            rate,
            0.002 * wobble,
        ]
        .map(|value: f64| value.to_string())
        .into();
        change(index, &mut row);
        writeln!(text, "{}", row.join(",")).unwrap();
    }
    text
}

/// Runs `replay` on a file of this content and checks the manners of its refusal.
fn refused(content: &[u8], says: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("odd.csv");
    std::fs::write(&file, content).unwrap();
    refused_path(&file, says);
    assert_eq!(
        std::fs::read(&file).unwrap(),
        content,
        "the file is untouched"
    );
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

fn refused_path(path: &Path, says: &[&str]) {
    let output = carpotempo(&["replay", path.to_str().unwrap(), "--json"]);
    let message = stderr(&output);
    assert_eq!(output.status.code(), Some(1), "{message}");
    assert!(stdout(&output).is_empty());
    assert_eq!(
        message.trim_end().lines().count(),
        1,
        "one message: {message}"
    );
    assert!(
        message.contains(path.to_str().unwrap()),
        "names the file: {message}"
    );
    for word in says {
        assert!(message.contains(word), "{word:?} in {message}");
    }
    assert!(!message.contains("panicked") && !message.contains("backtrace"));
}

#[test]
fn the_file_without_a_fault_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("good.csv");
    std::fs::write(&file, file_with(|_, _| {})).unwrap();
    let output = carpotempo(&["replay", file.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
}

#[test]
fn a_missing_column_is_named_with_the_option_that_helps() {
    let text = file_with(|_, _| {}).replace("gy_rad_s", "wy");
    refused(text.as_bytes(), &["gy_rad_s", "--column"]);
}

#[test]
fn text_nan_and_infinity_are_named_with_line_and_column() {
    for cell in ["fast", "NaN", "inf", "-inf", ""] {
        let text = file_with(|index, row| {
            if index == 100 {
                row[2] = cell.to_owned();
            }
        });
        refused(text.as_bytes(), &["102", "ay_m_s2"]);
    }
}

#[test]
fn time_that_goes_back_stands_or_leaps_is_named() {
    let back = file_with(|index, row| {
        if index == 200 {
            row[0] = "0.5".to_owned();
        }
    });
    refused(back.as_bytes(), &["202", "t_s"]);
    let repeated = file_with(|_, row| row[0] = "1".to_owned());
    refused(repeated.as_bytes(), &["t_s"]);
    let absurd = file_with(|index, row| {
        if index >= 300 {
            row[0] = format!("{}", 1e15 + index as f64);
        }
    });
    refused(absurd.as_bytes(), &["302", "t_s"]);
}

#[test]
fn other_units_are_refused_with_the_option_to_add() {
    let in_g = file_with(|_, row| {
        for cell in &mut row[1..4] {
            *cell = (cell.parse::<f64>().unwrap() / 9.80665).to_string();
        }
    });
    refused(in_g.as_bytes(), &["--accel-unit g"]);
    let in_degrees = file_with(|_, row| {
        for cell in &mut row[4..7] {
            *cell = cell.parse::<f64>().unwrap().to_degrees().to_string();
        }
    });
    refused(in_degrees.as_bytes(), &["--gyro-unit deg_s"]);
}

#[test]
fn zeros_few_samples_and_slow_rates_are_refused() {
    let zeros = file_with(|_, row| row[1..].fill("0".to_owned()));
    refused(zeros.as_bytes(), &["zero"]);
    let few: String = file_with(|_, _| {})
        .lines()
        .take(6)
        .fold(String::new(), |text, line| text + line + "\n");
    refused(few.as_bytes(), &["5"]);
    let slow = file_with(|index, row| row[0] = (index as f64 * 0.1).to_string());
    refused(slow.as_bytes(), &["20"]);
}

#[test]
fn empty_and_binary_files_are_refused() {
    refused(b"", &["empty"]);
    let binary: Vec<u8> = (0..4000u32).map(|n| (n * 37 % 256) as u8).collect();
    refused(&binary, &[]);
}

#[test]
fn folders_that_are_no_session_and_newer_formats_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    refused_path(folder.path(), &["session.json"]);
    std::fs::write(
        folder.path().join("session.json"),
        r#"{"format":"carpotempo-recording","version":2,"started_at":"2026-03-02T08:00:00+01:00","patient":"P-0001","routine":null}"#,
    )
    .unwrap();
    refused_path(folder.path(), &["version", "2"]);
}

#[test]
fn a_last_line_cut_off_is_a_warning() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("cut.csv");
    let text = file_with(|_, _| {});
    std::fs::write(&file, &text[..text.len() - 25]).unwrap();
    let output = carpotempo(&["replay", file.to_str().unwrap(), "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let object: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    assert!(!object["warnings"].as_array().unwrap().is_empty());
}
