//! Bad input: one clear message that names the file, the place and what to do; nothing written.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use carpotempo::recording::{
    AccelUnit, ForeignOptions, GyroUnit, RecordingError, TimeUnit, open, open_any, open_foreign,
};
use carpotempo::routine::{Routine, RoutineError, STARTING};
use nalgebra::{Rotation3, Unit, Vector3};
use proptest::prelude::*;

const HEADER: &str = "t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s";

/// Six seconds at 100 Hz of a hand that tips by ±0.4 rad about x once in 2 s: rigid-body truth,
/// so that gravity and gyroscope agree.
fn rows() -> Vec<[f64; 7]> {
    (0..600)
        .map(|row| {
            let t_s = f64::from(row) / 100.0;
            let phase = std::f64::consts::PI * t_s;
            let angle_rad = 0.4 * phase.sin();
            let speed_rad_s = 0.4 * std::f64::consts::PI * phase.cos();
            [
                t_s,
                0.0,
                9.81 * angle_rad.sin(),
                9.81 * angle_rad.cos(),
                speed_rad_s,
                0.01,
                -0.02,
            ]
        })
        .collect()
}

fn line(row: &[f64; 7]) -> String {
    row.map(|number| number.to_string()).join(",")
}

fn csv(rows: &[[f64; 7]]) -> String {
    rows.iter().fold(HEADER.to_owned() + "\n", |mut text, row| {
        writeln!(text, "{}", line(row)).unwrap();
        text
    })
}

/// The good file with one cell replaced; lines count from 1, the header being line 1.
fn with_cell(line: usize, column: usize, cell: &str) -> String {
    let mut lines: Vec<String> = csv(&rows()).lines().map(String::from).collect();
    let mut cells: Vec<String> = lines[line - 1].split(',').map(String::from).collect();
    cells[column] = cell.to_owned();
    lines[line - 1] = cells.join(",");
    lines.join("\n") + "\n"
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Folder {
        Folder(tempfile::tempdir().unwrap())
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Every file with its content and time.
    fn state(&self) -> Vec<(PathBuf, Vec<u8>, std::time::SystemTime)> {
        let mut state: Vec<_> = std::fs::read_dir(self.0.path())
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.is_file())
            .map(|path| {
                let modified = path.metadata().unwrap().modified().unwrap();
                (path.clone(), std::fs::read(&path).unwrap(), modified)
            })
            .collect();
        state.sort();
        state
    }
}

/// The refusal of a plain CSV, which must name the file and hold the words, and write nothing.
fn refusal(bytes: impl AsRef<[u8]>, options: &ForeignOptions, words: &[&str]) -> RecordingError {
    let folder = Folder::new();
    let path = folder.write("mine.csv", bytes);
    let before = folder.state();
    let error = open_foreign(&path, options).expect_err("refused");
    assert_eq!(folder.state(), before);
    let message = error.to_string();
    assert_eq!(message.lines().count(), 1, "{message}");
    for word in ["mine.csv"].iter().chain(words) {
        assert!(message.contains(word), "\"{word}\" is not in: {message}");
    }
    error
}

fn plain() -> ForeignOptions {
    ForeignOptions::default()
}

fn accepted(text: &str, options: &ForeignOptions) -> usize {
    let folder = Folder::new();
    let path = folder.write("mine.csv", text);
    open_foreign(&path, options).unwrap().hand.len()
}

#[test]
fn the_good_file_is_accepted() {
    assert_eq!(accepted(&csv(&rows()), &plain()), 600);
}

#[test]
fn a_missing_column_lists_those_found_and_suggests_one() {
    let text = csv(&rows()).replacen("t_s,ax_m_s2", "Time,acc_x", 1);
    let error = refusal(
        &text,
        &plain(),
        &[
            "line 1",
            "no column t_s",
            "Time, acc_x, ay_m_s2",
            "--column t_s=Time",
            "--rate HZ",
        ],
    );
    assert!(matches!(error, RecordingError::MissingColumn { .. }));
    let named = ForeignOptions {
        columns: vec!["t_s=Time".parse().unwrap()],
        ..plain()
    };
    refusal(
        &text,
        &named,
        &["no column ax_m_s2", "--column ax_m_s2=acc_x"],
    );
    let named = ForeignOptions {
        columns: vec![
            "t_s=Time".parse().unwrap(),
            "ax_m_s2=acc_x".parse().unwrap(),
        ],
        ..plain()
    };
    assert_eq!(accepted(&text, &named), 600);
}

