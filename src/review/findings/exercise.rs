//! What was done and how well it was recorded.

use jiff::civil::Date;

use super::super::change::Judgement;
use super::super::series::SeriesSession;
use super::super::words::{count_of, plural, share_words};
use super::{Looker, NAMED_COUNT};
use crate::movement::{ForearmSupport, MovingPhase};
use crate::pipeline::summary::Summarised;
use crate::reps::Doubt;

/// A share from which hurried and doubted repetitions are named (ours: a quarter).
pub(in crate::review) const NAMED_RATIO: f64 = 0.25;
/// A charge up to which the battery is named, percent (common practice, no source).
pub(in crate::review) const LOW_BATTERY_PERCENT: u8 = 20;
/// Days without a session from which the silence is named (ours: more than a week).
pub(in crate::review) const SILENT_DAYS: i64 = 7;

impl Looker<'_> {
    pub(super) fn ranges(&mut self) {
        let review = self.review;
        for series in &review.series {
            let Some(change) = series
                .change
                .filter(|change| change.judgement == Judgement::BeyondError)
            else {
                continue;
            };
            let name = series.movement.map_or("movement not named", |m| m.title());
            let side = series.side.map_or("", |side| side.name());
            let text = format!(
                "{}, {}: {:.0} to {:.0} degrees, {}, {}.",
                format!("{name} {side}").trim_end(),
                series.load.words(),
                change.first_deg,
                change.last_deg,
                change.words(),
                change.judgement_words()
            );
            let known = series.sessions.iter().filter(|s| s.range.is_some());
            let known: Vec<usize> = known.map(|s| s.session).collect();
            let ends = [known.first(), known.last()];
            self.add("range", text, ends.into_iter().flatten().copied().collect());
        }
    }

    pub(super) fn hurried(&mut self) {
        let review = self.review;
        for series in &review.series {
            let total = series.total;
            let last = series.sessions.iter().rev().find(|s| s.judged_count > 0);
            let Some(last) = last else { continue };
            let beyond = |part: u32, of: u32| f64::from(part) >= NAMED_RATIO * f64::from(of);
            if !beyond(last.hurried_count, last.judged_count)
                && !beyond(total.hurried_count, total.judged_count)
            {
                continue;
            }
            let phase = match last.timed_phase {
                MovingPhase::Lift => "lifts",
                MovingPhase::Lower => "lowerings",
            };
            let name = series.movement.map_or("movement not named", |m| m.title());
            let side = series.side.map_or("", |side| side.name());
            let text = format!(
                "{}, {}: {} {phase} hurried in the last session, {} over the period ({}).",
                format!("{name} {side}").trim_end(),
                series.load.words(),
                count_of(last.hurried_count, Some(last.judged_count)),
                count_of(total.hurried_count, Some(total.judged_count)),
                share_words(total.hurried_count, total.judged_count)
            );
            self.add("tempo", text, vec![last.session]);
        }
    }

    pub(super) fn silences(&mut self) {
        let exercised: Vec<(usize, Date)> = self
            .rows()
            .filter(|(_, row)| row.set_count > 0)
            .map(|(index, row)| (index, row.date))
            .collect();
        let mut entries = Vec::new();
        for ((index, before), (_, after)) in exercised.iter().zip(exercised.iter().skip(1)) {
            let days = after.duration_since(*before).as_hours() / 24;
            if days > SILENT_DAYS {
                entries.push((*index, format!("{} without, after", days - 1)));
            }
        }
        if let (Some(on), Some((index, last))) = (self.review.on, exercised.last()) {
            let days = on.duration_since(*last).as_hours() / 24;
            if days > SILENT_DAYS {
                let last = self.day(*last);
                let text = format!("No session for {days} days, since {last}.");
                self.add("silence", text, vec![*index]);
            }
        }
        if entries.is_empty() {
            return;
        }
        let words: Vec<String> = entries
            .iter()
            .rev()
            .take(NAMED_COUNT)
            .filter_map(|(index, words)| {
                let date = self.review.sessions.get(*index)?.date;
                Some(format!("{words} {}", self.day(date)))
            })
            .collect();
        let more = entries.len().saturating_sub(NAMED_COUNT);
        let more = if more > 0 {
            format!("; {more} earlier")
        } else {
            String::new()
        };
        let text = format!(
            "Days in a row without a session: {}{more}.",
            words.join("; ")
        );
        self.add(
            "silence",
            text,
            entries.iter().map(|(index, _)| *index).collect(),
        );
    }

    pub(super) fn without_repetitions(&mut self) {
        let sessions: Vec<usize> = self
            .rows()
            .filter(|(_, row)| row.set_count > 0 && row.done_count == 0)
            .map(|(index, _)| index)
            .collect();
        if !sessions.is_empty() {
            let count = plural(sessions.len(), "session");
            let text = format!("Sets begun and no repetition counted in {count}.");
            self.add("repetitions", text, sessions);
        }
    }

    pub(super) fn doubts(&mut self) {
        let entries = self
            .rows()
            .filter(|(_, row)| {
                row.done_count > 0
                    && f64::from(row.doubtful_count) >= NAMED_RATIO * f64::from(row.done_count)
            })
            .map(|(index, row)| {
                let words = count_of(row.doubtful_count, Some(row.done_count));
                (index, words)
            })
            .collect();
        self.list(
            "doubts",
            "A quarter or more of the repetitions in doubt in {}",
            entries,
        );
    }

    /// Sets in which the sensor was worn strangely, and what becomes of them.
    pub(super) fn wear(&mut self) {
        let mut kept = Vec::new();
        let mut left_out = Vec::new();
        for (index, session) in self.sessions.iter().enumerate() {
            for set in &session.summary.analysis.sets {
                let entries = if set.ranges_count() {
                    &mut kept
                } else {
                    &mut left_out
                };
                let name = set.movement.map_or("movement not named", |m| m.title());
                for finding in &set.wear {
                    entries.push((index, format!("{name}: {}", finding.words())));
                }
            }
        }
        self.list(
            "wear",
            "Sensor worn strangely in {}, ranges of these sets left out of trends",
            left_out,
        );
        self.list(
            "wear",
            "Sensor worn strangely in {}, angles stand all the same",
            kept,
        );
    }

    /// A forearm that helped: a fault where it was to lie still, else a description.
    pub(super) fn forearm(&mut self) {
        let review = self.review;
        for series in &review.series {
            let helped = |session: &SeriesSession| {
                let name = Doubt::ForearmMoved.name();
                session.doubts.get(name).copied().unwrap_or(0)
            };
            let total: u32 = series.sessions.iter().map(helped).sum();
            let Some(last) = series.sessions.iter().rfind(|session| helped(session) > 0) else {
                continue;
            };
            let rests = series
                .posture
                .is_some_and(|posture| posture.forearm == ForearmSupport::Rested);
            let what = if rests {
                "the forearm moved, though it was to lie still,"
            } else {
                "the forearm helped"
            };
            let name = series.movement.map_or("movement not named", |m| m.title());
            let side = series.side.map_or("", |side| side.name());
            let text = format!(
                "{}, {}: {what} in {} repetitions over the period; their range is not counted.",
                format!("{name} {side}").trim_end(),
                series.load.words(),
                count_of(total, Some(series.total.done_count)),
            );
            self.add("forearm", text, vec![last.session]);
        }
    }

    pub(super) fn sensor(&mut self) {
        let mut entries = Vec::new();
        for (index, row) in self.rows() {
            let sensor = row.sensor;
            if sensor.link_lost_count > 0 {
                let times = plural(sensor.link_lost_count as usize, "time");
                entries.push((index, format!("link lost {times}")));
            }
            if let Some(percent) = sensor
                .lowest_battery_percent
                .filter(|percent| *percent <= LOW_BATTERY_PERCENT)
            {
                entries.push((index, format!("battery {percent} %")));
            }
        }
        self.list("sensor", "Sensor trouble in {}", entries);
    }

    pub(super) fn routine_changes(&mut self) {
        let routines: Vec<(usize, &Summarised)> = self
            .sessions
            .iter()
            .enumerate()
            .filter(|(_, session)| session.summary.routine.is_some())
            .map(|(index, session)| (index, *session))
            .collect();
        let changed: Vec<usize> = routines
            .iter()
            .zip(routines.iter().skip(1))
            .filter(|((_, a), (_, b))| a.summary.routine != b.summary.routine)
            .map(|(_, (index, _))| *index)
            .collect();
        let days: Vec<String> = changed
            .iter()
            .filter_map(|index| Some(self.day(self.review.sessions.get(*index)?.date)))
            .collect();
        if !changed.is_empty() {
            let text = format!("The routine changed: {}.", days.join(", "));
            self.add("routine", text, changed);
        }
    }
}
