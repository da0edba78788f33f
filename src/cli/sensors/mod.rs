//! `carpotempo sensors`.

mod check;
mod list;
mod places;

use std::time::Duration;

use clap::Args;

/// Arguments.
#[derive(Debug, Args)]
pub struct SensorsArguments {
    /// Check a sensor, or two at once: lay them down, get a verdict on each; by name or address, else
    /// those that are near
    #[arg(long, value_name = "NAME", num_args = 0..=2)]
    check: Option<Vec<String>>,
    /// How long to listen, or to check [default: 5 to listen, 15 to check]
    #[arg(long = "for", value_name = "SECONDS", value_parser = seconds)]
    time: Option<Duration>,
    /// Print one JSON object on standard output and nothing else
    #[arg(long)]
    json: bool,
}

/// Runs the command.
pub fn run(arguments: &SensorsArguments) -> anyhow::Result<()> {
    match &arguments.check {
        Some(names) => check::run(names, arguments.time, arguments.json),
        None => list::run(arguments.time, arguments.json),
    }
}

fn seconds(text: &str) -> Result<Duration, String> {
    text.parse()
        .ok()
        .filter(|time_s| (0.5..=3600.0).contains(time_s))
        .map(Duration::from_secs_f64)
        .ok_or_else(|| "expected seconds, from 0.5 to 3600".to_owned())
}

/// A name as a shell takes it.
fn quoted(name: &str) -> String {
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || "-_.:".contains(letter);
    if !name.is_empty() && name.chars().all(is_plain) {
        name.to_owned()
    } else {
        format!("'{}'", name.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_with_a_space_or_a_quote_is_one_word_to_a_shell() {
        assert_eq!(quoted("carpo-1"), "carpo-1");
        assert_eq!(quoted("left hand"), "'left hand'");
        assert_eq!(quoted("Ann's"), r"'Ann'\''s'");
    }

    #[test]
    fn times_are_seconds_that_can_be_waited_for() {
        assert_eq!(seconds("2.5"), Ok(Duration::from_millis(2500)));
        for wrong in ["0", "-1", "NaN", "inf", "", "5s", "1e9"] {
            assert!(seconds(wrong).is_err(), "{wrong}");
        }
    }
}
