//! The file to be double-clicked.

#![cfg(target_os = "linux")]

use std::io::{BufRead, BufReader};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::run::{carpotempo, stderr, stdout};

/// Everything that the Exec key of a desktop entry or a shell could take for more than a letter.
const ODD: &str = r#"a b 'c' "d" $HOME `e` \f 5%f; & ü"#;

const ROUTINE: &str =
    "title = \"T\"\n[[items]]\nkind = \"timed\"\nwhat = \"breathing\"\nseconds = 20\n";

struct Written {
    _folder: tempfile::TempDir,
    odd: PathBuf,
    file: PathBuf,
    told: String,
}

fn arguments<'a>(routine: &'a str, store: &'a str, file: &'a str) -> Vec<&'a str> {
    vec![
        "session",
        "--simulate",
        "--patient",
        "P-0001",
        "--routine",
        routine,
        "--store",
        store,
        "--launcher",
        file,
    ]
}

fn written() -> Written {
    let folder = tempfile::tempdir().unwrap();
    let odd = folder.path().join(ODD);
    std::fs::create_dir(&odd).unwrap();
    let routine = odd.join("routine.toml");
    std::fs::write(&routine, ROUTINE).unwrap();
    let store = odd.join("store");
    let file = odd.join("exercises");
    let [routine, store, asked] = [&routine, &store, &file].map(|path| path.to_str().unwrap());
    let output = carpotempo(&arguments(routine, store, asked));
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    Written {
        told: stdout(&output),
        file: odd.join("exercises.desktop"),
        odd,
        _folder: folder,
    }
}

/// The value of a key, as the specification reads it: a backslash and a letter is one letter.
fn value(text: &str, key: &str) -> String {
    let line = text
        .lines()
        .find_map(|line| line.strip_prefix(&format!("{key}=")));
    let mut value = String::new();
    let mut letters = line.unwrap().chars();
    while let Some(letter) = letters.next() {
        value.push(match letter {
            '\\' => letters.next().unwrap(),
            _ => letter,
        });
    }
    value
}

#[test]
fn it_is_a_desktop_entry_that_may_be_run_and_says_how_it_is_used() {
    let written = written();
    let text = std::fs::read_to_string(&written.file).unwrap();
    assert!(text.starts_with("[Desktop Entry]\n"));
    assert_eq!(value(&text, "Type"), "Application");
    assert_eq!(value(&text, "Terminal"), "true");
    let mode = std::fs::metadata(&written.file)
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o755);
    assert!(written.told.contains("double-click") && written.told.contains("Allow Launching"));
    assert!(written.told.contains("P-0001"));
    // Nothing of the patient was begun.
    assert!(!written.odd.join("store").exists());
}

/// Quoting in the Exec key is that of a shell's double quotes: a shell reads what the specification
/// left of it, with its doubled percent signs.
#[test]
fn its_exec_line_starts_the_session_whatever_the_folders_are_called() {
    let written = written();
    let text = std::fs::read_to_string(&written.file).unwrap();
    let line = value(&text, "Exec").replace("%%", "%");
    let mut child = Command::new("/bin/sh")
        .args(["-c", &format!("exec {line}")])
        // No browser is found there.
        .env("PATH", "/nonexistent")
        .current_dir("/")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let told: Vec<String> = lines.by_ref().take(4).map(Result::unwrap).collect();
    let killed = Command::new("/bin/kill")
        .arg(child.id().to_string())
        .status();
    if !killed.is_ok_and(|status| status.success()) {
        child.kill().unwrap();
    }
    child.wait().unwrap();
    let told = told.join("\n");
    assert!(told.starts_with("SIMULATED"), "{told}");
    assert!(told.contains("http://127.0.0.1:"), "{told}");
    assert!(
        told.contains(written.odd.join("store/P-0001").to_str().unwrap()),
        "{told}"
    );
}

#[test]
fn another_file_is_not_written_over_and_its_own_is() {
    let folder = tempfile::tempdir().unwrap();
    let routine = folder.path().join("routine.toml");
    std::fs::write(&routine, ROUTINE).unwrap();
    let run = |file: &Path| {
        let [routine, file] = [&*routine, file].map(|path| path.to_str().unwrap());
        carpotempo(&arguments(routine, "store", file))
    };
    let other = folder.path().join("letter.desktop");
    std::fs::write(&other, "[Desktop Entry]\nName=Letter\n").unwrap();
    let output = run(&other);
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("give another name"));
    assert_eq!(
        std::fs::read_to_string(&other).unwrap(),
        "[Desktop Entry]\nName=Letter\n"
    );
    let own = folder.path().join("own.desktop");
    for _ in 0..2 {
        assert_eq!(run(&own).status.code(), Some(0));
    }
    let wrong = run(&folder.path().join("own.cmd"));
    assert_eq!(wrong.status.code(), Some(1));
    assert!(stderr(&wrong).contains(".desktop"));
}

#[test]
fn a_routine_that_cannot_be_read_is_found_out_when_it_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let [routine, file] = ["none.toml", "own"].map(|name| folder.path().join(name));
    let [routine, file] = [&routine, &file].map(|path| path.to_str().unwrap());
    let output = carpotempo(&arguments(routine, "store", file));
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("none.toml"));
    assert!(!folder.path().join("own.desktop").exists());
}