#[test]
fn a_named_column_that_is_not_there_is_named() {
    let named = ForeignOptions {
        columns: vec!["t_s=clock".parse().unwrap()],
        ..plain()
    };
    refusal(csv(&rows()), &named, &["no column clock (for t_s)"]);
}

#[test]
fn a_file_without_header_says_so() {
    let text = csv(&rows());
    let (_, body) = text.split_once('\n').unwrap();
    refusal(body, &plain(), &["line 1", "looks like numbers", "header"]);
}

#[test]
fn a_column_that_is_there_twice_is_named() {
    let text = csv(&rows()).replacen("gy_rad_s", "gx_rad_s", 1);
    let error = refusal(text, &plain(), &["line 1", "gx_rad_s", "2 times"]);
    assert!(matches!(error, RecordingError::RepeatedColumn { .. }));
}

#[test]
fn text_in_a_number_cell_is_shown_with_its_place() {
    let error = refusal(
        with_cell(40, 3, "high"),
        &plain(),
        &["line 40", "column az_m_s2", "\"high\"", "decimal number"],
    );
    assert!(matches!(error, RecordingError::NotANumber { .. }));
    refusal(
        with_cell(41, 4, ""),
        &plain(),
        &["line 41", "column gx_rad_s", "empty"],
    );
    refusal(
        with_cell(42, 4, "1.5.2"),
        &plain(),
        &["line 42", "\"1.5.2\""],
    );
    refusal(with_cell(43, 4, "0x10"), &plain(), &["line 43", "\"0x10\""]);
}

#[test]
fn not_finite_numbers_are_refused() {
    for cell in ["NaN", "nan", "inf", "-Infinity", "1e999"] {
        let error = refusal(
            with_cell(99, 6, cell),
            &plain(),
            &["line 99", "column gz_rad_s", cell],
        );
        assert!(matches!(error, RecordingError::NotFinite { .. }), "{cell}");
    }
}

#[test]
fn decimal_commas_are_pointed_out_and_read_when_declared() {
    let text = csv(&rows()).replace(',', ";").replace('.', ",");
    refusal(&text, &plain(), &["line 2", "--decimal-comma"]);
    let declared = ForeignOptions {
        decimal_comma: true,
        ..plain()
    };
    assert_eq!(accepted(&text, &declared), 600);
    refusal(
        csv(&rows()).replace(',', ";"),
        &declared,
        &["line 2", "leave that option out"],
    );
    // Commas between cells and within numbers cannot be told apart.
    let both = csv(&rows()).replace('.', ",");
    let error = refusal(both, &declared, &["line 2", "semicolons"]);
    assert!(matches!(error, RecordingError::LongRow { .. }));
}

#[test]
fn a_row_that_ends_early_is_named() {
    let mut lines: Vec<String> = csv(&rows()).lines().map(String::from).collect();
    lines[9] = "0.08,1,2,3".to_owned();
    let error = refusal(
        lines.join("\n") + "\n",
        &plain(),
        &["line 10", "column gx_rad_s", "7 cells"],
    );
    assert!(matches!(error, RecordingError::ShortRow { .. }));
}

#[test]
fn time_must_rise() {
    let error = refusal(
        with_cell(50, 0, "0.1"),
        &plain(),
        &["line 50", "column t_s", "backwards", "0.47", "0.1"],
    );
    assert!(matches!(error, RecordingError::TimeBackwards { .. }));
    let error = refusal(
        with_cell(50, 0, "0.47"),
        &plain(),
        &["line 50", "0.47 s is there twice", "--rate"],
    );
    assert!(matches!(error, RecordingError::TimeRepeated { .. }));
}

