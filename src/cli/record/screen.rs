//! What is seen while recording: on a terminal prompts above one line that changes, else plain
//! lines, one for each thing that happens.

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use crate::movement::{Movement, MovingPhase};
use crate::pipeline::SetSpec;
use crate::recording::{SensorInfo, SetStart};
use crate::reps::Repetition;
use crate::routine::{Tempo, TempoBand, Verdict};
use crate::sample::Place;
use crate::session::{QuickSet, Say, Stage};
use crate::sitting::{Now, Shown};

/// Time between two pictures of the line.
const REDRAW: Duration = Duration::from_millis(60);
/// Degrees that one mark of the bar stands for.
const BAR_DEG: f64 = 4.0;
/// Without a line that changes, a silence is told again after this long, seconds.
const SILENCE_EVERY_S: f64 = 10.0;

/// The screen: standard error, so that standard output holds the result alone.
pub struct Screen {
    out: console::Term,
    is_terminal: bool,
    drawn: Option<Instant>,
    target: Option<u32>,
    tempo: Option<Tempo>,
    /// The phase that the tempo's first number is held against.
    eccentric: Option<MovingPhase>,
    circles: bool,
    last: Option<Repetition>,
    trouble: bool,
    silence_told_s: Option<f64>,
}

impl Screen {
    /// A screen for a set.
    pub fn new(set: &SetStart) -> Screen {
        Screen {
            out: console::Term::stderr(),
            is_terminal: std::io::stderr().is_terminal(),
            drawn: None,
            target: set.target_reps,
            tempo: set.tempo,
            eccentric: SetSpec::announced(0.0, set, TempoBand::default()).eccentric(),
            circles: set.movement == Some(Movement::ArmCircles),
            last: None,
            trouble: false,
            silence_told_s: None,
        }
    }

    /// Shows something. A screen that is gone ends nothing.
    pub fn show(&mut self, shown: &Shown<'_, QuickSet>) {
        match shown {
            Shown::Say(say) => {
                if let Say::Counted { repetition, .. } = say {
                    self.last = Some((**repetition).clone());
                }
                self.line(&say.words());
            }
            Shown::Connected(info) => self.line(&connected(info)),
            Shown::Now(now) => self.now(now),
            Shown::Trouble(words) => {
                self.trouble = true;
                self.line(&format!(
                    "Warning: {words}. The count goes on; what cannot be written waits and is tried again."
                ));
            }
            Shown::TroubleOver => {
                self.trouble = false;
                self.line("Everything is written again; nothing was lost.");
            }
            Shown::UnitGone(words) | Shown::SourceEnded(words) => self.line(&format!("{words}.")),
        }
    }

    /// A line that stays.
    pub fn line(&mut self, words: &str) {
        self.clear();
        if self.is_terminal {
            let (_, columns) = self.out.size();
            for line in wrapped(words, usize::from(columns).saturating_sub(1)) {
                let _ = writeln!(self.out, "{line}");
            }
        } else {
            let _ = writeln!(self.out, "{words}");
        }
        self.drawn = None;
    }

    /// Takes the line that changes away.
    pub fn clear(&mut self) {
        if self.is_terminal && self.drawn.is_some() {
            let _ = write!(self.out, "\r\x1b[K");
        }
    }

    fn now(&mut self, now: &Now<'_, QuickSet>) {
        if !self.is_terminal {
            return self.silence(now);
        }
        if self.drawn.is_some_and(|drawn| drawn.elapsed() < REDRAW)
            || now.machine.stage() == Stage::Over
        {
            return;
        }
        self.drawn = Some(Instant::now());
        let (_, columns) = self.out.size();
        let text = self.words(now);
        let text = console::truncate_str(&text, usize::from(columns).saturating_sub(1), "");
        let _ = write!(self.out, "\r\x1b[K{text}");
        let _ = self.out.flush();
    }

