//! `replay --page` as a person meets it.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use super::super::client::get;
use super::super::shown::Shown;

fn recording(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("recordings");
    folder.join(name).to_str().unwrap().to_owned()
}

fn replay(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .arg("replay")
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn shown(arguments: &[&str]) -> Shown {
    let mut command = Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    Shown::begin(command.arg("replay").args(arguments).arg("--page"))
}

/// Ctrl-C; gives what was printed in all.
fn interrupted(mut shown: Shown) -> String {
    let id = shown.child.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-INT", &id])
            .status()
            .unwrap()
            .success()
    );
    shown.out.read_to_string(&mut shown.said).unwrap();
    assert_eq!(
        shown.child.wait().unwrap().code(),
        Some(0),
        "{}",
        shown.said
    );
    std::mem::take(&mut shown.said)
}

#[test]
fn the_page_has_the_numbers_of_the_object_to_the_digit() {
    let flexion = recording("flexion-hurried.csv");
    let foreign = recording("flexion-foreign.csv");
    let calibrated = recording("extension-calibrated");
    let circles = recording("arm-circles.csv");
    let asked: [&[&str]; 4] = [
        &[
            &flexion,
            "--exercise",
            "wrist-flexion",
            "--side",
            "left",
            "--tempo",
            "4-0-2-1",
        ],
        &[
            &foreign,
            "--column",
            "t_s=Zeit_ms",
            "--column",
            "ax_m_s2=Bx_g",
            "--column",
            "ay_m_s2=By_g",
            "--column",
            "az_m_s2=Bz_g",
            "--column",
            "gx_rad_s=Wx_deg_s",
            "--column",
            "gy_rad_s=Wy_deg_s",
            "--column",
            "gz_rad_s=Wz_deg_s",
            "--time-unit",
            "ms",
            "--accel-unit",
            "g",
            "--gyro-unit",
            "deg_s",
            "--decimal-comma",
        ],
        &[&calibrated],
        &[&circles],
    ];
    for arguments in asked {
        let object = replay(&[arguments, &["--json"]].concat());
        let object = String::from_utf8(object.stdout).unwrap();
        let table = replay(arguments);
        let table = String::from_utf8(table.stdout).unwrap();
        let shown = shown(arguments);
        let told = get(shown.port, &shown.cookie, "/recording.json").body;
        assert!(told.contains(object.trim()), "{arguments:?}");
        // The times of the phases are the differences of the object's, and no others.
        let told: serde_json::Value = serde_json::from_str(&told).unwrap();
        for (number, set) in told["analysis"]["sets"]
            .as_array()
            .unwrap()
            .iter()
            .enumerate()
        {
            let phases = &told["sets"][number]["phases"];
            let reps = set["reps"].as_array().unwrap();
            assert_eq!(phases.as_array().unwrap().len(), reps.len());
            for (at, rep) in reps.iter().enumerate() {
                let time = |key: &str| rep[key].as_f64().unwrap();
                for (key, from, to) in [
                    ("lift_s", "lift_start_s", "lift_end_s"),
                    ("hold_s", "lift_end_s", "lower_start_s"),
                    ("lower_s", "lower_start_s", "lower_end_s"),
                ] {
                    assert_eq!(phases[at][key].as_f64(), Some(time(to) - time(from)));
                }
                let next = reps.get(at + 1);
                let rest_s =
                    next.map(|next| next["lift_start_s"].as_f64().unwrap() - time("lower_end_s"));
                assert_eq!(phases[at]["rest_s"].as_f64(), rest_s);
            }
        }
        let said = interrupted(shown);
        assert!(said.starts_with(&table), "the table is printed as ever");
        assert!(said.contains("Ctrl-C"), "{said}");
    }
}

#[test]
fn a_session_of_answers_alone_has_a_page() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("session.json"),
        r#"{"format":"carpotempo-recording","version":1,"started_at":"2026-03-02T08:00:00+01:00","patient":"P-0001","routine":null}"#,
    )
    .unwrap();
    std::fs::write(
        folder.path().join("events.csv"),
        "t_s,event,detail\n0,night,\"{\"\"woke\"\":true}\"\n",
    )
    .unwrap();
    let shown = shown(&[folder.path().to_str().unwrap()]);
    let told = get(shown.port, &shown.cookie, "/recording.json").body;
    assert!(told.contains("\"sets\":[]"), "{told}");
    interrupted(shown);
    let written = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(written, 2, "the recording is left as it was");
}

#[test]
fn what_does_not_go_with_the_page_is_a_wrong_argument() {
    let file = recording("flexion-hurried.csv");
    for wrong in [
        &["--page", "--json"] as &[&str],
        &["--page", "--online"],
        &["--page", "--speed", "2"],
        &["--no-browser"],
        &["--port", "0"],
        &["--page", "--port", "70000"],
        &["--page", "--port", "-1"],
        &["--page", "--exercise", "juggling"],
        &["--page=yes"],
    ] {
        let output = replay(&[&[file.as_str()], wrong].concat());
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
        assert!(output.stdout.is_empty(), "{wrong:?}");
    }
}

#[test]
fn what_cannot_be_shown_is_said_once() {
    let missing = replay(&["no-such-recording", "--page", "--no-browser"]);
    assert_eq!(missing.status.code(), Some(1));
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let file = recording("flexion-hurried.csv");
    let output = replay(&[&file, "--page", "--no-browser", "--port", &port]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains(&port) && said.contains("--port"), "{said}");
    assert_eq!(said.trim().lines().count(), 1, "{said}");
}