#[test]
fn absurd_times_are_refused() {
    for cell in ["1e300", "-1e18", "500000"] {
        let error = refusal(
            with_cell(601, 0, cell),
            &plain(),
            &["line 601", "column t_s"],
        );
        assert!(
            matches!(
                error,
                RecordingError::TimeAbsurd { .. } | RecordingError::TimeBackwards { .. }
            ),
            "{cell}: {error}"
        );
    }
}

#[test]
fn the_unit_of_time_shows_in_the_rate() {
    let scaled = |factor: f64| {
        let rows: Vec<_> = rows()
            .iter()
            .map(|[t_s, rest @ ..]| {
                let [ax, ay, az, gx, gy, gz] = *rest;
                [t_s * factor, ax, ay, az, gx, gy, gz]
            })
            .collect();
        csv(&rows)
    };
    let declared = |time_unit| ForeignOptions {
        time_unit,
        ..plain()
    };
    let error = refusal(
        scaled(1e3),
        &plain(),
        &["line 3", "column t_s", "0.100 Hz", "add --time-unit ms"],
    );
    assert!(matches!(error, RecordingError::Rate { .. }));
    refusal(scaled(1e6), &plain(), &["--time-unit"]);
    refusal(
        scaled(1.0),
        &declared(TimeUnit::Milliseconds),
        &["leave out --time-unit ms"],
    );
    refusal(
        scaled(1e3),
        &declared(TimeUnit::Microseconds),
        &["add --time-unit ms"],
    );
    assert_eq!(
        accepted(&scaled(1e3), &declared(TimeUnit::Milliseconds)),
        600
    );
    assert_eq!(
        accepted(&scaled(1e6), &declared(TimeUnit::Microseconds)),
        600
    );
    let slow = scaled(10.0);
    let error = refusal(
        &slow,
        &plain(),
        &["10.000 Hz", "20 to 10000 Hz", "record again"],
    );
    assert!(matches!(error, RecordingError::Rate { .. }));
}

#[test]
fn too_few_rows_are_counted() {
    let error = refusal(
        csv(&rows()[..19]),
        &plain(),
        &["line 20", "19 rows", "at least 20"],
    );
    assert!(matches!(error, RecordingError::TooFewSamples { .. }));
    refusal(csv(&[]), &plain(), &["line 1", "0 rows"]);
    refusal(HEADER, &plain(), &["line 1", "0 rows"]);
    assert_eq!(accepted(&csv(&rows()[..20]), &plain()), 20);
}

/// The good file in other units.
fn in_units(accel: f64, gyro: f64) -> String {
    let rows: Vec<_> = rows()
        .iter()
        .map(|[t_s, ax, ay, az, gx, gy, gz]| {
            [
                *t_s,
                ax * accel,
                ay * accel,
                az * accel,
                gx * gyro,
                gy * gyro,
                gz * gyro,
            ]
        })
        .collect();
    csv(&rows)
}

const G: f64 = 1.0 / 9.80665;
const DEG: f64 = 180.0 / std::f64::consts::PI;

#[test]
fn an_accelerometer_in_g_is_refused_with_the_option_and_read_with_it() {
    let error = refusal(
        in_units(G, 1.0),
        &plain(),
        &["line ", "ax_m_s2", "8.3 to 11.3", "add --accel-unit g"],
    );
    assert!(matches!(error, RecordingError::AccelUnit { .. }));
    let declared = ForeignOptions {
        accel_unit: AccelUnit::Gravity,
        ..plain()
    };
    assert_eq!(accepted(&in_units(G, 1.0), &declared), 600);
    refusal(csv(&rows()), &declared, &["leave out --accel-unit g"]);
    refusal(
        in_units(1000.0 * G, 1.0),
        &plain(),
        &["convert the columns"],
    );
}

