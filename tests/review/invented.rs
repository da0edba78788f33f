//! Invented patients: sessions recorded by the simulator, and histories made of their summaries.

use std::path::{Path, PathBuf};

use carpotempo::movement::{Movement, MovingPhase, Side};
use carpotempo::pipeline::motion::{AxisFrom, Zero};
use carpotempo::pipeline::summary::{SessionSummary, Summaries, Summarised, summarise};
use carpotempo::pipeline::{ANALYSIS_VERSION, Analysis, BandTimes, SetResult};
use carpotempo::recording::{
    Calibration, Event, EventKind, PatientCode, SessionHead, SetEnd, SetEndReason, SetStart, Stamp,
    Store, Writer, write_summary,
};
use carpotempo::reps::Repetition;
use carpotempo::routine::{Routine, Tempo, Verdict};
use carpotempo::sample::Place;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::Timeline;
use carpotempo::source::simulator::truth::{TrueRepetition, true_repetitions};
use carpotempo::source::simulator::unit::UnitErrors;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use jiff::tz::{Offset, TimeZone};
use nalgebra::UnitQuaternion;

/// Noon and a bit of a day, in an offset of whole hours.
pub fn at(date: Date, hour: i8, offset_hours: i8) -> ZonedDateTime {
    date.at(hour, 30, 0, 0)
        .to_zoned_datetime(TimeZone::fixed(Offset::constant(offset_hours)))
        .unwrap()
}

pub fn patient(code: &str) -> PatientCode {
    code.parse().unwrap()
}

/// Two movements of both hands, five sessions a week.
pub fn routine() -> Routine {
    Routine::from_toml(
        r#"
title = "Invented routine"
source = "invented for the tests"
sessions_a_week = 5

[[items]]
kind = "counted"
movement = "wrist-flexion"
side = "both"
sets = 2
repetitions = 6
load_kg = 0.5
load_shape = "centred"
tempo = { lower_s = 4, rest_s = 0, lift_s = 2, hold_s = 1 }
range = { target_deg = 45 }
posture = { elbow_deg = 90, forearm = "rested", direction = "level", rotation = "palm-up" }

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "both"
sets = 1
repetitions = 6
load_kg = 0
tempo = { lower_s = 4, rest_s = 0, lift_s = 2, hold_s = 1 }
range = { target_deg = 40 }
posture = { elbow_deg = 90, forearm = "rested", direction = "level", rotation = "palm-down" }
"#,
    )
    .unwrap()
}

/// One set to be done.
#[derive(Debug, Clone)]
pub struct Task {
    pub movement: Movement,
    pub side: Side,
    pub load_kg: f64,
    pub manner: SetManner,
}

impl Task {
    pub fn new(movement: Movement, side: Side, load_kg: f64, manner: SetManner) -> Task {
        Task {
            movement,
            side,
            load_kg,
            manner,
        }
    }
}

/// What is said in a session, besides its sets.
#[derive(Debug, Clone, Default)]
pub struct Said {
    pub before: Vec<EventKind>,
    pub after: Vec<EventKind>,
}

