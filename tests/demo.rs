//! The demo, as a new user runs it: everything is there, says that it is invented, can be run
//! twice, and what was analysed agrees with what the simulator knows to be true.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use carpotempo::pipeline::summary::{SessionSummary, fresh_summaries};
use carpotempo::recording::Store;
use tempfile::TempDir;

fn program(arguments: &[&str], within: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(arguments)
        .current_dir(within)
        .env_remove("CARPOTEMPO_STORE")
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

struct Shown {
    folder: TempDir,
    output: String,
}

impl Shown {
    fn out(&self) -> PathBuf {
        self.folder.path().join("carpotempo-demo")
    }
}

/// The demo, run once for all tests that only look.
fn shown() -> &'static Shown {
    static SHOWN: OnceLock<Shown> = OnceLock::new();
    SHOWN.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let run = program(&["demo"], folder.path());
        assert!(run.status.success(), "{}", text(&run.stderr));
        Shown {
            folder,
            output: text(&run.stdout),
        }
    })
}

fn files(within: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(within).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(self::files(&path));
        } else {
            files.push(path);
        }
    }
    files.sort();
    files
}

fn summaries(out: &Path) -> Vec<(String, SessionSummary)> {
    let store = Store::at(out.join("store"));
    let patient = "P-0042".parse().unwrap();
    let summaries = fresh_summaries(&store, &patient, &|_| {}).unwrap();
    assert!(summaries.warnings.is_empty(), "{:?}", summaries.warnings);
    let named = |s: carpotempo::pipeline::summary::Summarised| (s.name, s.summary);
    summaries.sessions.into_iter().map(named).collect()
}

/// The truth of a session: for each set the repetitions' four times and range.
fn truth(out: &Path, session: &str) -> Vec<Vec<[f64; 5]>> {
    let path = out.join("truth").join(format!("{session}.csv"));
    let mut sets: BTreeMap<u32, Vec<[f64; 5]>> = BTreeMap::new();
    for row in csv::Reader::from_path(path).unwrap().records() {
        let row = row.unwrap();
        let numbers = std::array::from_fn(|column| row[4 + column].parse().unwrap());
        sets.entry(row[0].parse().unwrap())
            .or_default()
            .push(numbers);
    }
    sets.into_values().collect()
}

fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[(share * (values.len() - 1) as f64) as usize]
}

#[test]
fn four_weeks_of_sessions_lie_in_a_store_of_the_demos_own() {
    let sessions = summaries(&shown().out());
    assert!((14..=18).contains(&sessions.len()), "{}", sessions.len());
    let first = sessions.first().unwrap().1.started_at.clone();
    let last = sessions.last().unwrap().1.started_at.clone();
    let days = (last.date() - first.date()).get_days();
    assert!((21..=28).contains(&days), "{days}");
    assert_ne!(first.offset(), last.offset(), "summer time begins between");
    assert!(sessions.iter().any(|(_, s)| !s.stops.is_empty()));
    assert!(sessions.iter().any(|(_, s)| !s.skipped.is_empty()));
}

#[test]
fn repetitions_are_counted_as_they_were_done_in_99_of_100_sets() {
    let out = shown().out();
    let (mut sets, mut exact) = (0, 0);
    let (mut lower_s, mut range_deg) = (vec![], vec![]);
    for (name, summary) in summaries(&out) {
        let truth = truth(&out, &name);
        let found = &summary.analysis.sets;
        assert_eq!(found.len(), truth.len(), "{name}");
        for (set, true_reps) in found.iter().zip(&truth) {
            sets += 1;
            if set.reps.len() != true_reps.len() {
                continue;
            }
            exact += 1;
            for (rep, t) in set.reps.iter().zip(true_reps) {
                if rep.doubts.is_empty() {
                    lower_s.push((rep.lower_s() - (t[3] - t[2])).abs());
                    range_deg.push((rep.range_deg - t[4]).abs());
                }
            }
        }
    }
    assert!(sets >= 70, "{sets}");
    assert!(
        f64::from(exact) >= 0.99 * f64::from(sets),
        "{exact} of {sets}"
    );
    // The figures promised for simulated sets: median and 95th percentile (ours, no source).
    assert!(quantile(lower_s.clone(), 0.5) <= 0.020);
    assert!(quantile(lower_s, 0.95) <= 0.100);
    assert!(quantile(range_deg.clone(), 0.5) <= 0.4);
    assert!(quantile(range_deg, 0.95) <= 1.5);
}

/// The story that is told: slower growth of range on the right, hurry in the second week, the left
/// hand ahead throughout.
#[test]
fn the_figures_tell_the_story_that_was_played() {
    use carpotempo::movement::{Movement, Side};
    use carpotempo::routine::Verdict;
    let mut medians: BTreeMap<Side, Vec<f64>> = BTreeMap::new();
    let mut hurried = Vec::new();
    for (_, summary) in summaries(&shown().out()) {
        let sets = &summary.analysis.sets;
        for side in [Side::Left, Side::Right] {
            let ranges: Vec<f64> = sets
                .iter()
                .filter(|set| set.movement == Some(Movement::WristFlexion))
                .filter(|set| set.side == Some(side))
                .flat_map(|set| set.reps.iter().map(|rep| rep.range_deg))
                .collect();
            if !ranges.is_empty() {
                medians.entry(side).or_default().push(quantile(ranges, 0.5));
            }
        }
        let verdicts: Vec<Option<Verdict>> = sets
            .iter()
            .flat_map(|set| set.reps.iter().map(|rep| rep.verdict))
            .collect();
        if !verdicts.is_empty() {
            let of = verdicts.iter().filter(|v| **v == Some(Verdict::Hurried));
            hurried.push(of.count() as f64 / verdicts.len() as f64);
        }
    }
    let (left, right) = (&medians[&Side::Left], &medians[&Side::Right]);
    assert!(
        right.last().unwrap() - right.first().unwrap() > 5.0,
        "{right:?}"
    );
    assert!(left.iter().zip(right).all(|(left, right)| left > right));
    // Sessions 5 to 7 are those of the second week.
    let [calm, tired] = [&hurried[8..], &hurried[4..7]];
    assert!(tired.iter().all(|share| *share > 0.5), "{hurried:?}");
    assert!(calm.iter().all(|share| *share < 0.15), "{hurried:?}");
}

