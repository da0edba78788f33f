//! The watch over the wear of each set, live and in the analysis of a recording.
//!
//! Ours. Live, signs of life and the arm's ways are followed between the sets too; an analysis
//! goes through the same stretches of the record.

use super::live::{News, Step};
use super::refined::calibration_windows;
use super::sets::SetSpec;
use crate::joint::wear::{
    Alive, AliveParams, Fitted, Ways, WaysParams, WearContext, WearFinding, WearKind, WearParams,
    WearWatch, angles_stand,
};
use crate::joint::{Alignment, CalibrationWindows};
use crate::orientation::Oriented;
use crate::recording::{EventKind, Recording};
use crate::reps::{Doubt, Repetition};
use crate::sample::{Place, Sample};

/// Follows the wear of a stream.
#[derive(Debug, Clone)]
pub struct LiveWear {
    alive: Alive,
    face_known: bool,
    fitted: Option<Fitted>,
    ways: Ways,
    watch: Option<WearWatch>,
    slipped_s: Option<f64>,
}

impl Default for LiveWear {
    fn default() -> Self {
        LiveWear {
            alive: Alive::new(AliveParams::default()),
            face_known: false,
            fitted: None,
            ways: Ways::default(),
            watch: None,
            slipped_s: None,
        }
    }
}

impl LiveWear {
    /// Takes an event that says something of the unit.
    pub fn event(&mut self, event: &EventKind) {
        self.face_known |= tells_face(event);
    }

    /// A calibration was taken.
    pub fn fitted(&mut self, alignment: Alignment, windows: &CalibrationWindows) {
        self.fitted = Some(fitted_by(alignment, windows));
        self.ways = Ways::default();
    }

    /// A set begins, with the calibration in force.
    pub fn begin(&mut self, spec: &SetSpec, aligned: Option<&(Alignment, CalibrationWindows)>) {
        let fitted = aligned.map(|(alignment, windows)| fitted_by(*alignment, windows));
        // The ways are those since the latest calibration.
        let own = fitted.is_some() && fitted == self.fitted;
        let ways = if own { self.ways } else { Ways::default() };
        self.watch = watch(spec, fitted, self.face_known, ways);
        self.slipped_s = None;
    }

    /// Takes the next sample, and the hand as the forearm sees it where that is used, and adds to
    /// its step what is found.
    pub fn sample(&mut self, sample: &Sample, seen: Option<&Oriented>, step: &mut Step) {
        let oriented = step.oriented;
        step.lifeless_s = self.alive.push(sample);
        let Some(watch) = &mut self.watch else {
            if let Some(fitted) = &self.fitted {
                self.ways.push(fitted, &oriented, &WaysParams::default());
            }
            return;
        };
        for finding in watch.push(&oriented, seen, step.lifeless_s) {
            if finding.kind == WearKind::Slipped {
                self.slipped_s = Some(finding.since_s);
            }
            step.news.push(News::Worn(finding));
        }
        for news in &mut step.news {
            if let News::Counted(_, repetition) = news {
                doubt_slipped(self.slipped_s, std::slice::from_mut(repetition.as_mut()));
            }
        }
    }

    /// The set ends: what was found of it.
    pub fn end(&mut self) -> Vec<WearFinding> {
        self.watch.take().map(WearWatch::finish).unwrap_or_default()
    }
}

/// For how long the unit had shown no sign of life at each sample of a record, seconds: what comes
/// before a set counts, as it does live.
pub fn lifeless_s(samples: &[Sample]) -> Vec<f64> {
    let mut alive = Alive::new(AliveParams::default());
    samples.iter().map(|sample| alive.push(sample)).collect()
}

