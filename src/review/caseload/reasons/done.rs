//! What was done, and how well it was recorded.

use jiff::civil::Date;

use super::super::WINDOW_DAYS;
use super::{Found, Reason, day};
use crate::pipeline::summary::NamedBrief;
use crate::review::findings::{LOW_BATTERY_PERCENT, NAMED_RATIO, SILENT_DAYS};
use crate::review::words::{count_of, date_words, plural, share_words};

/// Fewer sessions than this share of those asked for are named (ours: half, since up to half of a
/// home programme is commonly not done: Argent et al. 2018).
const FEW_RATIO: f64 = 0.5;

impl Found<'_> {
    pub(super) fn range(&mut self) {
        for found in &self.line.range.beyond {
            let change = found.change;
            let side = found.side.map_or("hand not named", |side| side.name());
            let name = found.movement.title().to_lowercase();
            let more = change.change_deg > 0.0;
            let text = format!(
                "{}, {side}, {}: {:.0} to {:.0} degrees, {}, {}.",
                found.movement.title(),
                found.load.words(),
                change.first_deg,
                change.last_deg,
                change.words(),
                change.judgement_words()
            );
            let way = if more { "more" } else { "less" };
            let short = format!(
                "{way} range, {name} {side}: {:.0} to {:.0}",
                change.first_deg, change.last_deg
            );
            self.reasons.push(Reason {
                about: "range",
                short,
                text,
                names: found.names.to_vec(),
                rank: if more { 10 } else { 3 },
            });
        }
    }

    pub(super) fn sessions(&mut self) {
        let line = self.line;
        let asked = line.asked_count;
        let Some(last) = line.last_session else {
            if line.missing_count + line.stale_count == 0 {
                let text = "No session with an exercise yet.".to_owned();
                self.add(4, "silence", "no session yet".to_owned(), text, &[]);
            }
            return;
        };
        let days = self.seen.on.duration_since(last).as_hours() / 24;
        // What was not read may be a session: then the silence is not known.
        let heard_unread = line.missing_count + line.stale_count > 0
            && line.last_heard.is_some_and(|heard| heard > last);
        if days > SILENT_DAYS && !heard_unread {
            let place = (0..self.seen.sessions.len())
                .rev()
                .find(|index| self.seen.of(&[*index]).any(|(_, s)| s.brief.set_count > 0));
            let text = format!("No session for {days} days, since {}.", date_words(last));
            let places: Vec<usize> = place.into_iter().collect();
            self.add(
                4,
                "silence",
                format!("no session for {days} days"),
                text,
                &places,
            );
        } else if let Some(asked) = asked
            && f64::from(line.done_count) < FEW_RATIO * asked
        {
            let done = line.done_count;
            let text = format!("{done} of about {asked:.0} sessions asked for in two weeks.");
            let recent = self.recent.clone();
            self.add(
                5,
                "sessions",
                format!("{done} of {asked:.0} sessions"),
                text,
                &recent,
            );
        }
        let skipped: Vec<String> = self
            .seen
            .of(&self.recent)
            .flat_map(|(_, session)| {
                let day = day(session.brief.day());
                session.brief.skipped.iter().map(move |reason| {
                    format!("{} ({day})", reason.as_deref().unwrap_or("no reason given"))
                })
            })
            .collect();
        if skipped.len() > 1 {
            let times = plural(skipped.len(), "time");
            let text = format!("Skipped {times} in two weeks: {}.", skipped.join("; "));
            self.add(5, "skipped", format!("skipped {times}"), text, &[]);
        }
    }

    pub(super) fn hurried(&mut self) {
        let mut sessions = Vec::new();
        let (mut judged, mut hurried) = (0, 0);
        for (index, session) in self.seen.of(&self.recent) {
            for group in &session.brief.groups {
                judged += group.judged_count;
                hurried += group.hurried_count;
                if group.hurried_count > 0 {
                    sessions.push(index);
                }
            }
        }
        if judged == 0 || f64::from(hurried) < NAMED_RATIO * f64::from(judged) {
            return;
        }
        sessions.dedup();
        let share = share_words(hurried, judged);
        let text = format!(
            "Timed phase hurried in {} repetitions of two weeks ({share}).",
            count_of(hurried, Some(judged))
        );
        self.add(6, "tempo", format!("hurried {share}"), text, &sessions);
    }

    pub(super) fn sensor(&mut self) {
        let Some(sensor) = self.line.sensor else {
            return;
        };
        let mut words = Vec::new();
        if sensor.link_lost_count > 0 {
            let times = plural(sensor.link_lost_count as usize, "time");
            words.push(format!("link lost {times}"));
        }
        if let Some(percent) = sensor
            .lowest_battery_percent
            .filter(|percent| *percent <= LOW_BATTERY_PERCENT)
        {
            words.push(format!("battery down to {percent} %"));
        }
        let of = |count: fn(&NamedBrief) -> u32| -> u32 {
            self.seen.of(&self.recent).map(|(_, s)| count(s)).sum()
        };
        let (done, doubtful) = (
            of(|session| session.brief.done_count),
            of(|session| session.brief.doubtful_count),
        );
        if done > 0 && f64::from(doubtful) >= NAMED_RATIO * f64::from(done) {
            words.push(format!(
                "{} repetitions in doubt",
                count_of(doubtful, Some(done))
            ));
        }
        if !words.is_empty() {
            let text = format!("Sensor in two weeks: {}.", words.join("; "));
            let recent = self.recent.clone();
            self.add(7, "sensor", words.join(", "), text, &recent);
        }
    }

    pub(super) fn review_by(&mut self) {
        let latest = self.seen.sessions.iter().rev();
        let routine = latest.filter_map(|s| s.brief.asked.as_ref()).next();
        let due = routine.and_then(|asked| asked.review_by);
        let visited = |due: Date| self.line.last_visit.is_some_and(|visit| visit >= due);
        if let Some(due) = due.filter(|due| *due <= self.seen.on && !visited(*due)) {
            let text = format!("The routine was to be looked at by {}.", date_words(due));
            self.add(
                8,
                "routine",
                format!("look at the routine by {}", day(due)),
                text,
                &[],
            );
        }
    }

    pub(super) fn unread(&mut self) {
        let line = self.line;
        let mut words = Vec::new();
        for (count, what) in [
            (line.missing_count, "without a summary"),
            (line.stale_count, "with a stale summary"),
            (line.broken_count, "that cannot be read"),
            (line.later_count, "of a later day"),
        ] {
            if count > 0 {
                words.push(format!("{} {what}", plural(count as usize, "session")));
            }
        }
        if !words.is_empty() {
            let text = format!("Not in these figures: {}.", words.join("; "));
            self.add(
                9,
                "not read",
                format!("not read: {}", words.join(", ")),
                text,
                &[],
            );
        }
        // The words say two weeks.
        const { assert!(WINDOW_DAYS == 14) };
    }
}
