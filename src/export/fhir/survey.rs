//! Answers as observations: pain, tingling, numbness, the night before.

use jiff::{Timestamp, ZonedDateTime};
use serde_json::{Value, json};

use super::codes;
use super::set::{Of, add, body_site, observation, put_value};
use super::value::{Known, SCORE, component, moment, plain};
use crate::pipeline::summary::SymptomKind;
use crate::recording::{Event, EventKind, Night, Symptom, When};

/// An answer as an observation; `None` of an event that is none.
pub(super) fn survey(
    event: &Event,
    started_at: &ZonedDateTime,
    of: &Of,
    simulated: bool,
) -> Option<Value> {
    let mut observation = match &event.kind {
        EventKind::Pain(answer) => symptom(SymptomKind::Pain, answer, of, simulated),
        EventKind::Tingling(answer) => symptom(SymptomKind::Tingling, answer, of, simulated),
        EventKind::Numbness(answer) => symptom(SymptomKind::Numbness, answer, of, simulated),
        EventKind::Night(answers) => night(answers, of, simulated),
        _ => return None,
    };
    let start_us = started_at.timestamp().as_microsecond();
    let unix_us = start_us.saturating_add((event.t_s * 1e6).round() as i64);
    let at = Timestamp::from_microsecond(unix_us).unwrap_or(started_at.timestamp());
    let at = moment(at, started_at.offset());
    add(&mut observation, "effectiveDateTime", json!(at));
    Some(observation)
}

fn symptom(kind: SymptomKind, answer: &Symptom, of: &Of, simulated: bool) -> Value {
    let code = match kind {
        SymptomKind::Pain => json!({"coding": [{
            "system": "http://loinc.org",
            "code": "72514-3",
            "display": "Pain severity - 0-10 verbal numeric rating [Score] - Reported",
        }], "text": "Pain, 0 to 10"}),
        SymptomKind::Tingling => codes::TINGLING.concept(),
        SymptomKind::Numbness => codes::NUMBNESS.concept(),
    };
    let mut observation = observation("survey", code, of, simulated);
    let value = answer.value.map(|scale| f64::from(scale.value()));
    put_value(&mut observation, Known::measured(value, SCORE));
    if let Some(site) = body_site(answer.side, None) {
        add(&mut observation, "bodySite", site);
    }
    let when = answer.when.map(|when| match when {
        When::Before => codes::BEFORE,
        When::During => codes::DURING,
        When::After => codes::AFTER,
        When::NextMorning => codes::NEXT_MORNING,
    });
    let when = when.map(|code| Known::Concept(code.concept()));
    let mut components = vec![component(&codes::ANSWER_TIME, when)];
    if let Some(about) = answer.of.as_deref().and_then(plain) {
        let about = Some(Known::Text(about));
        components.push(component(&codes::ANSWER_ABOUT, about));
    }
    add(&mut observation, "component", Value::Array(components));
    observation
}

fn night(answers: &Night, of: &Of, simulated: bool) -> Value {
    let mut observation = observation("survey", codes::NIGHT.concept(), of, simulated);
    let components = [
        (&codes::NIGHT_WOKE, answers.woke),
        (&codes::NIGHT_SPLINT, answers.splint),
        (&codes::DROPPED_THINGS, answers.dropped),
    ]
    .map(|(code, answer)| component(code, answer.map(Known::Flag)));
    add(&mut observation, "component", json!(components));
    observation
}
