//! `carpotempo demo`: everything, with invented data.

mod folder;
mod overview;
mod truth;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;
use rayon::prelude::*;

use crate::pipeline::summary::{Summaries, fresh_summaries};
use crate::recording::{PatientCode, Store, session_name};
use crate::report::{self, ReportOptions};
use crate::review::{Review, ReviewOptions, review};
use crate::source::simulator::four_weeks::{self, StorySession};
use crate::source::simulator::random::Random;
use crate::source::simulator::session::{Played, play};
use folder::DemoFolder;
use truth::Agreement;

/// The store's folder within the demo's folder.
const STORE: &str = "store";
/// The folder of what the invented hand truly did.
const TRUTH: &str = "truth";
/// What is what, for people.
const README: &str = "README.txt";
/// Files of a session's folder that this command writes itself.
const SESSION_FILES: [&str; 3] = ["session.json", "samples.csv", "events.csv"];

const README_TEXT: &str = "\
Invented data: every session in this folder was played by the carpotempo simulator.
No person did these exercises, and the plans are no advice.

report.html   the review of four weeks, to be opened in a browser and printed
charts/       its charts, each as SVG and PNG
store/        the recordings, as a store: store/P-0042/SESSION
truth/        what the invented hand truly did, one CSV for each session, to hold against
              what `carpotempo replay` finds
demo.json     which files the demo wrote; running it again replaces those and no others

carpotempo records and times what a clinician prescribed. It does not treat, diagnose or decide.
";

/// Arguments.
#[derive(Debug, Args)]
pub struct DemoArguments {
    /// Folder to write into; files in it that are not the demo's own are left alone
    #[arg(long, value_name = "DIR", default_value = "carpotempo-demo")]
    out: PathBuf,
}

/// A session, played.
struct Told {
    name: String,
    story: StorySession,
    played: Played,
}

/// Runs the command.
pub fn run(arguments: &DemoArguments) -> anyhow::Result<()> {
    let out = &arguments.out;
    eprintln!("Playing four invented weeks of one invented patient ...");
    let told = tell()?;
    let store = record(out, &told)?;
    eprintln!("Analysing and drawing ...");
    let patient: PatientCode = four_weeks::PATIENT.parse()?;
    let summaries = fresh_summaries(&store, &patient, &|_| {})?;
    let review = review(&patient, &summaries, &ReviewOptions::default());
    let options = ReportOptions {
        invented: true,
        made_on: None,
        ..ReportOptions::default()
    };
    let written = report::write(out, &review, &options).context("writing the report")?;
    let agreement = agreement(&told, &summaries);
    let words = words(out, &store, &review, &written, &agreement);
    write!(std::io::stdout().lock(), "{words}")?;
    Ok(())
}

fn tell() -> anyhow::Result<Vec<Told>> {
    let sessions = four_weeks::sessions().context("the demo's own plans cannot be read")?;
    let person = four_weeks::person();
    Ok(sessions
        .into_par_iter()
        .map(|story| Told {
            name: session_name(&story.head.started_at),
            played: play(&person, &story.steps, &mut Random::new(story.seed)),
            story,
        })
        .collect())
}

/// Records the sessions into the store of the demo's folder, and the truth beside it.
fn record(out: &Path, told: &[Told]) -> anyhow::Result<Store> {
    let patient = format!("{STORE}/{}", four_weeks::PATIENT);
    let mut planned = vec![README.to_owned()];
    for session in told {
        planned.push(truth_name(&session.name));
        for file in SESSION_FILES {
            planned.push(format!("{patient}/{}/{file}", session.name));
        }
    }
    let folder = DemoFolder::claim(out, &planned, report::PAGE_FILE)?;
    folder.write(README, README_TEXT)?;
    told.par_iter().try_for_each(|session| {
        let path = out.join(&patient).join(&session.name);
        session.played.record(&path, &session.story.head)?;
        folder.write(&truth_name(&session.name), &session.played.truth_csv())
    })?;
    Ok(Store::at(out.join(STORE)))
}

fn truth_name(session: &str) -> String {
    format!("{TRUTH}/{session}.csv")
}

fn agreement(told: &[Told], summaries: &Summaries) -> Agreement {
    let mut agreement = Agreement::default();
    for session in told {
        let summary = summaries.sessions.iter().find(|s| s.name == session.name);
        let sets = summary.map_or(&[][..], |s| &s.summary.analysis.sets);
        agreement.add(&session.played.truth, sets);
    }
    agreement
}

fn words(
    out: &Path,
    store: &Store,
    review: &Review,
    written: &[PathBuf],
    agreement: &Agreement,
) -> String {
    let shown = |path: &Path| quoted(&path.display().to_string());
    let mut text = String::new();
    let _ = writeln!(
        text,
        "Invented data: four weeks of one invented patient, played by the simulator, recorded and\n\
         analysed by the same code as any recording. No person did these exercises.\n"
    );
    text.push_str(&overview::overview(review));
    let _ = writeln!(text, "\n{}", agreement.words());
    let absolute = std::path::absolute(out).unwrap_or_else(|_| out.to_owned());
    let _ = writeln!(
        text,
        "\nOpen\n  {}",
        shown(&absolute.join(report::PAGE_FILE))
    );
    let pictures = written
        .iter()
        .filter(|path| path.extension().is_some_and(|e| e == "png"));
    let _ = writeln!(
        text,
        "  {} ({} charts, each as SVG and PNG)",
        shown(&absolute.join(report::CHARTS_FOLDER)),
        pictures.count()
    );
    let program = quoted(&std::env::args().next().unwrap_or_default());
    let _ = writeln!(
        text,
        "\nTry next\n  {program} review {} --store {}",
        review.patient,
        shown(store.root())
    );
    if let Some(last) = &review.last_exercise {
        let folder = shown(&last.folder);
        let _ = writeln!(text, "  {program} replay {folder}");
        let _ = writeln!(text, "  {program} replay {folder} --json");
    }
    let store = shown(store.root());
    let _ = writeln!(
        text,
        "\nOn a page in the browser, until Ctrl-C\n  {program} clinic --store {store}"
    );
    if let Some(last) = &review.last_exercise {
        let _ = writeln!(text, "  {program} replay {} --page", shown(&last.folder));
    }
    text
}

/// A word for the shell, in quotes where it needs them.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./\\:~".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("\"{word}\"")
    }
}
