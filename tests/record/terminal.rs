//! On a terminal: one line that changes, any key ends it, and the terminal is left as it was.

use std::io::Write;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use carpotempo::recording::open;

use crate::run::{new_folder, simulated};

/// What a terminal shows, which is given this key after a while; `None` where no terminal can be
/// had.
fn on_a_terminal(arguments: &[&str], key: &str, after_s: f64) -> Option<String> {
    let found = Command::new("script").arg("--version").output();
    if !found.is_ok_and(|output| output.status.success()) {
        println!("not checked, script of util-linux is absent");
        assert!(
            std::env::var("CI").as_deref() != Ok("true"),
            "script is absent under CI"
        );
        return None;
    }
    let words: Vec<String> = std::iter::once(&env!("CARGO_BIN_EXE_carpotempo"))
        .chain(arguments)
        .map(|word| format!("'{word}'"))
        .collect();
    let inside = format!(
        "stty rows 24 cols 70; stty -g; {}; echo status $?; stty -g",
        words.join(" ")
    );
    let mut child = Command::new("script")
        .args(["-q", "-e", "-c", &inside, "/dev/null"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut keys = child.stdin.take().unwrap();
    let key = key.to_owned();
    let typing = std::thread::spawn(move || {
        sleep(Duration::from_secs_f64(after_s));
        let _ = keys.write_all(key.as_bytes());
        keys
    });
    let output = child.wait_with_output().unwrap();
    drop(typing.join());
    Some(String::from_utf8(output.stdout).unwrap())
}

/// The terminal's settings before and after, as `stty -g` prints them.
fn settings(shown: &str) -> Vec<&str> {
    shown
        .lines()
        .map(str::trim)
        .filter(|line| line.split(':').count() > 10)
        .collect()
}

#[test]
fn a_key_ends_it_and_the_terminal_is_left_as_it_was() {
    std::thread::scope(|scope| {
        for key in ["x", "\x03", " "] {
            scope.spawn(move || ended_by(key));
        }
    });
}

fn ended_by(key: &str) {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "8"];
    let Some(shown) = on_a_terminal(&simulated(&folder, &more), key, 2.4) else {
        return;
    };
    assert!(shown.contains("status 0"), "{key:?}: {shown}");
    assert!(shown.contains("Set ended, stopped."), "{key:?}: {shown}");
    let settings = settings(&shown);
    assert_eq!(settings.len(), 2, "{shown}");
    assert_eq!(settings[0], settings[1], "{key:?}");
    assert!(open(&folder).unwrap().warnings.is_empty());
}

#[test]
fn a_set_that_ends_by_itself_leaves_the_terminal_as_it_was() {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "16", "--for", "20"];
    let Some(shown) = on_a_terminal(&simulated(&folder, &more), "", 0.0) else {
        return;
    };
    assert!(shown.contains("status 0"), "{shown}");
    let settings = settings(&shown);
    assert_eq!(settings[0], settings[1]);
}

#[test]
fn the_line_shows_count_phase_angle_and_lowering_and_fits() {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "8", "--for", "24", "--reps", "20"];
    let Some(shown) = on_a_terminal(&simulated(&folder, &more), "", 0.0) else {
        return;
    };
    let lines: Vec<&str> = shown.split("\r\x1b[K").skip(1).collect();
    // 24 s at eight times life are 3 s.
    assert!(
        (10..=62).contains(&lines.len()),
        "at most 20 a second: {}",
        lines.len()
    );
    for line in &lines {
        let own = line.lines().next().unwrap_or_default();
        assert!(own.chars().count() < 70 || own.contains("range"), "{own:?}");
    }
    let has = |words: &[&str]| {
        lines
            .iter()
            .any(|line| words.iter().all(|word| line.contains(word)))
    };
    assert!(has(&["hold still"]), "{shown}");
    assert!(
        has(&["2 of 20 done", "deg", "lowered in", "of 2 s"]),
        "{shown}"
    );
    for phase in ["lift", "lower", "rest"] {
        assert!(has(&["of 20 done", phase]), "{phase}: {shown}");
    }
}
