//! Other people's files: the same numbers whatever the writing.

use std::fmt::Write;
use std::path::Path;

use crate::run::{json, recording};

/// Rows of a plain recording.
fn rows() -> Vec<[f64; 7]> {
    csv::Reader::from_path(recording("flexion-hurried.csv"))
        .unwrap()
        .deserialize()
        .map(Result::unwrap)
        .collect()
}

fn reps(arguments: &[&str]) -> Vec<serde_json::Value> {
    json(arguments)["sets"][0]["reps"]
        .as_array()
        .unwrap()
        .clone()
}

fn plain() -> Vec<serde_json::Value> {
    reps(&[&recording("flexion-hurried.csv")])
}

fn assert_same(found: &[serde_json::Value], tolerance: f64) {
    let plain = plain();
    assert_eq!(found.len(), plain.len());
    for (a, b) in found.iter().zip(&plain) {
        for key in [
            "lift_start_s",
            "lift_end_s",
            "lower_start_s",
            "lower_end_s",
            "range_deg",
        ] {
            let (a, b) = (a[key].as_f64().unwrap(), b[key].as_f64().unwrap());
            assert!((a - b).abs() <= tolerance, "{key}: {a} and {b}");
        }
    }
}

fn write(file: &Path, text: &str) {
    std::fs::write(file, text).unwrap();
}

#[test]
fn order_delimiter_mark_and_line_ends_are_found_by_themselves() {
    let folder = tempfile::tempdir().unwrap();
    for (name, delimiter, mark, end) in [
        ("semicolons", ';', "", "\n"),
        ("tabs", '\t', "", "\n"),
        ("windows", ',', "\u{feff}", "\r\n"),
    ] {
        let mut text = String::from(mark);
        let head = [
            "gz_rad_s", "note", "t_s", "gx_rad_s", "gy_rad_s", "ax_m_s2", "ay_m_s2", "az_m_s2",
        ];
        text.push_str(&head.join(&delimiter.to_string()));
        text.push_str(end);
        for [t, ax, ay, az, gx, gy, gz] in rows() {
            let cells: Vec<String> = [gz, 7.0, t, gx, gy, ax, ay, az]
                .map(|v| v.to_string())
                .into();
            write!(text, "{}{end}", cells.join(&delimiter.to_string())).unwrap();
        }
        let file = folder.path().join(name);
        write(&file, &text);
        assert_same(&reps(&[file.to_str().unwrap()]), 0.0);
    }
}

#[test]
fn names_and_units_are_said_by_options() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("foreign.csv");
    let mut text = String::from("Time;X;Y;Z;RX;RY;RZ\n");
    for [t, ax, ay, az, gx, gy, gz] in rows() {
        let cells = [
            t * 1e3,
            ax / 9.80665,
            ay / 9.80665,
            az / 9.80665,
            gx.to_degrees(),
            gy.to_degrees(),
            gz.to_degrees(),
        ]
        .map(|value| value.to_string().replace('.', ","));
        writeln!(text, "{}", cells.join(";")).unwrap();
    }
    write(&file, &text);
    let found = reps(&[
        file.to_str().unwrap(),
        "--decimal-comma",
        "--time-unit",
        "ms",
        "--accel-unit",
        "g",
        "--gyro-unit",
        "deg_s",
        "--column",
        "t_s=Time",
        "--column",
        "ax_m_s2=X",
        "--column",
        "ay_m_s2=Y",
        "--column",
        "az_m_s2=Z",
        "--column",
        "gx_rad_s=RX",
        "--column",
        "gy_rad_s=RY",
        "--column",
        "gz_rad_s=RZ",
    ]);
    assert_same(&found, 1e-6);
}

#[test]
fn a_rate_serves_where_there_are_no_times() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("untimed.csv");
    let mut text = String::from("ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n");
    for [_, ax, ay, az, gx, gy, gz] in rows() {
        writeln!(text, "{ax},{ay},{az},{gx},{gy},{gz}").unwrap();
    }
    write(&file, &text);
    let found = reps(&[file.to_str().unwrap(), "--rate", "52"]);
    // The recording's own clock is a little off its nominal 52 Hz.
    assert_same(&found, 0.02);
}
