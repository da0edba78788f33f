//! What to look at: facts with their sessions, the gravest first. Nothing here decides.

use jiff::civil::Date;
use serde::Serialize;

use super::Review;
use super::change::Judgement;
use super::session::SessionRow;
use super::symptoms::SymptomRow;
use super::words::{count_of, plural, share_words, symptom_words};
use crate::movement::{MovingPhase, Side};
use crate::pipeline::summary::{Summarised, SymptomKind};
use crate::recording::Night;
use crate::routine::Limits;

/// One thing to look at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// The fact, in words.
    pub text: String,
    /// The sessions it rests on, by their folders.
    pub names: Vec<String>,
    /// The same as places in [`Review::sessions`].
    #[serde(skip)]
    pub sessions: Vec<usize>,
}

/// A share from which hurried and doubted repetitions are named (ours: a quarter).
const NAMED_RATIO: f64 = 0.25;
/// A charge up to which the battery is named, percent (common practice, no source).
const LOW_BATTERY_PERCENT: u8 = 20;
/// Days without a session from which the silence is named (ours: more than a week).
const SILENT_DAYS: i64 = 7;
/// So many sessions are named one by one, the latest ones.
const NAMED_COUNT: usize = 4;

struct Looker<'a> {
    review: &'a Review,
    sessions: &'a [&'a Summarised],
    one_year: bool,
    found: Vec<Finding>,
}

pub(super) fn findings(review: &Review, sessions: &[&Summarised]) -> Vec<Finding> {
    let year = |date: Option<Date>| date.map(Date::year);
    let dates = || review.sessions.iter().map(|row| row.date);
    let mut looker = Looker {
        review,
        sessions,
        one_year: year(dates().min()) == year(dates().max()),
        found: Vec::new(),
    };
    looker.reasons("stopped", "Stopped in {}", |row| &row.stops);
    looker.limits();
    looker.nights();
    looker.ranges();
    looker.hurried();
    looker.reasons("not begun", "Not begun in {}", |row| &row.declined);
    looker.reasons("skipped", "Skipped in {}", |row| &row.skipped);
    looker.silences();
    looker.without_repetitions();
    looker.doubts();
    looker.sensor();
    looker.routine_changes();
    looker.notes();
    looker.found
}