    /// Without a line that changes.
    fn silence(&mut self, now: &Now<'_, QuickSet>) {
        match (now.silent_s, self.silence_told_s) {
            (None, _) => self.silence_told_s = None,
            (Some(silent_s), told_s) => {
                if told_s.is_none_or(|told_s| silent_s - told_s >= SILENCE_EVERY_S) {
                    self.silence_told_s = Some(silent_s);
                    self.line(&silent(silent_s));
                }
            }
        }
    }

    fn words(&self, now: &Now<'_, QuickSet>) -> String {
        let mut text = format!("{:6.1} s  ", now.now_s);
        if let Some(silent_s) = now.silent_s {
            text.push_str(&silent(silent_s));
        } else {
            match now.machine.stage() {
                Stage::Waiting => text.push_str("waiting for samples"),
                Stage::HoldStill => text.push_str(match &now.step {
                    Some(step) if step.still => "hold still: still",
                    _ => "hold still: moving",
                }),
                Stage::Move => text.push_str("the movement, out and back"),
                Stage::Set | Stage::Over => self.set(now, &mut text),
            }
        }
        if self.trouble {
            text.push_str("  NOT WRITTEN");
        }
        text
    }

    fn set(&self, now: &Now<'_, QuickSet>, text: &mut String) {
        let Some(step) = &now.step else {
            return;
        };
        if self.circles {
            return text.push_str("circling; counted when the set has ended");
        }
        let of = self
            .target
            .map_or(String::new(), |target| format!(" of {target}"));
        text.push_str(&format!("{:3}{of} done", step.reps_count));
        match step.measured_deg {
            Some(measured_deg) => {
                text.push_str(&format!(
                    "  {:<5} {:4.0} deg",
                    step.phase.name(),
                    measured_deg
                ));
            }
            None => text.push_str("  waiting for the movement"),
        }
        if let Some(last) = &self.last {
            text.push_str("  ");
            text.push_str(&self.timed(last));
        }
        if let Some(measured_deg) = step.measured_deg {
            let marks = (measured_deg.max(0.0) / BAR_DEG).round().min(45.0) as usize;
            text.push_str("  ");
            text.push_str(&"=".repeat(marks));
        }
    }

    /// The last repetition's timed phase against the tempo.
    fn timed(&self, last: &Repetition) -> String {
        let (word, time_s) = match self.eccentric {
            Some(MovingPhase::Lift) => ("out in", last.lift_s()),
            Some(MovingPhase::Lower) | None => ("lowered in", last.lower_s()),
        };
        let asked = self
            .tempo
            .filter(|_| self.eccentric.is_some())
            .and_then(|tempo| tempo.lower_s.seconds())
            .map_or(String::new(), |asked_s| format!(" of {asked_s} s"));
        let verdict = last.verdict.map_or(String::new(), |verdict: Verdict| {
            format!(", {}", verdict.name())
        });
        format!("{word} {time_s:.1} s{asked}{verdict}")
    }
}

/// Lines of at most that many columns, broken between words; what a table aligns stays aligned.
fn wrapped(words: &str, columns: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for own in words.lines() {
        let mut line = String::new();
        for (index, word) in own.split(' ').enumerate() {
            let longer = console::measure_text_width(&line) + 1 + console::measure_text_width(word);
            if longer > columns && !line.trim().is_empty() {
                lines.push(std::mem::take(&mut line));
            } else if index > 0 {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    lines
}

fn silent(silent_s: f64) -> String {
    format!("no samples since {silent_s:.0} s")
}

fn connected(info: &SensorInfo) -> String {
    let name = info.name.as_deref().unwrap_or("a sensor without a name");
    let rate = info.rate_hz.map_or(String::new(), |rate_hz| {
        format!(", {rate_hz} samples a second")
    });
    let place = match info.place {
        Some(Place::Forearm) => " on the forearm",
        Some(Place::Hand) | None => "",
    };
    format!("Connected{place}: {name}{rate}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_keep_what_is_aligned() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("  1  range 5", 40), ["  1  range 5"]);
        assert_eq!(wrapped("a\nb", 40), ["a", "b"]);
        assert_eq!(wrapped("incomprehensibility", 4), ["incomprehensibility"]);
    }
}
