//! `carpotempo record`: one set in the terminal.

mod keys;
mod screen;
mod source;

use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::{Context, anyhow};
use clap::Args;

use super::demo::quoted;
use super::exit::{WrongArguments, say};
use super::replay::{self, table};
use super::store::StoreOption;
use crate::movement::{Movement, Side};
use crate::orientation::FilterKind;
use crate::pipeline::Analysis;
use crate::recording::{PatientCode, Recording, SessionHead, SetStart, Writer, open};
use crate::routine::Tempo;
use crate::session::{QuickSet, QuickSetPlan};
use crate::sitting::{Clock, Outcome, SittingPlan, sit};
use keys::Keys;
use screen::Screen;
use source::SourceArguments;

/// The code of a recording that is nobody's in particular.
const NOBODY: &str = "unnamed";

/// Arguments of `record`.
#[derive(Debug, Args)]
pub struct RecordArguments {
    /// The movement: wrist-extension, wrist-flexion, radial-deviation, ulnar-deviation, supination,
    /// pronation, arm-circles; without it the movement shows its own axis (with --raw)
    #[arg(long, value_name = "M", value_parser = replay::movement)]
    exercise: Option<Movement>,
    /// Which hand: left or right
    #[arg(long, value_name = "SIDE", value_parser = replay::side)]
    side: Option<Side>,
    /// Prescribed tempo: lower - pause at the bottom - lift - pause at the top, in seconds
    #[arg(long, value_name = "4-0-2-1")]
    tempo: Option<Tempo>,
    /// Load, kg; 0 is the empty hand
    #[arg(long, value_name = "KG", value_parser = load)]
    load_kg: Option<f64>,
    /// End by itself after so many repetitions (arm circles do not: they are counted at the end)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    reps: Option<u32>,
    /// End by itself so many seconds after the sensor was connected, calibration included
    #[arg(long = "for", value_name = "SECONDS", value_parser = seconds)]
    for_s: Option<f64>,
    /// No calibration: the movement shows its own axis
    #[arg(long)]
    raw: bool,

    /// Folder to record into: new or empty, and made where it is missing
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// The patient's code (no name); without --out the recording goes into the store
    #[arg(long, value_name = "CODE")]
    patient: Option<PatientCode>,
    #[command(flatten)]
    store: StoreOption,

    /// Print one JSON object at the end and nothing else on standard output
    #[arg(long)]
    json: bool,

    #[command(flatten)]
    source: SourceArguments,
}

fn load(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|load_kg| (0.0..=100.0).contains(load_kg))
        .ok_or_else(|| "expected kilograms from 0 to 100".to_owned())
}

fn seconds(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|for_s| (0.1..=86_400.0).contains(for_s))
        .ok_or_else(|| "expected seconds from 0.1 to 86400".to_owned())
}

impl RecordArguments {
    /// What is asked for.
    ///
    /// # Errors
    /// Arguments that do not go together.
    fn plan(&self) -> Result<QuickSetPlan, WrongArguments> {
        self.source.worn.check()?;
        let circles = self.exercise == Some(Movement::ArmCircles);
        if !self.raw && !circles && (self.exercise.is_none() || self.side.is_none()) {
            return Err(WrongArguments(
                "a calibration needs to know the movement and the hand: give --exercise and --side, or --raw to let the movement show its own axis".to_owned(),
            ));
        }
        Ok(QuickSetPlan {
            start: SetStart {
                movement: self.exercise,
                side: self.side,
                load_kg: self.load_kg,
                posture: self.exercise.map(Movement::usual_posture),
                tempo: self.tempo,
                target_reps: self.reps,
                ..SetStart::default()
            },
            raw: self.raw,
            for_s: self.for_s,
            forearm: self.source.worn.forearm_worn(),
            until_reached: self.reps.is_some(),
        })
    }

    fn head(&self) -> anyhow::Result<SessionHead> {
        let patient = match &self.patient {
            Some(patient) => patient.clone(),
            None => NOBODY.parse()?,
        };
        Ok(SessionHead {
            started_at: jiff::ZonedDateTime::now(),
            patient,
            routine: None,
        })
    }

    fn folder(&self, head: &SessionHead) -> anyhow::Result<PathBuf> {
        match (&self.out, &self.patient) {
            (Some(out), _) => Ok(out.clone()),
            (None, Some(patient)) => {
                let store = self.store.resolve()?;
                Ok(store.new_session(patient, &head.started_at)?)
            }
            (None, None) => Err(WrongArguments(
                "where to record to: give --out DIR, or --patient CODE for the store".to_owned(),
            )
            .into()),
        }
    }
}

