//! `carpotempo visit`: what was found and decided at the clinic, as an event of a session of its own.

mod given;
mod told;

use std::path::PathBuf;

use anyhow::{Context, anyhow};
use clap::Args;
use jiff::ZonedDateTime;
use jiff::civil::Date;

use super::exit::{WrongArguments, say};
use super::store::StoreOption;
use crate::recording::{
    self, Event, EventKind, PatientCode, RecordingError, SessionHead, Store, Visit, Writer,
};
use given::GivenArguments;
use told::told;

/// Arguments of `visit`.
#[derive(Debug, Args)]
pub struct VisitArguments {
    /// The patient's code
    patient: PatientCode,
    #[command(flatten)]
    given: GivenArguments,
    /// A TOML file of the visit in place of options; --template prints one to fill in
    #[arg(long, value_name = "FILE", conflicts_with = "GivenArguments")]
    file: Option<PathBuf>,
    /// The day of the visit, such as 2026-03-16 [default: today, now]
    #[arg(long, value_name = "DATE")]
    on: Option<Date>,
    /// The patient is new: nothing is in the store yet
    #[arg(long)]
    new: bool,
    /// Write nothing: show the visits so far
    #[arg(long, conflicts_with_all = ["file", "on", "new", "GivenArguments", "template"])]
    list: bool,
    /// Write nothing: print a file to fill in
    #[arg(long, conflicts_with_all = ["file", "on", "new", "GivenArguments"])]
    template: bool,
    #[command(flatten)]
    store: StoreOption,
}

/// Runs the command.
pub fn run(arguments: &VisitArguments) -> anyhow::Result<()> {
    if arguments.template {
        return say(given::TEMPLATE);
    }
    let store = arguments.store.resolve()?;
    if arguments.list {
        return list(&store, &arguments.patient);
    }
    let visit = match &arguments.file {
        Some(path) => given::from_file(path)?,
        None => arguments.given.visit()?,
    };
    let head = SessionHead {
        started_at: started_at(arguments.on)?,
        patient: arguments.patient.clone(),
        routine: None,
    };
    match store.patient_folder(&arguments.patient) {
        Err(error @ RecordingError::UnknownPatient { .. }) if !arguments.new => {
            return Err(anyhow!("{error}; a new patient begins with --new"));
        }
        _ => {}
    }
    let folder = store.new_session(&arguments.patient, &head.started_at)?;
    let mut writer = Writer::create(&folder, &head)?;
    writer.event(&Event {
        t_s: 0.0,
        kind: EventKind::Visit(visit.detail()),
    })?;
    writer.finish()?;
    // What is shown is what the record says, and not what was meant.
    let read = recording::open(&folder).context("reading the visit back")?;
    let kept = visits(&read.events)
        .next()
        .filter(|kept| *kept == visit)
        .ok_or_else(|| {
            anyhow!(
                "{}: the visit does not read back as it was given",
                folder.display()
            )
        })?;
    say(&format!(
        "Visit of {} on {}, in {}:\n{}",
        arguments.patient,
        head.started_at.date(),
        folder.display(),
        told(&kept)
    ))
}

/// Now; of an earlier day its noon, since the hour is not known.
fn started_at(on: Option<Date>) -> anyhow::Result<ZonedDateTime> {
    let now = ZonedDateTime::now();
    match on {
        None => Ok(now),
        Some(day) if day == now.date() => Ok(now),
        Some(day) if day > now.date() => Err(WrongArguments(format!(
            "--on {day}: is still to come; give the day of a visit that was"
        ))
        .into()),
        Some(day) => day
            .at(12, 0, 0, 0)
            .to_zoned_datetime(now.time_zone().clone())
            .with_context(|| format!("finding the noon of {day}")),
    }
}

fn visits(events: &[Event]) -> impl Iterator<Item = Visit> {
    events.iter().filter_map(|event| match &event.kind {
        EventKind::Visit(detail) => Visit::from_detail(detail),
        _ => None,
    })
}

fn list(store: &Store, patient: &PatientCode) -> anyhow::Result<()> {
    let sessions = store.sessions(patient)?;
    for broken in &sessions.broken {
        eprintln!("Warning: {broken}");
    }
    let mut text = String::new();
    for session in &sessions.sessions {
        for visit in visits(&session.events()?) {
            text.push_str(&format!(
                "Visit on {}\n{}",
                session.started_at.date(),
                told(&visit)
            ));
        }
    }
    if text.is_empty() {
        text = format!("No visit of {patient} is noted.\n");
    }
    say(&text)
}