#[test]
fn a_gyroscope_in_degrees_is_refused_with_the_option_and_read_with_it() {
    let error = refusal(
        in_units(1.0, DEG),
        &plain(),
        &["gx_rad_s", "57 times", "add --gyro-unit deg_s"],
    );
    assert!(matches!(error, RecordingError::GyroUnit { .. }));
    let declared = ForeignOptions {
        gyro_unit: GyroUnit::DegreesPerSecond,
        ..plain()
    };
    assert_eq!(accepted(&in_units(1.0, DEG), &declared), 600);
    refusal(
        csv(&rows()),
        &declared,
        &["57 times", "leave out --gyro-unit deg_s"],
    );
}

#[test]
fn what_turns_about_the_vertical_or_not_at_all_is_not_judged() {
    for (speed_rad_s, bias_rad_s) in [(1.0, 0.0), (0.0, 0.09), (0.0, 0.0001)] {
        let rows: Vec<_> = rows()
            .iter()
            .map(|[t_s, ..]| {
                [
                    *t_s,
                    0.0,
                    0.0,
                    9.81,
                    bias_rad_s,
                    0.0,
                    speed_rad_s * (3.0 * t_s).cos(),
                ]
            })
            .collect();
        assert_eq!(accepted(&csv(&rows), &plain()), 600);
    }
}

#[test]
fn zeros_are_no_measurement() {
    let zeros = |accel: bool| {
        let rows: Vec<_> = rows()
            .iter()
            .map(|[t_s, ax, ay, az, ..]| {
                let part = if accel { 0.0 } else { 1.0 };
                [*t_s, ax * part, ay * part, az * part, 0.0, 0.0, 0.0]
            })
            .collect();
        csv(&rows)
    };
    let error = refusal(
        zeros(true),
        &plain(),
        &["line 2", "every value is zero", "check the sensor"],
    );
    assert!(matches!(error, RecordingError::AllZeros { .. }));
    let error = refusal(
        zeros(false),
        &plain(),
        &["line 2", "gx_rad_s", "accelerometer turns"],
    );
    assert!(matches!(error, RecordingError::AllZeros { .. }));
}

#[test]
fn what_is_no_text_is_refused() {
    let error = refusal("", &plain(), &["empty"]);
    assert!(matches!(error, RecordingError::Empty { .. }));
    for (bytes, word) in [
        (&b"\x7fELF\x02\x01\x01\x00\x00"[..], "zero bytes"),
        (b"\x1f\x8b\x08\x00abc", "compressed"),
        (b"\xff\xfet\x00_\x00s\x00", "UTF-16"),
        (b"\x89PNG\r\n\x1a\nabc", "control characters"),
    ] {
        let error = refusal(bytes, &plain(), &["line 1", word, "CSV"]);
        assert!(matches!(error, RecordingError::Binary { .. }));
    }
    let error = refusal("x".repeat(3 << 20), &plain(), &["line 1", "longer than"]);
    assert!(matches!(error, RecordingError::LongLine { .. }));
}

#[test]
fn bytes_that_are_no_text_within_a_file_are_named() {
    let mut bytes = csv(&rows()).into_bytes();
    let place = bytes.len() - 300;
    bytes[place] = 0xff;
    refusal(bytes, &plain(), &["line ", "column ", "is not a number"]);
}

#[test]
fn what_is_not_there_or_of_another_kind_says_so() {
    let folder = Folder::new();
    let missing = folder.0.path().join("nothing.csv");
    let error = open_any(&missing, &plain()).unwrap_err();
    assert!(matches!(error, RecordingError::NotFound { .. }));
    assert!(error.to_string().contains("nothing.csv"), "{error}");
    let error = open_foreign(&missing, &plain()).unwrap_err();
    assert!(matches!(error, RecordingError::NotFound { .. }));
    let error = open_foreign(folder.0.path(), &plain()).unwrap_err();
    assert!(matches!(error, RecordingError::IsFolder { .. }), "{error}");
    let error = open(&folder.write("mine.csv", csv(&rows()))).unwrap_err();
    assert!(matches!(error, RecordingError::IsFile { .. }), "{error}");
    let error = open(folder.0.path()).unwrap_err();
    assert!(
        matches!(error, RecordingError::NoSessionFile { .. }),
        "{error}"
    );
    assert!(error.to_string().contains("session.json"), "{error}");
}

