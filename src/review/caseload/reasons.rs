//! Why to look at a patient: facts of the last two weeks with their sessions, the gravest first.

use jiff::civil::Date;
use serde::Serialize;

use super::{CaseloadLine, Seen, WINDOW_DAYS};
use crate::pipeline::summary::{NamedBrief, SymptomKind};
use crate::review::findings::{LOW_BATTERY_PERCENT, NAMED_RATIO, SILENT_DAYS};
use crate::review::words::{count_of, date_words, plural, share_words, symptom_words};

/// Fewer sessions than this share of those asked for are named (ours: half, since up to half of a
/// home programme is commonly not done: Argent et al. 2018).
const FEW_RATIO: f64 = 0.5;
/// A rise of the worst pain that is named, points (Farrar et al., Pain 2001, from memory). Of
/// tingling and numbness any rise is.
const PAIN_RISE: u8 = 2;
/// So many sessions in a row that begin with numbness are named as constant (ours).
const NUMB_SESSIONS: usize = 3;

/// One reason to look.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// The fact in a few words, for the line.
    pub short: String,
    /// The fact in a sentence.
    pub text: String,
    /// The sessions it rests on, by their folders.
    pub names: Vec<String>,
    /// Its place in the order, the gravest first: 0 stopped or not begun; 1 symptoms above the
    /// routine's limits; 2 symptoms or nights rising, numb at every start; 3 less range beyond
    /// error; 4 no sessions; 5 few sessions; 6 hurried; 7 sensor and doubts; 8 the routine is to be
    /// looked at; 9 not read; 10 more range beyond error.
    #[serde(skip)]
    pub rank: u8,
}

struct Found<'a> {
    line: &'a CaseloadLine,
    seen: &'a Seen<'a>,
    recent: Vec<usize>,
    reasons: Vec<Reason>,
}

pub(super) fn reasons(line: &CaseloadLine, seen: &Seen) -> Vec<Reason> {
    let mut found = Found {
        line,
        seen,
        recent: seen.recent(),
        reasons: Vec::new(),
    };
    found.said("stopped", "stopped", |session| &session.brief.stops);
    found.said("not begun", "not begun", |session| &session.brief.declined);
    found.limits();
    found.rising();
    found.numb();
    found.nights();
    found.range();
    found.sessions();
    found.hurried();
    found.sensor();
    found.review_by();
    found.unread();
    let mut reasons = found.reasons;
    reasons.sort_by_key(|reason| reason.rank);
    reasons
}

fn day(date: Date) -> String {
    date.strftime("%-d %b").to_string()
}