/// Records a session, and gives its folder and the true repetitions of each set.
pub fn record(
    store: &Store,
    code: &str,
    started_at: ZonedDateTime,
    routine: Option<Routine>,
    tasks: &[Task],
    said: &Said,
    seed: u64,
) -> (PathBuf, Vec<Vec<TrueRepetition>>) {
    let patient = patient(code);
    let folder = store.new_session(&patient, &started_at).unwrap();
    let head = SessionHead {
        started_at,
        patient,
        routine,
    };
    let mut writer = Writer::create(&folder, &head).unwrap();
    let mut random = Random::new(seed);
    let mut start_s = 0.0;
    let mut truths = Vec::new();
    for kind in &said.before {
        writer.event(&event(start_s, kind.clone())).unwrap();
    }
    let unit = UnitErrors::consumer(52.0, &mut random);
    let mut strapped: Option<(Side, UnitQuaternion<f64>)> = None;
    for task in tasks {
        let hand_from_sensor = match strapped {
            Some((side, mount)) if side == task.side => mount,
            _ => random.rotation(),
        };
        strapped = Some((task.side, hand_from_sensor));
        let posture = task.movement.usual_posture();
        let body = Body {
            movement: task.movement,
            side: task.side,
            posture,
            forearm_m: 0.26,
            lever_m: 0.07,
            height_m: 0.02,
            hand_from_sensor,
        };
        let mut play = |timeline: &Timeline, start_s: f64, random: &mut Random| {
            for mut sample in unit.sample(&body, timeline, random) {
                sample.t_s += start_s;
                writer.sample(Place::Hand, &sample).unwrap();
            }
        };
        // One known movement from a neutral pose held still.
        start_s += 5.0;
        let known = SetManner::ordinary(1, 40.0).timeline(&mut random);
        play(&known, start_s, &mut random);
        let moved = known.intended[0];
        let calibration = Calibration {
            side: Some(task.side),
            movement: Some(task.movement),
            posture: Some(posture),
            still_start_s: Some(start_s + 0.2),
            still_end_s: Some(start_s + moved.lift_from_s - 0.1),
            move_start_s: Some(start_s + moved.lift_from_s - 0.1),
            move_end_s: Some(start_s + moved.lower_to_s + 0.1),
            ..Calibration::default()
        };
        start_s += known.duration_s;
        let timeline = task.manner.timeline(&mut random);
        play(&timeline, start_s, &mut random);
        writer
            .event(&event(start_s, EventKind::Calibration(calibration)))
            .unwrap();
        let start = SetStart {
            movement: Some(task.movement),
            side: Some(task.side),
            load_kg: Some(task.load_kg),
            posture: Some(posture),
            tempo: Some("4-0-2-1".parse().unwrap()),
            target_reps: Some(6),
            ..SetStart::default()
        };
        writer
            .event(&event(start_s, EventKind::SetStart(start)))
            .unwrap();
        let truth = true_repetitions(&timeline).into_iter().map(|rep| {
            let shift = |t_s: f64| t_s + start_s;
            TrueRepetition {
                lift_start_s: shift(rep.lift_start_s),
                lift_end_s: shift(rep.lift_end_s),
                lower_start_s: shift(rep.lower_start_s),
                lower_end_s: shift(rep.lower_end_s),
                range_deg: rep.range_deg,
            }
        });
        truths.push(truth.collect());
        start_s += timeline.duration_s;
        let end = SetEnd {
            reason: Some(SetEndReason::Reached),
            ..SetEnd::default()
        };
        writer
            .event(&event(start_s, EventKind::SetEnd(end)))
            .unwrap();
    }
    for kind in &said.after {
        writer.event(&event(start_s, kind.clone())).unwrap();
    }
    writer.finish().unwrap();
    (folder, truths)
}

fn event(t_s: f64, kind: EventKind) -> Event {
    Event { t_s, kind }
}

/// A careful set of six repetitions.
pub fn careful(travel_deg: f64, lower_s: f64) -> SetManner {
    SetManner {
        lower_s,
        ..SetManner::ordinary(6, travel_deg)
    }
}

/// The summary of one recorded session, to make histories of.
pub fn summary_of(folder: &Path) -> SessionSummary {
    let recording = carpotempo::recording::open(folder).unwrap();
    summarise(&recording, folder).unwrap().unwrap()
}

/// The same session on another day, its ranges and lowering times changed by these factors.
pub fn changed(
    of: &SessionSummary,
    started_at: ZonedDateTime,
    range_ratio: f64,
    lower_ratio: f64,
) -> SessionSummary {
    let mut summary = of.clone();
    summary.started_at = started_at;
    for set in &mut summary.analysis.sets {
        for rep in &mut set.reps {
            rep.range_deg *= range_ratio;
            rep.peak_deg *= range_ratio;
            rep.lower_end_s = rep.lower_start_s + rep.lower_s() * lower_ratio;
            let band = set.tempo_band.unwrap();
            rep.verdict = Some(if rep.lower_s() < band.low_s {
                Verdict::Hurried
            } else {
                Verdict::InBand
            });
        }
    }
    summary
}

/// Summaries as the store would give them.
pub fn summaries(all: Vec<SessionSummary>) -> Summaries {
    Summaries {
        sessions: all
            .into_iter()
            .map(|summary| {
                let name = carpotempo::recording::session_name(&summary.started_at);
                Summarised {
                    folder: PathBuf::from("nowhere").join(&name),
                    name,
                    summary,
                }
            })
            .collect(),
        ..Summaries::default()
    }
}

