//! The verdict for a person.

use std::fmt::Write;

use super::Heard;
use crate::source::radio::Near;
use crate::source::unit::check::{Mark, Row, Verdict};
use crate::source::unit::profile::Description;

const WIDTH: usize = 76;

pub(super) fn text(
    unit: &Near,
    verdict: &Verdict,
    description: &Description,
    heard: &Heard,
) -> String {
    let mut text = format!("{}: {}\n\n", unit.shown_name(), verdict.words);
    let width = verdict.rows.iter().map(|row| row.name.len()).max();
    // Writing to a string cannot fail.
    let _written = writeln!(
        text,
        "  {:<8} {:<width$}  {}",
        "",
        "set to be worn on",
        unit.set_to.name(),
        width = width.unwrap_or(0)
    );
    let mut said = "";
    for row in &verdict.rows {
        let figure = match row.key {
            "description" => format!(
                "{} Hz, ±{} g, ±{} deg/s",
                description.rate_hz(),
                description.accel_range_g,
                description.gyro_range_deg_s
            ),
            "firmware" => heard.firmware.clone().unwrap_or_default(),
            _ => figure(row),
        };
        let line = format!(
            "  {:<8} {:<width$}  {figure}",
            marked(row.mark),
            row.name,
            width = width.unwrap_or(0)
        );
        let _written = writeln!(text, "{}", line.trim_end());
        // Several rows in turn may say the same.
        let words = if row.mark == Mark::Ok { "" } else { &row.words };
        if words != said {
            for line in wrapped(words) {
                let _written = writeln!(text, "           {line}");
            }
        }
        said = words;
    }
    if heard.lost_count > 0 {
        let _written = writeln!(
            text,
            "\nThe link broke {} while checking: bring the sensor closer.",
            match heard.lost_count {
                1 => "once".to_owned(),
                times => format!("{times} times"),
            }
        );
    }
    text
}

fn marked(mark: Mark) -> &'static str {
    match mark {
        Mark::Ok => "good",
        Mark::Unknown => "unknown",
        Mark::Look => "look",
        Mark::Bad => "bad",
    }
}

fn figure(row: &Row) -> String {
    let Some(value) = row.figure else {
        return String::new();
    };
    let unit = match row.unit {
        "" => String::new(),
        unit => format!(" {unit}"),
    };
    match row.error {
        Some(error) => format!("{} ± {}{unit}", short(value), short(error)),
        None => format!("{}{unit}", short(value)),
    }
}

/// Three digits, or all those before the point and one behind it.
fn short(value: f64) -> String {
    let size = value.abs();
    if size < 5e-7 {
        return "0".to_owned();
    }
    if value == value.round() && size < 1e6 {
        return format!("{value:.0}");
    }
    let decimals = (2.0 - size.log10().floor()).clamp(1.0, 6.0) as usize;
    format!("{value:.decimals$}")
}

fn wrapped(words: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= WIDTH => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_three_or_four_digits() {
        let shown = [200.04, 12.34, 1.234, 0.00617, 1e-9, -0.5, 3.0].map(short);
        let expected = ["200.0", "12.3", "1.23", "0.00617", "0", "-0.500", "3"];
        assert_eq!(shown, expected);
    }

    #[test]
    fn long_words_are_wrapped_between_words() {
        let lines = wrapped(&"word ".repeat(40));
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|line| line.len() <= WIDTH));
        assert_eq!(lines.join(" "), "word ".repeat(40).trim());
    }
}