impl Found<'_> {
    fn add(&mut self, rank: u8, about: &'static str, short: String, text: String, of: &[usize]) {
        let names = self.seen.of(of).map(|(_, s)| s.name.clone()).collect();
        self.reasons.push(Reason {
            about,
            short,
            text,
            names,
            rank,
        });
    }

    fn said(
        &mut self,
        about: &'static str,
        word: &str,
        of: fn(&NamedBrief) -> &Vec<Option<String>>,
    ) {
        let mut sessions = Vec::new();
        let mut words = Vec::new();
        for (index, session) in self.seen.of(&self.recent) {
            for reason in of(session) {
                let reason = reason.as_deref().unwrap_or("no reason given");
                words.push(format!("{reason} ({})", day(session.brief.day())));
                sessions.push(index);
            }
        }
        if words.is_empty() {
            return;
        }
        let times = plural(words.len(), "time");
        let last = words.last().cloned().unwrap_or_default();
        let text = format!(
            "{} {times} in two weeks: {}.",
            sentence(word),
            words.join("; ")
        );
        sessions.dedup();
        self.add(0, about, format!("{word} {times}: {last}"), text, &sessions);
    }

    fn limits(&mut self) {
        let mut sessions = Vec::new();
        let mut words = Vec::new();
        for (index, session) in self.seen.of(&self.recent) {
            let Some(asked) = &session.brief.asked else {
                continue;
            };
            for row in self.seen.symptoms.get(index).into_iter().flatten() {
                if row.above(&asked.limits) {
                    let date = day(session.brief.day());
                    words.push(format!("{} ({date})", symptom_words(row)));
                    sessions.push(index);
                }
            }
        }
        let Some(last) = words.last().cloned() else {
            return;
        };
        sessions.dedup();
        let count = plural(sessions.len(), "session");
        let text = format!(
            "Above the routine\u{2019}s limits in {count} of two weeks: {}.",
            words.join("; ")
        );
        let short = format!("above limits in {count}: {last}");
        self.add(1, "symptoms", short, text, &sessions);
    }

    fn rising(&mut self) {
        for trend in self.line.symptoms {
            let (Some(worst), Some(before)) = (trend.worst, trend.worst_before) else {
                continue;
            };
            let least = if trend.kind == SymptomKind::Pain {
                PAIN_RISE
            } else {
                1
            };
            if worst < before.saturating_add(least) {
                continue;
            }
            let kind = trend.kind.name();
            let of = |session: &usize| {
                let rows = self.seen.symptoms.get(*session).into_iter().flatten();
                rows.filter(|row| row.kind == trend.kind)
                    .any(|row| row.worst() == Some(worst))
            };
            let sessions: Vec<usize> = self.recent.iter().copied().filter(of).collect();
            let text = format!(
                "{} rising: worst {worst} in two weeks, {before} in the two weeks before.",
                sentence(kind)
            );
            let short = format!("{kind} up from {before} to {worst}");
            self.add(2, "rising", short, text, &sessions);
        }
    }

    /// Numb at the start of every session that was answered.
    fn numb(&mut self) {
        let mut sessions = Vec::new();
        for index in &self.recent {
            let rows = self.seen.symptoms.get(*index).into_iter().flatten();
            let before = rows
                .filter(|row| row.kind == SymptomKind::Numbness)
                .filter_map(|row| row.before)
                .max();
            match before {
                Some(0) => return,
                Some(_) => sessions.push(*index),
                None => {}
            }
        }
        if sessions.len() >= NUMB_SESSIONS {
            let text = format!(
                "Numb at the start of every one of {} answered in two weeks.",
                plural(sessions.len(), "session")
            );
            let short = "numb at every start".to_owned();
            self.add(2, "numbness", short, text, &sessions);
        }
    }

    fn nights(&mut self) {
        let (now, before) = (self.line.nights, self.line.nights_before);
        let sessions: Vec<usize> = self
            .seen
            .of(&self.recent)
            .filter(|(_, s)| s.brief.nights.iter().any(|n| n.woke == Some(true)))
            .map(|(index, _)| index)
            .collect();
        // Of a few nights a share says little: at least two, and more than before or half of all.
        let share = |counts: super::NightCounts| {
            f64::from(counts.woken_count) / f64::from(counts.answered_count.max(1))
        };
        let rising = before.answered_count > 0 && share(now) > share(before);
        let often = before.answered_count == 0 && share(now) >= 0.5;
        if now.woken_count < 2 || !(rising || often) {
            return;
        }
        let counted =
            |counts: super::NightCounts| count_of(counts.woken_count, Some(counts.answered_count));
        let was = if before.answered_count > 0 {
            format!(", {} in the two weeks before", counted(before))
        } else {
            String::new()
        };
        let text = format!(
            "Woken by the hand in {} nights answered in two weeks{was}.",
            counted(now)
        );
        let short = if rising {
            format!(
                "nights woken up from {} to {}",
                counted(before),
                counted(now)
            )
        } else {
            format!("woken {} nights", counted(now))
        };
        self.add(2, "nights", short, text, &sessions);
    }

    fn range(&mut self) {
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

    fn sessions(&mut self) {
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

    fn hurried(&mut self) {
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

    fn sensor(&mut self) {
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

    fn review_by(&mut self) {
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

    fn unread(&mut self) {
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
        debug_assert!(WINDOW_DAYS == 14, "the words say two weeks");
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string());
    format!("{}{}", first.unwrap_or_default(), letters.as_str())
}
