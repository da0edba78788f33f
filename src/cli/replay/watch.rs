//! A recording that passes before one's eyes, at its own speed or another.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use crate::pipeline::live::{Live, News, Step};
use crate::recording::Recording;
use crate::reps::Repetition;
use crate::routine::Verdict;
use crate::sample::Place;

/// Time between two pictures of the line, seconds.
const REDRAW_S: f64 = 0.05;
/// Degrees that one mark of the bar stands for.
const BAR_DEG: f64 = 4.0;

/// Plays a recording through the live pipeline at `speed` times its own speed. What is seen goes
/// to standard error, so that standard output stays clean for the result.
///
/// # Errors
/// Those of writing to the terminal.
pub fn watch(
    recording: &Recording,
    mut live: Live,
    speed: f64,
    quiet: bool,
) -> std::io::Result<()> {
    let Some(first) = recording.hand.first() else {
        return Ok(());
    };
    for event in &recording.events {
        live.event(event.clone());
    }
    let mut out = std::io::stderr().lock();
    let is_terminal = out.is_terminal() && !quiet;
    let began = Instant::now();
    let mut drawn_s = f64::NEG_INFINITY;
    for (place, sample) in recording.in_order() {
        if place == Place::Forearm {
            live.forearm_sample(sample);
            continue;
        }
        let due = Duration::try_from_secs_f64((sample.t_s - first.t_s) / speed).unwrap_or_default();
        let ahead = due.saturating_sub(began.elapsed());
        if ahead > Duration::from_millis(2) {
            std::thread::sleep(ahead);
        }
        let step = live.sample(sample);
        for news in &step.news {
            if let Some(line) = told(news) {
                if is_terminal {
                    write!(out, "\r\x1b[K")?;
                }
                writeln!(out, "{line}")?;
            }
        }
        let passed_s = (step.t_s - drawn_s) / speed;
        if is_terminal && passed_s >= REDRAW_S {
            drawn_s = step.t_s;
            write!(out, "\r\x1b[K{}", line(&step))?;
            out.flush()?;
        }
    }
    if is_terminal {
        write!(out, "\r\x1b[K")?;
    }
    Ok(())
}

fn line(step: &Step) -> String {
    let Some(measured_deg) = step.measured_deg else {
        return format!("{:7.1} s  waiting for the movement", step.t_s);
    };
    let marks = (measured_deg.max(0.0) / BAR_DEG).round().min(45.0) as usize;
    format!(
        "{:7.1} s  {:3} done  {:<5}  {:4.0} deg  {}",
        step.t_s,
        step.reps_count,
        step.phase.name(),
        measured_deg,
        "=".repeat(marks)
    )
}

fn told(news: &News) -> Option<String> {
    Some(match news {
        News::Aligned(alignment) => {
            format!(
                "calibrated; the movement travelled {:.0} deg",
                alignment.travel_deg
            )
        }
        News::Refused(why) => format!("calibration refused: {why}"),
        News::SetBegan => "set begins".to_owned(),
        News::Counted(number, repetition) => counted(*number, repetition),
        News::Worn(finding) => format!("worn strangely: {}", finding.words()),
        News::SetEnded(result) => format!("set ends: {} repetitions", result.reps.len()),
    })
}

fn counted(number: usize, repetition: &Repetition) -> String {
    let verdict = repetition
        .verdict
        .map_or(String::new(), |verdict: Verdict| {
            format!(", {}", verdict.name())
        });
    format!(
        "{number:4}  range {:.0} deg, lift {:.2} s, hold {:.2} s, lower {:.2} s{verdict}",
        repetition.range_deg,
        repetition.lift_s(),
        repetition.hold_s(),
        repetition.lower_s()
    )
}
