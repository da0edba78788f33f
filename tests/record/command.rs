//! The command as a script meets it.

use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use carpotempo::recording::{EventKind, SetEndReason, open};

use crate::run::{carpotempo, command, new_folder, replayed, simulated, stderr, stdout};

fn signal(child: &Child, name: &str) {
    let status = Command::new("kill")
        .args([name, &child.id().to_string()])
        .status()
        .unwrap();
    assert!(status.success());
}

/// One clear message, that exit status, nothing on standard output.
fn fails(output: &Output, status: i32) -> String {
    let message = stderr(output);
    assert_eq!(output.status.code(), Some(status), "{message}");
    assert!(stdout(output).is_empty());
    for word in ["panicked", "backtrace", "src/"] {
        assert!(!message.contains(word), "{message}");
    }
    message
}

#[test]
fn the_object_at_its_end_is_that_of_a_replay() {
    std::thread::scope(|scope| {
        for (raw, drop) in [(false, "0"), (true, "0.05")] {
            scope.spawn(move || {
                let (_root, folder) = new_folder();
                let mut more = vec!["--seed", "5", "--pace", "16", "--for", "24", "--json"];
                more.extend(["--drop", drop]);
                more.extend(raw.then_some("--raw"));
                let output = carpotempo(&simulated(&folder, &more));
                assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
                let out = stdout(&output);
                assert_eq!(out, replayed(&folder) + "\n");
                let object: serde_json::Value = serde_json::from_str(&out).unwrap();
                let reps = object["sets"][0]["reps"].as_array().unwrap();
                assert!(reps.len() >= 3, "{out}");
            });
        }
    });
}

#[test]
fn the_table_at_its_end_is_that_of_a_replay_and_says_where_it_is() {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "16", "--for", "20"];
    let output = carpotempo(&simulated(&folder, &more));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let out = stdout(&output);
    let replay = carpotempo(&["replay", "--online", folder.to_str().unwrap()]);
    assert!(out.contains(stdout(&replay).trim()), "{out}");
    assert!(
        out.contains("carpotempo replay"),
        "what to do with it: {out}"
    );
    assert!(out.contains(folder.to_str().unwrap()), "where it is: {out}");
}

#[test]
fn invented_data_are_called_so_on_screen_and_in_the_recording() {
    let (_root, folder) = new_folder();
    let output = carpotempo(&simulated(&folder, &["--for", "1", "--raw"]));
    assert!(stderr(&output).contains("SIMULATED"), "{}", stderr(&output));
    let recording = open(&folder).unwrap();
    let first = &recording.events[0].kind;
    assert_eq!(first.name(), "simulated");
    assert!(
        first.detail()["note"]
            .as_str()
            .unwrap()
            .contains("Invented")
    );
}

#[test]
fn without_a_terminal_each_thing_that_happens_is_a_plain_line() {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "16", "--reps", "3"];
    let output = carpotempo(&simulated(&folder, &more));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let lines = stderr(&output);
    assert!(!lines.contains(['\r', '\x1b']), "{lines:?}");
    let places: Vec<usize> = [
        "Stop if it hurts",
        "Tempo 2-0-1-0: up in one",
        "Connected: Simulated unit",
        "Hold still.",
        "Now once, slowly",
        "Calibrated",
        "Begin: 3 repetitions.",
        "  1  range",
        "  3  range",
        "Set ended",
    ]
    .iter()
    .map(|words| {
        lines
            .find(words)
            .unwrap_or_else(|| panic!("{words}: {lines}"))
    })
    .collect();
    assert!(places.is_sorted(), "{lines}");
    let end = open(&folder).unwrap().events.pop().unwrap();
    let EventKind::SetEnd(end) = end.kind else {
        panic!("{end:?}");
    };
    assert_eq!(end.reason, Some(SetEndReason::Reached));
}

#[cfg(unix)]
#[test]
fn an_interrupt_and_a_termination_end_it_cleanly() {
    std::thread::scope(|scope| {
        for (name, after_s) in [("-INT", 1.0), ("-TERM", 1.7), ("-HUP", 2.4)] {
            scope.spawn(move || ended_by(name, after_s));
        }
    });
}

#[cfg(unix)]
fn ended_by(name: &str, after_s: f64) {
    let (_root, folder) = new_folder();
    let more = ["--seed", "6", "--pace", "8", "--json"];
    let child = command(&simulated(&folder, &more)).spawn().unwrap();
    sleep(Duration::from_secs_f64(after_s));
    signal(&child, name);
    let asked = Instant::now();
    let output = child.wait_with_output().unwrap();
    assert!(asked.elapsed() < Duration::from_secs(3), "{name}");
    assert_eq!(output.status.code(), Some(0), "{name}: {}", stderr(&output));
    assert_eq!(stdout(&output), replayed(&folder) + "\n", "{name}");
    let ended = open(&folder).unwrap().events.iter().any(|event| {
        matches!(&event.kind, EventKind::SetEnd(end) if end.reason == Some(SetEndReason::Stop))
    });
    assert!(ended, "{name}");
}