/// Runs the command.
pub fn run(arguments: &RecordArguments) -> anyhow::Result<()> {
    let plan = arguments.plan()?;
    let head = arguments.head()?;
    let origin = Instant::now();
    let folder = arguments.folder(&head)?;
    let mut screen = Screen::new(&plan.start);
    let writer = Writer::create(&folder, &head)?;
    let keys = Keys::listen()?;
    screen.line(&beginning(arguments, &folder, keys.any_key));
    let opened = arguments
        .source
        .open(&plan.start, arguments.raw, origin, &keys.stopped);
    let source = match opened {
        Ok(Some(source)) => source,
        Ok(None) => {
            writer.discard();
            screen.line("Stopped before a sensor was found; nothing was recorded.");
            return nothing(arguments);
        }
        Err(error) => {
            writer.discard();
            return Err(error);
        }
    };
    let sitting = SittingPlan {
        head,
        opening: arguments.source.worn.opening("record"),
        kind: FilterKind::Vqf,
        clock: Clock::Computer {
            origin,
            pace_ratio: arguments.source.worn.pace,
        },
    };
    let outcome = sit(
        &sitting,
        QuickSet::new(plan),
        writer,
        &source.signals,
        &keys.presses,
        &|| source.stop(),
        &mut |shown| screen.show(&shown),
    );
    screen.clear();
    drop(keys);
    let [lost, forearm_lost] = source.lost_counts();
    if lost > 0 {
        screen.line(&format!(
            "{lost} of {} samples were lost on the way from the sensor.",
            outcome.samples_count as u64 + lost
        ));
    }
    if forearm_lost > 0 {
        screen.line(&format!(
            "{forearm_lost} samples were lost on the way from the forearm sensor."
        ));
    }
    drop(source);
    ending(arguments, &folder, outcome)
}

fn beginning(arguments: &RecordArguments, folder: &Path, any_key: bool) -> String {
    let whose = if arguments.source.worn.simulate {
        if arguments.source.worn.forearm_worn() {
            "SIMULATED: an invented person with two invented sensors; nothing here was measured."
        } else {
            "SIMULATED: an invented person with an invented sensor; nothing here was measured."
        }
    } else {
        if arguments.source.worn.forearm_worn() {
            "Looking for the two sensors ..."
        } else {
            "Looking for the sensor ..."
        }
    };
    let stop = if any_key {
        "Any key or Ctrl-C"
    } else {
        "Ctrl-C"
    };
    format!(
        "{whose}\nRecording into {}. {stop} ends it.",
        folder.display()
    )
}

fn nothing(arguments: &RecordArguments) -> anyhow::Result<()> {
    if arguments.json {
        say(&format!(
            "{}\n",
            serde_json::to_string(&Analysis::default())?
        ))
    } else {
        Ok(())
    }
}

/// What came of it: the same object as of a replay, or the table; where it is, and what to do with
/// it.
fn ending(arguments: &RecordArguments, folder: &Path, outcome: Outcome) -> anyhow::Result<()> {
    let shown = folder.display();
    if !outcome.connected {
        return match outcome.source_ended {
            Some(words) => Err(anyhow!("{words}; nothing was recorded")),
            None => {
                eprintln!("Stopped before a sensor was connected; nothing was recorded.");
                nothing(arguments)
            }
        };
    }
    if let Some(trouble) = outcome.trouble {
        let samples = outcome.samples_count;
        return Err(anyhow!(
            "the recording in {shown} is not whole ({} live in {samples} samples): {trouble}",
            counted(&outcome.analysis)
        ));
    }
    let recording = open(folder).with_context(|| format!("reading {shown} again"))?;
    let analysis = with_warnings_of(&recording, outcome.analysis);
    if let Some(words) = outcome.source_ended {
        return Err(anyhow!(
            "{words}; what was recorded before is whole, {} in {shown}",
            counted(&analysis)
        ));
    }
    if arguments.json {
        let text = serde_json::to_string(&analysis).context("writing the analysis as JSON")?;
        return say(&format!("{text}\n"));
    }
    let charts = folder.join("charts");
    let [place, charts] = [folder, &charts].map(|path| quoted(&path.display().to_string()));
    say(&format!(
        "\n{}\nRecorded in {shown}. See it again, with charts:\n  carpotempo replay {place} --charts {charts}\n",
        table::table(&recording, &analysis)
    ))
}

/// A replay tells what the reader of the recording tells, then what the pipeline does.
fn with_warnings_of(recording: &Recording, mut analysis: Analysis) -> Analysis {
    let mut warnings = recording.warnings.clone();
    warnings.append(&mut analysis.warnings);
    analysis.warnings = warnings;
    analysis
}

fn counted(analysis: &Analysis) -> String {
    let count: usize = analysis.sets.iter().map(|set| set.reps.len()).sum();
    format!(
        "{count} repetition{} counted",
        if count == 1 { "" } else { "s" }
    )
}