#[test]
fn charts_and_report_are_there_and_say_invented() {
    let out = shown().out();
    let report = std::fs::read_to_string(out.join("report.html")).unwrap();
    assert!(report.contains("Invented data"));
    let files = files(&out.join("charts"));
    let of = |ending: &str| -> Vec<&PathBuf> {
        let ending = Some(std::ffi::OsStr::new(ending));
        files
            .iter()
            .filter(|path| path.extension() == ending)
            .collect()
    };
    let (pictures, drawings) = (of("png"), of("svg"));
    assert!(pictures.len() >= 8, "{}", pictures.len());
    assert_eq!(pictures.len(), drawings.len());
    for wanted in ["angle", "tempo", "range"] {
        let named = |path: &&&PathBuf| path.to_string_lossy().contains(wanted);
        assert!(pictures.iter().any(|path| named(&path)), "{wanted}");
    }
    for path in pictures {
        let file = std::io::BufReader::new(std::fs::File::open(path).unwrap());
        let mut reader = png::Decoder::new(file).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut pixels).unwrap();
        let pixels = &pixels[..frame.buffer_size()];
        assert!(frame.width >= 960);
        let dark = pixels.iter().filter(|value| **value < 128).count();
        assert!(dark > pixels.len() / 1000, "{}: empty", path.display());
    }
    for path in drawings {
        let drawing = std::fs::read_to_string(path).unwrap();
        assert!(drawing.contains("<svg") && drawing.contains("</svg>"));
        assert!(drawing.contains("Invented"), "{}", path.display());
    }
}

#[test]
fn what_is_printed_is_short_and_its_commands_work() {
    let shown = shown();
    let printed = &shown.output;
    assert!(printed.starts_with("Invented data"));
    assert!(printed.contains("does not treat, diagnose or decide"));
    assert!(printed.lines().count() <= 45, "{}", printed.lines().count());
    assert!(printed.lines().all(|line| line.chars().count() <= 160));
    let commands: Vec<Vec<&str>> = printed
        .lines()
        .skip_while(|line| *line != "Try next")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .map(|line| line.split_whitespace().skip(1).collect())
        .collect();
    assert!(commands.len() >= 3, "{printed}");
    for command in commands {
        let run = program(&command, shown.folder.path());
        assert!(run.status.success(), "{command:?}: {}", text(&run.stderr));
        assert!(!run.stdout.is_empty(), "{command:?}");
    }
}

#[test]
fn the_pages_that_are_named_open() {
    let shown = shown();
    let pages: Vec<Vec<&str>> = (shown.output.lines())
        .skip_while(|line| !line.starts_with("On a page"))
        .skip(1)
        .map(|line| line.split_whitespace().skip(1).collect())
        .collect();
    assert_eq!(pages.len(), 2, "{}", shown.output);
    for page in pages {
        let mut running = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
            .args(&page)
            .arg("--no-browser")
            .current_dir(shown.folder.path())
            .stdout(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let out = std::io::BufReader::new(running.stdout.take().unwrap());
        let address = std::io::BufRead::lines(out)
            .map_while(Result::ok)
            .find(|line| line.contains("http://127.0.0.1:"));
        running.kill().unwrap();
        running.wait().unwrap();
        assert!(address.is_some(), "{page:?}");
    }
}

#[test]
fn running_twice_gives_the_same_recordings_and_leaves_other_files_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("a b");
    let run = || program(&["demo", "--out", "a b"], folder.path());
    let first = run();
    assert!(first.status.success(), "{}", text(&first.stderr));
    let own = out.join("store").join("P-0042").join("my-notes.txt");
    std::fs::write(&own, "mine").unwrap();
    let contents = |out: &Path| -> BTreeMap<PathBuf, Vec<u8>> {
        let kept = |path: &PathBuf| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            name.ends_with(".csv") || name == "session.json" || name.ends_with(".svg")
        };
        let files = files(out).into_iter().filter(kept);
        files
            .map(|path| (path.clone(), std::fs::read(path).unwrap()))
            .collect()
    };
    let before = contents(&out);
    let second = run();
    assert!(second.status.success(), "{}", text(&second.stderr));
    assert!(before == contents(&out), "the second run differs");
    assert_eq!(std::fs::read_to_string(own).unwrap(), "mine");
    assert_eq!(first.stdout, second.stdout);
}

#[test]
fn a_file_in_the_way_is_left_as_it_is_and_named() {
    for name in ["README.txt", "demo.json", "report.html"] {
        let folder = tempfile::tempdir().unwrap();
        let own = folder.path().join(name);
        std::fs::write(&own, "mine").unwrap();
        let run = program(&["demo", "--out", "."], folder.path());
        assert_eq!(run.status.code(), Some(1), "{name}");
        assert!(text(&run.stderr).contains(name), "{}", text(&run.stderr));
        assert!(text(&run.stderr).contains("--out"), "{}", text(&run.stderr));
        assert!(run.stdout.is_empty());
        assert_eq!(std::fs::read_to_string(&own).unwrap(), "mine");
        assert_eq!(files(folder.path()), [own], "nothing else was written");
    }
}
