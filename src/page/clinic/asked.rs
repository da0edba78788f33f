//! What the clinic's page asks for.

use axum::extract::Query;
use axum::http::Uri;
use jiff::civil::Date;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::recording::PatientCode;
use crate::review::{Person, Sex};
use crate::routine::draft::Edit;

/// For whom.
#[derive(Debug, Deserialize)]
pub struct Whose {
    pub patient: PatientCode,
}

/// A draft and what is to be changed in it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DraftAsked {
    pub text: String,
    #[serde(default)]
    pub edits: Vec<Edit>,
    #[serde(default)]
    pub patient: Option<PatientCode>,
}

/// A text that is to be kept or handed over.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TextAsked {
    pub text: String,
    pub patient: PatientCode,
}

/// A text that is to be printed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandoutAsked {
    pub text: String,
    #[serde(default)]
    pub patient: Option<PatientCode>,
    #[serde(default)]
    pub paper: PaperAsked,
}

/// The paper.
#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PaperAsked {
    #[default]
    A4,
    Letter,
}

/// Nothing more is said.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

/// A review.
#[derive(Debug)]
pub struct ReviewAsked {
    pub patient: PatientCode,
    pub since: Option<Date>,
    pub person: Person,
}

#[derive(Debug, Deserialize)]
struct ReviewQuery {
    #[serde(default)]
    since: String,
    #[serde(default)]
    age: String,
    #[serde(default)]
    sex: String,
}

/// The query of an address.
pub fn query<T: DeserializeOwned>(uri: &Uri) -> Option<T> {
    Query::try_from_uri(uri).ok().map(|Query(asked)| asked)
}

/// The review asked for; fields left empty are not said.
pub fn review(uri: &Uri) -> Option<ReviewAsked> {
    let patient = uri.path().strip_prefix("/review/")?.parse().ok()?;
    let asked: ReviewQuery = query(uri)?;
    let said = |text: &str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
    let since = match said(&asked.since) {
        Some(day) => Some(day.parse().ok()?),
        None => None,
    };
    let age_years = match said(&asked.age) {
        Some(age) => Some(age.parse().ok().filter(|age| (1..=120).contains(age))?),
        None => None,
    };
    let sex = match said(&asked.sex).as_deref() {
        Some("female") => Some(Sex::Female),
        Some("male") => Some(Sex::Male),
        Some(_) => return None,
        None => None,
    };
    Some(ReviewAsked {
        patient,
        since,
        person: Person { age_years, sex },
    })
}