/// Stores sessions without samples whose summaries exist, as after many reviews.
pub fn store_summaries(store: &Store, code: &str, all: &[SessionSummary]) {
    store_with(store, code, all, |_, _, _| ());
}

/// The same; `also` is done beside each summary.
pub fn store_with(
    store: &Store,
    code: &str,
    all: &[SessionSummary],
    also: impl Fn(&Path, &Stamp, &SessionSummary),
) {
    let patient = patient(code);
    for summary in all {
        let folder = store.new_session(&patient, &summary.started_at).unwrap();
        let head = SessionHead {
            started_at: summary.started_at.clone(),
            patient: patient.clone(),
            routine: summary.routine.clone(),
        };
        Writer::create(&folder, &head).unwrap().finish().unwrap();
        let stamp = Stamp::of(&folder, ANALYSIS_VERSION).unwrap();
        let mut own = summary.clone();
        own.patient = patient.clone();
        write_summary(&folder, &stamp, &own).unwrap();
        also(&folder, &stamp, &own);
    }
}

/// A repetition of this range and this lowering time, from neutral; lift 2 s, hold 1 s.
pub fn rep(start_s: f64, range_deg: f64, lower_s: f64) -> Repetition {
    Repetition {
        lift_start_s: start_s,
        lift_end_s: start_s + 2.0,
        lower_start_s: start_s + 3.0,
        lower_end_s: start_s + 3.0 + lower_s,
        range_deg,
        range_error_deg: Some(0.5),
        lift_error_s: None,
        hold_error_s: None,
        lower_error_s: None,
        peak_deg: range_deg,
        start_deg: 0.0,
        peak_speed_deg_s: 20.0,
        mean_speed_deg_s: Some(range_deg / lower_s),
        lift_peak_speed_deg_s: 30.0,
        off_axis_deg: 2.0,
        lift_sparc_ratio: None,
        lower_sparc_ratio: None,
        lift_ldlj_ratio: None,
        lower_ldlj_ratio: None,
        verdict: Some(if lower_s < 3.0 {
            Verdict::Hurried
        } else {
            Verdict::InBand
        }),
        doubts: Vec::new(),
    }
}

/// A set written by hand: calibrated, asked 4-0-2-1, in the movement's usual posture.
pub fn set(movement: Movement, side: Side, load_kg: Option<f64>, reps: &[(f64, f64)]) -> SetResult {
    let tempo: Tempo = "4-0-2-1".parse().unwrap();
    SetResult {
        movement: Some(movement),
        side: Some(side),
        load_kg,
        start_s: 0.0,
        end_s: 10.0 * reps.len() as f64,
        reps: reps
            .iter()
            .enumerate()
            .map(|(n, (range_deg, lower_s))| rep(10.0 * n as f64, *range_deg, *lower_s))
            .collect(),
        incomplete_count: 0,
        item: None,
        posture: Some(movement.usual_posture()),
        target_reps: Some(6),
        range_test: false,
        forearm: None,
        end_reason: Some(SetEndReason::Reached),
        tempo: Some(tempo),
        tempo_words: Some(tempo.words()),
        eccentric: Some(MovingPhase::Lower),
        tempo_band: Some(BandTimes {
            low_s: 3.0,
            high_s: 6.0,
            prescribed_s: 4.0,
        }),
        zero: Some(Zero::Calibration),
        axis_from: Some(AxisFrom::Calibration),
        time_under_tension_s: 0.0,
        time_under_tension_with_pauses_s: 0.0,
        trend: None,
        wear: Vec::new(),
        elbow: None,
    }
}

/// A session written by hand.
pub fn session(started_at: ZonedDateTime, sets: Vec<SetResult>) -> SessionSummary {
    SessionSummary {
        started_at,
        patient: patient("h1"),
        routine: None,
        analysis: Analysis {
            sets,
            warnings: Vec::new(),
        },
        duration_s: Some(300.0),
        symptoms: Vec::new(),
        stops: Vec::new(),
        declined: Vec::new(),
        skipped: Vec::new(),
        nights: Vec::new(),
        notes: Vec::new(),
        visits: Vec::new(),
        sensor: Default::default(),
        simulated: false,
    }
}