#[test]
fn a_cut_last_line_is_left_out_with_a_warning() {
    let text = csv(&rows());
    let folder = Folder::new();
    let last_line = text.trim_end().rfind('\n').unwrap() + 1;
    // From the first byte of the last line to the byte before its last one: the last cell is
    // -0.02 in every row, so a shorter number shows.
    for cut in last_line + 1..text.len() - 1 {
        let path = folder.write("cut.csv", &text[..cut]);
        let recording = open_foreign(&path, &plain()).unwrap();
        assert_eq!(recording.hand.len(), 599, "cut at {cut}");
        assert_eq!(
            recording.warnings.len(),
            1,
            "cut at {cut}: {:?}",
            recording.warnings
        );
        assert!(
            recording.warnings[0].contains("line 601"),
            "{:?}",
            recording.warnings
        );
    }
    // Only the line end is missing: many writers leave it out.
    let path = folder.write("whole.csv", text.trim_end());
    let recording = open_foreign(&path, &plain()).unwrap();
    assert_eq!((recording.hand.len(), recording.warnings.len()), (600, 0));
}

const SESSION: &str = r#"{"format": "carpotempo-recording", "version": 1,
 "started_at": "2026-03-09T08:30:00+01:00", "patient": "p1", "routine": null}"#;

fn session_refusal(session: &str, words: &[&str]) -> RecordingError {
    let folder = Folder::new();
    folder.write("session.json", session);
    let before = folder.state();
    let error = open(folder.0.path()).expect_err("refused");
    assert_eq!(folder.state(), before);
    let message = error.to_string();
    for word in ["session.json"].iter().chain(words) {
        assert!(message.contains(word), "\"{word}\" is not in: {message}");
    }
    error
}

#[test]
fn a_session_file_that_is_not_whole_or_not_ours_is_refused() {
    let error = session_refusal(
        &SESSION.replace("\"version\": 1", "\"version\": 2"),
        &["version is 2", "newer carpotempo"],
    );
    assert!(matches!(error, RecordingError::NewerVersion { .. }));
    let error = session_refusal(
        &SESSION.replace("carpotempo-recording", "diary"),
        &["diary"],
    );
    assert!(matches!(error, RecordingError::NotARecording { .. }));
    session_refusal("{}", &["null"]);
    session_refusal("[1]", &["null"]);
    let error = session_refusal("", &["empty"]);
    assert!(matches!(error, RecordingError::Empty { .. }));
    let error = session_refusal(&SESSION[..60], &["line 2", "column"]);
    assert!(matches!(error, RecordingError::BadSession { .. }));
    session_refusal(&SESSION.replace("+01:00", ""), &["line 2", "offset"]);
    session_refusal(
        &SESSION.replace("p1", "A. Name"),
        &["patient code", "A. Name"],
    );
    session_refusal(&SESSION.replace(", \"patient\": \"p1\"", ""), &["patient"]);
}

fn session_of(
    samples: &str,
    events: &str,
) -> Result<carpotempo::recording::Recording, RecordingError> {
    let folder = Folder::new();
    folder.write("session.json", SESSION);
    folder.write("samples.csv", samples);
    folder.write("events.csv", events);
    open(folder.0.path())
}

fn samples(rows: &[[f64; 7]]) -> String {
    rows.iter()
        .fold(format!("sensor,{HEADER}\n"), |mut text, row| {
            writeln!(text, "hand,{}", line(row)).unwrap();
            text
        })
}

