//! A disk that takes no more, a folder that may not be written or goes away: said once, the count
//! goes on, and what is on the disk is whole rows.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use carpotempo::recording::open;

use crate::run::{carpotempo, command, new_folder, simulated, stderr, stdout};

/// The program with a limit on the size of its files, in bytes of 512, that says no instead of
/// ending it. Source: the manual page setrlimit(2), RLIMIT_FSIZE.
fn limited(folder: &Path, blocks: u32, more: &[&str]) -> Command {
    let mut command = Command::new("sh");
    let script = format!("trap '' XFSZ; ulimit -S -f {blocks}; exec \"$0\" \"$@\"");
    command
        .args(["-c", &script, env!("CARGO_BIN_EXE_carpotempo")])
        .args(simulated(folder, more))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn whole_rows(folder: &Path) {
    for (name, header) in [
        (
            "samples.csv",
            "sensor,t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n",
        ),
        ("events.csv", "t_s,event,detail\n"),
    ] {
        let text = std::fs::read_to_string(folder.join(name)).unwrap_or(header.to_owned());
        assert!(text.starts_with(header), "{name}");
        assert!(text.ends_with('\n'), "{name} ends with a whole row");
    }
    open(folder).unwrap();
}

fn count(text: &str, words: &str) -> usize {
    text.matches(words).count()
}

#[test]
fn a_file_that_may_not_grow_is_said_and_the_count_goes_on() {
    // About 4 s of samples.
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "16", "--for", "26", "--json"];
    let output = limited(&folder, 120, &more).output().unwrap();
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(stdout(&output).is_empty());
    assert_eq!(count(&said, "Warning:"), 1, "{said}");
    assert!(
        said.contains("samples.csv: the file may not grow"),
        "{said}"
    );
    assert!(said.contains("  3  range"), "the count goes on: {said}");
    assert_eq!(
        count(&said, "carpotempo: "),
        1,
        "one message at the end: {said}"
    );
    assert!(said.contains("is not whole"), "{said}");
    whole_rows(&folder);
    assert!(!open(&folder).unwrap().hand.is_empty());
}

#[test]
fn no_header_is_ever_half_written() {
    // Too small for session.json; then for all but it.
    for blocks in [0, 1] {
        let (_root, folder) = new_folder();
        let more = ["--seed", "5", "--pace", "16", "--for", "4", "--raw"];
        let output = limited(&folder, blocks, &more).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
        if blocks == 0 {
            assert!(!folder.exists(), "nothing is left behind");
        } else {
            whole_rows(&folder);
        }
    }
}

/// Runs it, waits for a line that holds these words, then for a while; the rest of what it says.
fn until_said(child: &mut Child, words: &str) -> String {
    let mut out = BufReader::new(child.stderr.take().unwrap());
    let mut said = String::new();
    while !said.contains(words) {
        let mut line = String::new();
        assert!(out.read_line(&mut line).unwrap() > 0, "{words}: {said}");
        said.push_str(&line);
    }
    child.stderr = Some(out.into_inner());
    said
}

fn rest(mut child: Child) -> (Option<i32>, String) {
    let mut said = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    (child.wait().unwrap().code(), said)
}

#[test]
fn when_there_is_room_again_everything_is_written_and_nothing_is_lost() {
    let Ok(found) = Command::new("prlimit").arg("--version").output() else {
        println!("not checked, prlimit is absent");
        assert!(
            std::env::var("CI").as_deref() != Ok("true"),
            "prlimit is absent under CI"
        );
        return;
    };
    assert!(found.status.success());
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "4", "--for", "20", "--raw"];
    let mut child = limited(&folder, 100, &more).spawn().unwrap();
    until_said(&mut child, "may not grow");
    sleep(Duration::from_millis(700));
    let pid = child.id().to_string();
    let raised = Command::new("prlimit")
        .args(["--pid", &pid, "--fsize=unlimited"])
        .status()
        .unwrap();
    assert!(raised.success());
    let (status, said) = rest(child);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("Everything is written again"), "{said}");
    let recording = open(&folder).unwrap();
    let gaps = recording
        .hand
        .windows(2)
        .filter(|pair| pair[1].t_s - pair[0].t_s > 0.006);
    assert_eq!(gaps.count(), 0, "no row is missing");
    assert!(recording.hand.last().unwrap().t_s > 19.0);
}

#[test]
fn a_folder_that_is_moved_away_and_back_is_said_and_whole() {
    let (root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "2", "--for", "9", "--raw"];
    let mut child = command(&simulated(&folder, &more)).spawn().unwrap();
    until_said(&mut child, "Recording.");
    sleep(Duration::from_millis(600));
    let aside = root.path().join("aside");
    std::fs::rename(&folder, &aside).unwrap();
    until_said(&mut child, "was moved or deleted");
    std::fs::rename(&aside, &folder).unwrap();
    let (status, said) = rest(child);
    assert_eq!(status, Some(0), "{said}");
    assert!(said.contains("Everything is written again"), "{said}");
    let recording = open(&folder).unwrap();
    let gaps = recording
        .hand
        .windows(2)
        .filter(|pair| pair[1].t_s - pair[0].t_s > 0.006);
    assert_eq!(gaps.count(), 0);
}

#[test]
fn a_folder_that_is_deleted_is_said_once_and_the_count_goes_on() {
    let (_root, folder) = new_folder();
    let more = ["--seed", "5", "--pace", "8", "--for", "24", "--json"];
    let mut child = command(&simulated(&folder, &more)).spawn().unwrap();
    until_said(&mut child, "Hold still");
    std::fs::remove_dir_all(&folder).unwrap();
    let (status, said) = rest(child);
    assert_eq!(status, Some(1), "{said}");
    assert_eq!(count(&said, "Warning:"), 1, "{said}");
    assert!(said.contains("  3  range"), "{said}");
    assert_eq!(count(&said, "carpotempo: "), 1, "{said}");
    assert!(!folder.exists(), "what was deleted stays deleted");
}

#[test]
fn a_place_that_may_not_be_written_is_refused_at_once() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let closed = root.path().join("closed");
    std::fs::create_dir(&closed).unwrap();
    std::fs::set_permissions(&closed, std::fs::Permissions::from_mode(0o500)).unwrap();
    let mut places = vec![root.path().join("closed/recording")];
    if std::fs::create_dir(closed.join("probe")).is_ok() {
        println!("not checked with a read-only folder: this user may write anywhere");
        places.clear();
    }
    // A folder that nobody may write into, and one that is none.
    if cfg!(target_os = "linux") {
        places.push("/proc/recording".into());
    }
    std::fs::write(root.path().join("file"), "x").unwrap();
    places.push(root.path().join("file"));
    places.push(root.path().join("file/recording"));
    for place in places {
        let output = carpotempo(&simulated(&place, &[]));
        let said = stderr(&output);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(stdout(&output).is_empty());
        assert_eq!(said.trim().lines().count(), 1, "{said}");
        assert!(said.contains(place.to_str().unwrap()), "{said}");
    }
}
