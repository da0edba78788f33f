//! `carpotempo routine check`.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::Args;

use super::super::exit::say;
use super::read;
use crate::routine::{Duration, Routine};
use crate::session::readback::{ItemWords, read_back};

/// Arguments.
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// The routine, a TOML file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The routine that it takes the place of: great steps of load are remarked on
    #[arg(long, value_name = "FILE")]
    previous: Option<PathBuf>,
}

/// Runs the command.
pub fn run(arguments: &CheckArguments) -> anyhow::Result<()> {
    let routine = read(&arguments.file)?;
    let previous = arguments.previous.as_deref().map(read).transpose()?;
    let today = jiff::ZonedDateTime::now().date();
    let mut text = format!("{}\n", routine.title);
    let words = read_back(&routine, today);
    for sentence in &words.course {
        let _infallible = writeln!(text, "  {sentence}");
    }
    let _infallible = writeln!(text, "  {}", in_it(&routine.duration()));
    text.push_str("\nIn the patient's words:\n");
    for (number, item) in (1..).zip(&words.items) {
        let _infallible = writeln!(text, "  {number:>2}  {}", item_line(item));
    }
    for limit in &words.limits {
        let _infallible = writeln!(text, "      {limit}");
    }
    text.push_str(&remarks(&routine, previous.as_ref(), today));
    say(&text)
}

fn in_it(duration: &Duration) -> String {
    let guessed = if duration.guessed {
        " (some repetitions have no tempo and are guessed at 4 s)"
    } else {
        ""
    };
    format!(
        "Of it {:.0} minutes of work{guessed}; weight changes: {}; strap changes: {}.",
        duration.work_s / 60.0,
        duration.weight_changes,
        duration.strap_changes
    )
}

fn item_line(item: &ItemWords) -> String {
    let mut line = item.title.clone();
    line.extend(item.hand.map(|hand| format!(", {hand}")));
    for part in [
        Some(&item.dose),
        item.load.as_ref(),
        item.tempo.as_ref(),
        item.reach.as_ref(),
        item.rest.as_ref(),
    ]
    .into_iter()
    .flatten()
    {
        line.push_str("; ");
        line.push_str(part);
    }
    line.push('.');
    line
}

fn remarks(routine: &Routine, previous: Option<&Routine>, today: jiff::civil::Date) -> String {
    let remarks = routine.remarks(previous, today);
    if remarks.is_empty() {
        return "\nNothing to remark.\n".to_owned();
    }
    let mut text = String::from("\nTo look at once more (nothing is changed):\n");
    for remark in &remarks {
        let whose = match remark.item {
            Some(number) => format!("item {number}: "),
            None => String::new(),
        };
        let _infallible = writeln!(text, "  - {whose}{}", remark.words);
    }
    text
}