impl Looker<'_> {
    fn day(&self, date: Date) -> String {
        let form = if self.one_year { "%-d %b" } else { "%-d %b %Y" };
        date.strftime(form).to_string()
    }

    fn add(&mut self, about: &'static str, text: String, sessions: Vec<usize>) {
        let names = sessions
            .iter()
            .filter_map(|index| Some(self.review.sessions.get(*index)?.name.clone()))
            .collect();
        self.found.push(Finding {
            about,
            text,
            names,
            sessions,
        });
    }

    /// A lead and the last few entries, the latest first; `{}` in the lead is the number of
    /// sessions.
    fn list(&mut self, about: &'static str, lead: &str, entries: Vec<(usize, String)>) {
        if entries.is_empty() {
            return;
        }
        let mut sessions: Vec<usize> = entries.iter().map(|(index, _)| *index).collect();
        sessions.dedup();
        let earlier = entries.len().saturating_sub(NAMED_COUNT);
        let mut words: Vec<String> = entries
            .iter()
            .rev()
            .take(NAMED_COUNT)
            .filter_map(|(index, words)| {
                let date = self.review.sessions.get(*index)?.date;
                Some(format!("{words} ({})", self.day(date)))
            })
            .collect();
        if earlier > 0 {
            words.push(format!("{earlier} earlier"));
        }
        let count = plural(sessions.len(), "session");
        self.add(
            about,
            format!("{}: {}.", lead.replace("{}", &count), words.join("; ")),
            sessions,
        );
    }

    fn rows(&self) -> impl Iterator<Item = (usize, &SessionRow)> {
        self.review.sessions.iter().enumerate()
    }

    fn reasons(
        &mut self,
        about: &'static str,
        lead: &str,
        of: fn(&SessionRow) -> &Vec<Option<String>>,
    ) {
        let entries = self
            .rows()
            .flat_map(|(index, row)| {
                of(row).iter().map(move |reason| {
                    let words = reason.as_deref().unwrap_or("no reason given");
                    (index, words.to_owned())
                })
            })
            .collect();
        self.list(about, lead, entries);
    }

    /// Answers above the limits of the routine that the session was done under.
    fn limits(&mut self) {
        let mut entries = Vec::new();
        let mut answered = false;
        for (index, row) in self.rows() {
            let limits = self
                .sessions
                .get(index)
                .and_then(|session| session.summary.routine.as_ref())
                .map(|routine| routine.limits);
            answered |= !row.symptoms.is_empty();
            for symptom in &row.symptoms {
                if limits.is_some_and(|limits| above(&limits, symptom)) {
                    entries.push((index, symptom_words(symptom)));
                }
            }
        }
        self.list("symptoms", "Above the routine's limits in {}", entries);
        if !answered && !self.review.sessions.is_empty() {
            let text = "Pain, tingling and numbness: no answers in this period.";
            self.add("symptoms", text.to_owned(), Vec::new());
            return;
        }
        let worst: Vec<(String, Option<usize>)> =
            SymptomKind::ALL.map(|kind| self.worst(kind)).into();
        let words: Vec<&str> = worst.iter().map(|(words, _)| words.as_str()).collect();
        let text = format!("Worst answers of 10: {}.", words.join("; "));
        let mut sessions: Vec<usize> = worst.iter().filter_map(|(_, index)| *index).collect();
        sessions.sort_unstable();
        sessions.dedup();
        self.add("symptoms", text, sessions);
    }

    /// "tingling 2 (right, 20 Mar)".
    fn worst(&self, kind: SymptomKind) -> (String, Option<usize>) {
        let worst = self
            .rows()
            .flat_map(|(index, row)| row.symptoms.iter().map(move |symptom| (index, symptom)))
            .filter(|(_, symptom)| symptom.kind == kind)
            .filter_map(|(index, symptom)| Some((symptom.worst()?, index, symptom.side)))
            .max_by_key(|(value, index, _)| (*value, *index));
        let name = kind.name();
        match worst {
            None => (format!("{name} no answers"), None),
            Some((0, ..)) => (format!("{name} 0"), None),
            Some((value, index, side)) => {
                let side = side.map_or("", |side: Side| side.name());
                let date = self.review.sessions.get(index).map(|row| row.date);
                let day = date.map_or_else(String::new, |date| self.day(date));
                let detail = format!("{side}, {day}");
                let detail = detail.trim_start_matches(", ");
                (format!("{name} {value} ({detail})"), Some(index))
            }
        }
    }

    fn nights(&mut self) {
        let parts: [(fn(&Night) -> Option<bool>, &str); 2] = [
            (|night| night.woke, "Woken by the hand"),
            (|night| night.dropped, "Things dropped"),
        ];
        for (answer, words) in parts {
            let mut answered = 0;
            let mut sessions = Vec::new();
            for (index, row) in self.rows() {
                let answers = row.nights.iter().filter_map(answer);
                answered += answers.clone().count();
                sessions.extend(answers.filter(|yes| *yes).map(|_| index));
            }
            if !sessions.is_empty() {
                let text = format!(
                    "{words} in {} of {} answered.",
                    sessions.len(),
                    plural(answered, "night")
                );
                sessions.dedup();
                self.add("nights", text, sessions);
            }
        }
    }

    fn ranges(&mut self) {
        let review = self.review;
        for series in &review.series {
            let Some(change) = series
                .change
                .filter(|change| change.judgement == Judgement::BeyondBorrowedError)
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

    fn hurried(&mut self) {
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

    fn silences(&mut self) {
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

    fn without_repetitions(&mut self) {
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

    fn doubts(&mut self) {
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

    fn sensor(&mut self) {
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

    fn routine_changes(&mut self) {
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

    /// Notes, each with its latest session; what is said again and again is written once.
    fn notes(&mut self) {
        let mut entries: Vec<(usize, String)> = Vec::new();
        for (index, row) in self.rows() {
            for note in &row.notes {
                let words = format!("\u{201c}{}\u{201d}", note.trim());
                entries.retain(|(_, said)| *said != words);
                entries.push((index, words));
            }
        }
        self.list("notes", "Notes, the latest first", entries);
    }
}

fn above(limits: &Limits, symptom: &SymptomRow) -> bool {
    let rose_above = |most: u8| symptom.rise().is_some_and(|rise| rise > most);
    match symptom.kind {
        SymptomKind::Pain => {
            symptom.worst().is_some_and(|worst| worst > limits.pain_max)
                || rose_above(limits.pain_rise_max)
        }
        SymptomKind::Tingling => rose_above(limits.tingling_rise_max),
        SymptomKind::Numbness => rose_above(limits.numbness_rise_max),
    }
}