#[test]
fn the_files_of_a_folder_are_held_to_the_same() {
    let events = "t_s,event,detail\n";
    let good = samples(&rows());
    assert_eq!(session_of(&good, events).unwrap().hand.len(), 600);
    for (bad, words) in [
        (
            good.replacen("hand,0.5,", "hand,x,", 1),
            ["samples.csv", "line 52", "column t_s"],
        ),
        (
            good.replacen("hand,0.5,", "elbow,0.5,", 1),
            ["samples.csv", "line 52", "hand or forearm"],
        ),
        (
            good.replacen("hand,0.5,", "hand,0.2,", 1),
            ["samples.csv", "line 52", "backwards"],
        ),
        (
            good.replacen("sensor,", "place,", 1),
            ["samples.csv", "line 1", "sensor"],
        ),
        (
            samples(&rows().map_accel(G)),
            ["samples.csv", "ax_m_s2", "m/s^2"],
        ),
    ] {
        let message = session_of(&bad, events).expect_err(words[1]).to_string();
        for word in words {
            assert!(message.contains(word), "\"{word}\" is not in: {message}");
        }
    }
    for (bad, words) in [
        (
            "t_s,event,detail\nsoon,stop,{}\n",
            ["events.csv", "line 2", "column t_s"],
        ),
        (
            "t_s,event,detail\n1,stop,{}\n2,,{}\n",
            ["events.csv", "line 3", "column event"],
        ),
        (
            "t_s,event,detail\n1,stop,{x}\n",
            ["events.csv", "line 2", "column detail"],
        ),
        (
            "t_s,event,detail\n1,stop,3\n",
            ["events.csv", "line 2", "column detail"],
        ),
        (
            "t_s,event\n1,stop\n",
            ["events.csv", "line 1", "column detail"],
        ),
    ] {
        let message = session_of(&good, bad).expect_err(bad).to_string();
        for word in words {
            assert!(message.contains(word), "\"{word}\" is not in: {message}");
        }
    }
}

trait MapAccel {
    fn map_accel(&self, factor: f64) -> Vec<[f64; 7]>;
}

impl MapAccel for Vec<[f64; 7]> {
    fn map_accel(&self, factor: f64) -> Vec<[f64; 7]> {
        self.iter()
            .map(|[t_s, ax, ay, az, gx, gy, gz]| {
                [*t_s, ax * factor, ay * factor, az * factor, *gx, *gy, *gz]
            })
            .collect()
    }
}

#[test]
fn within_one_sensor_of_a_folder_time_may_stand_but_not_go_back() {
    let good = samples(&rows());
    let repeated = good.replacen("hand,0.5,", "hand,0.49,", 1);
    assert_eq!(
        session_of(&repeated, "t_s,event,detail\n")
            .unwrap()
            .hand
            .len(),
        600
    );
}

fn routine(change: impl Fn(&str) -> String) -> RoutineError {
    let text = change(STARTING[0].toml);
    assert_ne!(text, STARTING[0].toml, "the change changes something");
    Routine::from_toml(&text).expect_err("refused")
}

