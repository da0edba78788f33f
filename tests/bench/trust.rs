//! Prints how far the angle can be believed: two sensors, a helping elbow, stated errors, strange wear.
//!
//! `cargo bench --bench trust -- [NAME...] [--sets N] [--seed S]`

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark prints, and stops at the first surprise"
)]

#[path = "trust/elbow.rs"]
mod elbow;
#[path = "../common/helped.rs"]
mod helped;
#[path = "../common/simulated.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod sets;
#[path = "trust/stated.rs"]
mod stated;
#[path = "../common/strange.rs"]
mod strange;
#[path = "trust/two.rs"]
mod two;
#[path = "trust/wear.rs"]
mod wear;

/// What the command line asked for.
pub struct Options {
    /// Seed of the first set.
    pub seed: u64,
    /// Sets for each row; `None` is what the part asks for.
    pub sets: Option<usize>,
    /// Print each set that is off.
    pub verbose: bool,
}

fn main() {
    let mut options = Options {
        seed: std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .unwrap()
            .as_secs(),
        sets: None,
        verbose: false,
    };
    let mut names = Vec::new();
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--bench" => {}
            "--verbose" => options.verbose = true,
            "--seed" => options.seed = arguments.next().unwrap().parse().unwrap(),
            "--sets" => options.sets = Some(arguments.next().unwrap().parse().unwrap()),
            name => names.push(name.to_string()),
        }
    }
    println!("seed {}", options.seed);
    let asked = |name: &str| names.is_empty() || names.iter().any(|n| n == name);
    if asked("two") {
        two::run(&options);
    }
    if asked("elbow") {
        elbow::run(&options);
    }
    if asked("stated") {
        stated::run(&options);
    }
    if asked("wear") {
        wear::run(&options);
    }
}
