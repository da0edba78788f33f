//! Repetitions a second into Parquet, and the memory that it takes, with the feature `parquet`.

use std::process::Command;
use std::time::Instant;

use carpotempo::export::{PARQUET_FILE, RepetitionFile};
use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::summary::{SessionSummary, Summarised};
use carpotempo::recording::Store;
use carpotempo::review::quantile;
use carpotempo::source::simulator::random::Random;
use jiff::ToSpan;
use jiff::civil::date;

use crate::cost::peak_bytes;
use crate::invented;

/// Twelve sets of twelve repetitions, each number with all its digits.
fn session(day: usize, random: &mut Random) -> SessionSummary {
    let start = date(2025, 1, 6).checked_add((day as i64).days()).unwrap();
    let mut sets = Vec::new();
    for nth in 0..12 {
        let side = [Side::Left, Side::Right][nth % 2];
        let movement = Movement::ALL[nth % 4];
        let reps: Vec<(f64, f64)> = (0..12)
            .map(|_| (random.between(30.0, 60.0), random.between(2.0, 5.0)))
            .collect();
        let mut set = invented::set(movement, side, Some(0.5), &reps);
        for rep in &mut set.reps {
            rep.lift_start_s += random.between(0.0, 0.1);
            rep.lift_sparc_ratio = Some(random.between(-3.0, -1.0));
            rep.lower_sparc_ratio = Some(random.between(-3.0, -1.0));
            rep.lift_ldlj_ratio = Some(random.between(-8.0, -4.0));
            rep.lower_ldlj_ratio = Some(random.between(-8.0, -4.0));
        }
        sets.push(set);
    }
    invented::session(invented::at(start, 18, 1), sets)
}

pub fn run(seed: u64) {
    let mut random = Random::new(seed);
    let folder = tempfile::tempdir().unwrap();
    let sessions: Vec<SessionSummary> = (0..60).map(|day| session(day, &mut random)).collect();
    table(&sessions, &folder.path().join(PARQUET_FILE));
    for patients in [10, 40] {
        let store = Store::at(folder.path().join(format!("store-{patients}")));
        for nth in 0..patients {
            invented::store_summaries(&store, &format!("h{nth}"), &sessions);
        }
        whole(&store, folder.path(), patients * sessions.len() * 144);
    }
}

/// The table alone, from summaries in memory.
fn table(sessions: &[SessionSummary], path: &std::path::Path) {
    let all: Vec<Summarised> = invented::summaries(sessions.to_vec()).sessions;
    let mut times_s = Vec::new();
    let mut count = 0;
    for _ in 0..5 {
        let began = Instant::now();
        let file = std::fs::File::create(path).unwrap();
        let patient = invented::patient("h1");
        let mut table = RepetitionFile::begin(path.to_owned(), file, &patient).unwrap();
        count = 0;
        for _ in 0..60 {
            count += table.sessions(&all).unwrap();
        }
        table.finish().unwrap();
        times_s.push(began.elapsed().as_secs_f64());
    }
    let time_s = quantile(&times_s, 0.5).unwrap();
    println!(
        "Parquet from summaries in memory: {count} repetitions in {time_s:.2} s, {:.0} a second (goal 200000), {:.0} bytes each",
        count as f64 / time_s,
        std::fs::metadata(path).unwrap().len() as f64 / count as f64
    );
}

/// The whole command over a cohort.
fn whole(store: &Store, folder: &std::path::Path, count: usize) {
    let root = store.root().to_str().unwrap();
    let out = |nth: usize| {
        let name = store.root().file_name().unwrap().to_str().unwrap();
        folder.join(format!("out-{name}-{nth}"))
    };
    let times_s: Vec<f64> = (0..3)
        .map(|nth| {
            let began = Instant::now();
            let status = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
                .args([
                    "export", "--all", "--to", "parquet", "--store", root, "--out",
                ])
                .arg(out(nth))
                .stdout(std::process::Stdio::null())
                .status()
                .unwrap();
            assert!(status.success());
            began.elapsed().as_secs_f64()
        })
        .collect();
    let time_s = quantile(&times_s, 0.5).unwrap();
    let last = out(3);
    let last = last.to_str().unwrap();
    let peak = peak_bytes(&[
        "export", "--all", "--to", "parquet", "--store", root, "--out", last,
    ]);
    println!(
        "export --all --to parquet, the whole command with reading the summaries: {count} repetitions in {time_s:.2} s, {:.0} a second; peak memory {:.0} MB",
        count as f64 / time_s,
        peak as f64 / 1e6
    );
}