#[test]
fn a_routine_is_refused_with_line_column_and_a_suggestion() {
    let toml = STARTING[0].toml;
    let line_of = |text: &str| toml.lines().position(|line| line.contains(text)).unwrap() + 1;
    for (from, to, column, words) in [
        (
            "sessions_a_week",
            "session_a_week",
            1,
            "did you mean \"sessions_a_week\"?",
        ),
        (
            "\"wrist-flexion\"",
            "\"wrist-flection\"",
            12,
            "did you mean \"wrist-flexion\"?",
        ),
        (
            "\"wrist-flexion\"",
            "\"curl\"",
            12,
            "write one of \"wrist-extension\"",
        ),
        ("pain_max = 3", "pain_max = 11", 12, "from 0 to 10"),
        ("pain_max = 3", "pain_max = \"3\"", 12, "pain_max is text"),
        (
            "kind = \"counted\"",
            "kind = \"count\"",
            8,
            "did you mean \"counted\"?",
        ),
        ("hold_s = 1", "hold_s = -1", 10, "from 0 to 60"),
        ("lift_s = 4", "lift_s = 0", 10, "as fast as possible"),
        (
            "target_deg = 35",
            "target_deg = 55",
            1,
            "lies beyond no_further_deg",
        ),
        (
            "rounds = 1",
            "rounds = 1.5",
            10,
            "a whole number from 1 to 10",
        ),
        (
            "title = \"Gentle start\"",
            "title = \"Gentle start",
            22,
            "line 3",
        ),
    ] {
        let error = routine(|text| text.replacen(from, to, 1));
        let (line, found_column) = error.place();
        let message = error.to_string();
        assert!(message.contains(words), "{to}: {message}");
        assert!(
            message.starts_with(&format!("line {line}, column {found_column}: ")),
            "{message}"
        );
        if column > 1 {
            assert_eq!(
                (line, found_column),
                (line_of(from), column),
                "{to}: {message}"
            );
        }
    }
    let error = routine(|text| text.replacen("repetitions = 8\n", "", 1));
    assert!(
        error.to_string().contains("item 1 has no \"repetitions\""),
        "{error}"
    );
    let error = routine(|text| text.replacen("load_kg = 0\n", "load_kg = 1\nload_lb = 5\n", 1));
    assert!(matches!(error, RoutineError::TwoLoads { .. }), "{error}");
    let error = routine(|text| {
        text.replacen(
            "{ lower_s = 4, rest_s = 0, lift_s = 4, hold_s = 1 }",
            "\"4-0\"",
            1,
        )
    });
    assert!(error.to_string().contains("has 2 part(s)"), "{error}");
    let error = routine(|text| text.replace("radial-deviation", "ulnar-deviation"));
    assert!(
        matches!(error, RoutineError::UlnarThumbUp { .. }),
        "{error}"
    );
}

#[test]
fn every_problem_of_a_routine_is_listed_in_order() {
    let text = "title = 3\nrounds = 0\n[[items]]\nkind = \"counted\"\nmovment = \"pronation\"\nside = \"both\"\n";
    let problems = Routine::problems(text);
    let lines: Vec<usize> = problems.iter().map(|problem| problem.place().0).collect();
    assert_eq!(lines, [1, 2, 3, 3, 5], "{problems:#?}");
    assert!(Routine::problems(STARTING[0].toml).is_empty());
}

#[test]
fn nothing_is_a_recording_only_by_its_name() {
    assert!(matches!(
        open_any(Path::new(""), &plain()),
        Err(RecordingError::NotFound { .. } | RecordingError::Unreadable { .. })
    ));
}

/// A sensor on a lever that turns about one axis of its own: rigid-body truth with noise and bias.
#[derive(Debug, Clone)]
struct Swing {
    axis: Vector3<f64>,
    lever_m: Vector3<f64>,
    bias_rad_s: Vector3<f64>,
    /// Amplitude in rad and frequency in Hz of each part of the movement.
    parts: Vec<(f64, f64)>,
    rate_hz: f64,
    seed: u64,
}