#[test]
fn it_ends_by_itself_after_the_time_asked_for_whatever_happens() {
    let (_root, folder) = new_folder();
    // The sensor goes away in the calibration and never comes back.
    let more = ["--pace", "8", "--for", "12", "--lose", "3:1000", "--json"];
    let began = Instant::now();
    let output = carpotempo(&simulated(&folder, &more));
    let lasting_s = began.elapsed().as_secs_f64();
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!((1.5..4.0).contains(&lasting_s), "{lasting_s}");
    assert!(
        stderr(&output).contains("no samples since"),
        "{}",
        stderr(&output)
    );
    assert!(stderr(&output).contains("The link to the sensor is lost"));
    assert_eq!(stdout(&output), replayed(&folder) + "\n");
}

#[test]
fn a_folder_that_holds_a_recording_is_refused_and_left_as_it_was() {
    let (_root, folder) = new_folder();
    let output = carpotempo(&simulated(&folder, &["--for", "0.5", "--raw"]));
    assert!(output.status.success());
    let before = std::fs::read(folder.join("events.csv")).unwrap();
    let message = fails(&carpotempo(&simulated(&folder, &[])), 1);
    assert!(message.contains("is there already"), "{message}");
    assert_eq!(std::fs::read(folder.join("events.csv")).unwrap(), before);
}

#[test]
fn arguments_that_do_not_go_together_are_refused_before_anything_is_made() {
    let (_root, folder) = new_folder();
    let out = folder.to_str().unwrap();
    for arguments in [
        vec!["record", "--simulate", "--out", out],
        vec![
            "record",
            "--simulate",
            "--exercise",
            "wrist-flexion",
            "--out",
            out,
        ],
        vec![
            "record",
            "--simulate",
            "--exercise",
            "wrist-flexion",
            "--side",
            "left",
        ],
        vec![
            "record",
            "--simulate",
            "--raw",
            "--sensor",
            "X",
            "--out",
            out,
        ],
        vec!["record", "--raw", "--seed", "3", "--out", out],
        vec!["record", "--simulate", "--raw", "--for", "0", "--out", out],
        vec![
            "record",
            "--simulate",
            "--raw",
            "--for",
            "nan",
            "--out",
            out,
        ],
        vec![
            "record",
            "--simulate",
            "--raw",
            "--load-kg",
            "-1",
            "--out",
            out,
        ],
        vec![
            "record",
            "--simulate",
            "--raw",
            "--patient",
            "Jane Doe",
            "--out",
            out,
        ],
    ] {
        fails(&carpotempo(&arguments), 2);
        assert!(!folder.exists(), "{arguments:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn without_bluetooth_it_says_so_and_leaves_nothing_behind() {
    let (_root, folder) = new_folder();
    let out = folder.to_str().unwrap();
    let output = command(&["record", "--raw", "--json", "--out", out])
        .env("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nowhere/at/all")
        .output()
        .unwrap();
    let message = fails(&output, 1);
    assert!(message.contains("luetooth"), "{message}");
    assert!(!folder.exists(), "nothing is left behind");
}

#[test]
fn without_a_folder_it_goes_into_the_patients_store() {
    let store = tempfile::tempdir().unwrap();
    let path = store.path().to_str().unwrap();
    let arguments = [
        "record",
        "--simulate",
        "--raw",
        "--for",
        "0.6",
        "--patient",
        "P-0042",
        "--store",
        path,
    ];
    let output = carpotempo(&arguments);
    assert!(output.status.success(), "{}", stderr(&output));
    let sessions: Vec<_> = std::fs::read_dir(store.path().join("P-0042"))
        .unwrap()
        .collect();
    assert_eq!(sessions.len(), 1);
    let session = open(&sessions[0].as_ref().unwrap().path()).unwrap();
    assert_eq!(session.head.unwrap().patient.as_str(), "P-0042");
}

#[cfg(unix)]
#[test]
fn files_are_private_whatever_the_umask() {
    std::thread::scope(|scope| {
        for umask in ["000", "022", "077", "277"] {
            scope.spawn(move || private_under(umask));
        }
    });
}

#[cfg(unix)]
fn private_under(umask: &str) {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let folder = root.path().join("new/recording");
    let program = env!("CARGO_BIN_EXE_carpotempo");
    let script = format!("umask {umask}; exec \"$0\" \"$@\"");
    let output = Command::new("sh")
        .args(["-c", &script, program])
        .args(simulated(&folder, &["--for", "1.2", "--raw"]))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(output.status.success(), "{umask}: {}", stderr(&output));
    let mode = |path: &std::path::Path| path.metadata().unwrap().permissions().mode() & 0o777;
    for above in [root.path().join("new"), folder.clone()] {
        assert_eq!(mode(&above), 0o700, "{umask}: {}", above.display());
    }
    let names: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert_eq!(names.len(), 3, "no file beside: {names:?}");
    for path in names {
        assert_eq!(mode(&path), 0o600, "{umask}: {}", path.display());
    }
}
