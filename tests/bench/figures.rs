//! Prints the figures of the README: accuracy, speed and memory.
//!
//! `cargo bench --bench figures -- [NAME...] [--sets N] [--seed S]`

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark prints, and stops at the first surprise"
)]

#[path = "../common/acted.rs"]
mod acted;
#[path = "../common/browser/mod.rs"]
mod browser;
mod by_eye;
mod caseload;
mod cost;
#[path = "../guided/drive.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod drive;
#[cfg(feature = "parquet")]
mod export;
#[path = "../review/invented.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod invented;
mod latency;
#[path = "../common/led.rs"]
mod led;
mod open;
#[path = "../common/outcome.rs"]
mod outcome;
mod recording;
mod session;
#[path = "../common/simulated.rs"]
mod sets;
mod simulated;

/// See `led`.
const PROGRAMS_AT_ONCE: usize = 1;

/// What the command line asked for.
pub struct Options {
    /// Seed of the first set.
    pub seed: u64,
    /// Sets for each row.
    pub sets: usize,
    /// Print each set that is off.
    pub verbose: bool,
    /// Only this difficulty.
    pub only: Option<String>,
}

fn main() {
    let mut options = Options {
        seed: std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .unwrap()
            .as_secs(),
        sets: 60,
        verbose: false,
        only: None,
    };
    let mut names = Vec::new();
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--bench" => {}
            "--only" => options.only = arguments.next(),
            "--verbose" => options.verbose = true,
            "--seed" => options.seed = arguments.next().unwrap().parse().unwrap(),
            "--sets" => options.sets = arguments.next().unwrap().parse().unwrap(),
            name => names.push(name.to_string()),
        }
    }
    println!("seed {}", options.seed);
    let asked = |name: &str| names.is_empty() || names.iter().any(|n| n == name);
    if asked("simulated") {
        simulated::run(&options);
    }
    if asked("replay") {
        cost::replay(options.seed);
        cost::parts(options.seed);
    }
    if asked("live") {
        cost::live(options.seed);
    }
    if asked("recording") {
        recording::run(options.seed);
    }
    if asked("session") {
        session::run(&options);
    }
    if asked("latency") {
        latency::run();
    }
    #[cfg(feature = "parquet")]
    if asked("export") {
        export::run(options.seed);
    }
    if asked("caseload") {
        caseload::run();
    }
    if asked("open") {
        open::run(&options);
    }
}