impl Swing {
    fn rows(&self, accel: f64, gyro: f64) -> Vec<[f64; 7]> {
        let mut state = self.seed | 1;
        let mut noise = |size: f64| {
            // The sum of four uniform numbers is near enough to a normal one.
            let sum: f64 = (0..4)
                .map(|_| {
                    state = state
                        .wrapping_mul(6_364_136_223_846_793_005)
                        .wrapping_add(1);
                    (state >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
                })
                .sum();
            size * sum * 3_f64.sqrt()
        };
        let axis = Unit::new_normalize(self.axis);
        (0..(20.0 * self.rate_hz) as u32)
            .map(|row| {
                let t_s = f64::from(row) / self.rate_hz;
                let (mut angle, mut speed, mut change) = (0.0, 0.0, 0.0);
                for (size_rad, hz) in &self.parts {
                    let turn = std::f64::consts::TAU * hz;
                    angle += size_rad * (turn * t_s).sin();
                    speed += size_rad * turn * (turn * t_s).cos();
                    change -= size_rad * turn * turn * (turn * t_s).sin();
                }
                let gravity =
                    Rotation3::from_axis_angle(&axis, -angle) * Vector3::new(0.0, 0.0, 9.81);
                let (omega, alpha) = (axis.into_inner() * speed, axis.into_inner() * change);
                let push = omega.cross(&omega.cross(&self.lever_m)) + alpha.cross(&self.lever_m);
                let a = (gravity + push).map(|part| part + noise(0.05)) * accel;
                let g = (omega + self.bias_rad_s).map(|part| part + noise(0.005)) * gyro;
                [t_s, a.x, a.y, a.z, g.x, g.y, g.z]
            })
            .collect()
    }
}

fn vector(size: f64) -> impl Strategy<Value = Vector3<f64>> {
    proptest::array::uniform3(-size..size).prop_map(Vector3::from)
}

fn swing() -> impl Strategy<Value = Swing> {
    let slow = proptest::collection::vec((0.0..1.2_f64, 0.02..0.5_f64), 0..3);
    let quick = proptest::collection::vec((0.0..0.15_f64, 0.5..2.5_f64), 0..2);
    let tremor = (0.0..0.012_f64, 7.0..11.0_f64);
    (
        vector(1.0),
        vector(0.35),
        vector(0.05),
        slow,
        quick,
        tremor,
        25.0..200.0_f64,
        any::<u64>(),
    )
        .prop_filter("an axis", |(axis, ..)| axis.norm() > 0.1)
        .prop_map(
            |(axis, lever_m, bias_rad_s, slow, quick, tremor, rate_hz, seed)| Swing {
                axis,
                lever_m,
                bias_rad_s,
                parts: slow.into_iter().chain(quick).chain([tremor]).collect(),
                rate_hz,
                seed,
            },
        )
}

fn g_and_degrees() -> ForeignOptions {
    ForeignOptions {
        accel_unit: AccelUnit::Gravity,
        gyro_unit: GyroUnit::DegreesPerSecond,
        ..plain()
    }
}

fn units_of(rows: &[[f64; 7]], options: &ForeignOptions) -> Result<(), RecordingError> {
    let folder = Folder::new();
    let path = folder.write("swing.csv", csv(rows));
    open_foreign(&path, options).map(|_| ())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(200), failure_persistence: None, ..ProptestConfig::default() })]

    /// Any axis, lever, tremor, stillness, bias up to 3 deg/s an axis, in the declared units.
    #[test]
    fn valid_movement_is_never_refused_for_its_units(swing in swing()) {
        let read = units_of(&swing.rows(1.0, 1.0), &plain());
        prop_assert!(read.is_ok(), "{}", read.unwrap_err());
        let read = units_of(&swing.rows(G, DEG), &g_and_degrees());
        prop_assert!(read.is_ok(), "g, deg/s: {}", read.unwrap_err());
    }

    /// A turn of 15 degrees or more that tips the sensor shows every wrong unit.
    #[test]
    fn tipping_movement_shows_wrong_units(mut swing in swing(), size_rad in 0.15..1.2_f64, hz in 0.06..0.4_f64) {
        swing.axis.z *= 0.3;
        swing.bias_rad_s *= 0.3;
        prop_assume!(swing.axis.xy().norm() > 0.3);
        swing.parts = vec![(size_rad, hz)];
        let wrong = |accel, gyro, options: &ForeignOptions| units_of(&swing.rows(accel, gyro), options);
        let read = wrong(1.0, DEG, &plain());
        prop_assert!(matches!(read, Err(RecordingError::GyroUnit { .. })), "deg/s as rad/s: {:?}", read);
        let read = wrong(G, 1.0, &g_and_degrees());
        prop_assert!(matches!(read, Err(RecordingError::GyroUnit { .. })), "rad/s as deg/s: {:?}", read);
        let read = wrong(G, 1.0, &plain());
        prop_assert!(matches!(read, Err(RecordingError::AccelUnit { .. })), "g as m/s^2: {:?}", read);
        let read = wrong(1.0, DEG, &g_and_degrees());
        prop_assert!(matches!(read, Err(RecordingError::AccelUnit { .. })), "m/s^2 as g: {:?}", read);
    }
}