/// What is found of a set in the analysis of a recording; `seen` is the hand within the set as the
/// forearm sees it, where that is used.
pub fn worn(
    recording: &Recording,
    lifeless_s: &[f64],
    specs: &[SetSpec],
    spec: &SetSpec,
    alignment: Option<Alignment>,
    oriented: &[Oriented],
    seen: Option<&[Oriented]>,
) -> Vec<WearFinding> {
    let fitted = alignment.zip(latest_windows(recording, spec));
    let fitted = fitted.map(|(alignment, windows)| fitted_by(alignment, &windows));
    let face_known = recording
        .events
        .iter()
        .take_while(|event| event.t_s <= spec.start_s)
        .any(|event| tells_face(&event.kind));
    let mut ways = Ways::default();
    if let Some(fitted) = &fitted {
        let between = within(oriented, |o| o.t_s, fitted.at_s, spec.start_s);
        let in_set = |t_s: f64| specs.iter().any(|s| (s.start_s..s.end_s).contains(&t_s));
        for one in between.iter().filter(|one| !in_set(one.t_s)) {
            ways.push(fitted, one, &WaysParams::default());
        }
    }
    let Some(mut watch) = watch(spec, fitted, face_known, ways) else {
        return Vec::new();
    };
    let from = oriented.partition_point(|o| o.t_s < spec.start_s);
    let own = within(oriented, |o| o.t_s, spec.start_s, spec.end_s);
    let lifeless_s = lifeless_s.get(from..).unwrap_or(&[]);
    for (index, (one, lifeless_s)) in own.iter().zip(lifeless_s).enumerate() {
        let seen = seen.and_then(|seen| seen.get(index));
        let _told_at_the_end = watch.push(one, seen, *lifeless_s);
    }
    watch.finish()
}

/// Doubts the repetitions that end after a slip.
pub fn doubt_after_slip(findings: &[WearFinding], reps: &mut [Repetition]) {
    let slip = findings.iter().find(|f| f.kind == WearKind::Slipped);
    doubt_slipped(slip.map(|slip| slip.since_s), reps);
}

fn doubt_slipped(since_s: Option<f64>, reps: &mut [Repetition]) {
    let Some(since_s) = since_s else { return };
    for repetition in reps.iter_mut().filter(|rep| rep.lower_end_s > since_s) {
        repetition.doubt(Doubt::Slipped);
    }
}

/// The findings of a set as warnings.
pub fn wear_warnings(start_s: f64, findings: &[WearFinding]) -> Vec<String> {
    let kept = if angles_stand(findings) {
        "its angles stand all the same"
    } else {
        "its ranges are left out of trends"
    };
    findings
        .iter()
        .map(|finding| format!("set at {start_s:.1} s: {}; {kept}", finding.words()))
        .collect()
}

fn watch(
    spec: &SetSpec,
    fitted: Option<Fitted>,
    face_known: bool,
    ways: Ways,
) -> Option<WearWatch> {
    let context = WearContext {
        movement: spec.movement?,
        posture: spec.posture,
        fitted,
        face_known,
        ways,
    };
    WearWatch::new(context, WearParams::default())
}

fn fitted_by(alignment: Alignment, windows: &CalibrationWindows) -> Fitted {
    Fitted {
        alignment,
        movement: windows.movement,
        posture: windows.posture,
        at_s: windows.move_end_s,
    }
}

fn latest_windows(recording: &Recording, spec: &SetSpec) -> Option<CalibrationWindows> {
    recording
        .events
        .iter()
        .filter_map(|event| match &event.kind {
            EventKind::Calibration(calibration) => calibration_windows(calibration, spec),
            _ => None,
        })
        .rfind(|windows| windows.move_end_s <= spec.start_s)
}

/// Whether an event tells that the unit is one of our own profile, whose +z leaves it on its upper
/// side.
fn tells_face(event: &EventKind) -> bool {
    matches!(event, EventKind::Sensor(sensor) if sensor.place != Some(Place::Forearm))
}

fn within<T>(values: &[T], time_s: impl Fn(&T) -> f64, from_s: f64, to_s: f64) -> &[T] {
    let from = values.partition_point(|value| time_s(value) < from_s);
    let to = values.partition_point(|value| time_s(value) < to_s);
    values.get(from..to.max(from)).unwrap_or(&[])
}
