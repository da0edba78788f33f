//! Which sets a recording holds, and what was asked in each.

use thiserror::Error;

use super::set::BandTimes;
use crate::movement::{ForearmSupport, LoadShape, Movement, MovingPhase, Posture, Side};
use crate::recording::{EventKind, ItemRef, Recording, SetEndReason, SetStart};
use crate::reps::{Doubt, Repetition};
use crate::routine::{Tempo, TempoBand, Verdict};

/// What a person says of a recording beside what it says itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Expectation {
    /// The movement.
    pub movement: Option<Movement>,
    /// Which hand.
    pub side: Option<Side>,
    /// The prescribed tempo.
    pub tempo: Option<Tempo>,
}

/// An expectation that the recording contradicts.
#[derive(Debug, Clone, PartialEq, Error)]
#[error(
    "{option} {asked} contradicts the recording, whose set at {start_s:.1} s says {recorded}: leave the option out"
)]
pub struct ExpectationError {
    /// The option.
    pub option: &'static str,
    /// What it says.
    pub asked: String,
    /// What the recording says.
    pub recorded: String,
    /// Start of the set, seconds.
    pub start_s: f64,
}

/// A set as it was asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SetSpec {
    /// Start, seconds.
    pub start_s: f64,
    /// End, seconds: the first sample that is not earlier is no part of it. Infinite where only the
    /// record's end ends it.
    pub end_s: f64,
    /// The movement.
    pub movement: Option<Movement>,
    /// Which hand.
    pub side: Option<Side>,
    /// Load, kg.
    pub load_kg: Option<f64>,
    /// Where the mass of the load lies.
    pub load_shape: Option<LoadShape>,
    /// How the arm is held.
    pub posture: Option<Posture>,
    /// Prescribed tempo.
    pub tempo: Option<Tempo>,
    /// Prescribed repetitions.
    pub target_reps: Option<u32>,
    /// Whether it is a direction of a range test.
    pub range_test: bool,
    /// The item of the routine.
    pub item: Option<ItemRef>,
    /// Why it ended.
    pub end_reason: Option<SetEndReason>,
    /// What counts as in tempo.
    pub band: TempoBand,
}

impl SetSpec {
    /// A set from what was announced at its start.
    pub fn announced(start_s: f64, start: &SetStart, band: TempoBand) -> SetSpec {
        SetSpec {
            start_s,
            end_s: f64::INFINITY,
            movement: start.movement,
            side: start.side,
            load_kg: start.load_kg,
            load_shape: start.load_shape,
            posture: start.posture,
            tempo: start.tempo,
            target_reps: start.target_reps,
            range_test: start.range_test,
            item: start.item.clone(),
            end_reason: None,
            band,
        }
    }

    /// The phase that the tempo's first number is held against. A movement that is not named is
    /// taken for a curl, whose lowering is eccentric; in a range test neither phase is.
    pub fn eccentric(&self) -> Option<MovingPhase> {
        match self.movement {
            _ if self.range_test => None,
            None => Some(MovingPhase::Lower),
            Some(movement) => {
                let posture = self.posture.unwrap_or_else(|| movement.usual_posture());
                movement.eccentric(&posture, self.load_kg, self.load_shape)
            }
        }
    }

    /// Whether the forearm is to lie on something, as the posture says; unknown is no.
    pub fn forearm_rests(&self) -> bool {
        self.posture
            .is_some_and(|posture| posture.forearm == ForearmSupport::Rested)
    }

    /// The band in seconds, where a time is prescribed and a phase is eccentric.
    pub fn band_times(&self) -> Option<BandTimes> {
        self.eccentric()?;
        let prescribed_s = self.tempo?.lower_s.seconds()?;
        Some(BandTimes {
            low_s: self.band.low_ratio * prescribed_s,
            high_s: self.band.high_ratio * prescribed_s,
            prescribed_s,
        })
    }

    /// The eccentric phase of a repetition against the prescribed tempo; `None` where nothing is
    /// prescribed, no phase is eccentric, or the record cuts it.
    pub fn verdict(&self, repetition: &Repetition) -> Option<Verdict> {
        let prescribed = self.tempo?.lower_s;
        let (actual_s, cut) = match self.eccentric()? {
            MovingPhase::Lift => (repetition.lift_s(), Doubt::StartCut),
            MovingPhase::Lower => (repetition.lower_s(), Doubt::EndCut),
        };
        if repetition.doubts.contains(&cut) {
            return None;
        }
        self.band.verdict(actual_s, prescribed)
    }

    /// Adds what a person expects.
    ///
    /// # Errors
    /// [`ExpectationError`] where the recording says otherwise.
    pub fn expect(&mut self, expected: &Expectation) -> Result<(), ExpectationError> {
        let start_s = self.start_s;
        let error = |option, asked: String, recorded: String| ExpectationError {
            option,
            asked,
            recorded,
            start_s,
        };
        if let Some(asked) = expected.movement {
            match self.movement {
                Some(recorded) if recorded != asked => {
                    let words = (asked.name().to_owned(), recorded.name().to_owned());
                    return Err(error("--exercise", words.0, words.1));
                }
                _ => self.movement = Some(asked),
            }
        }
        if let Some(asked) = expected.side {
            match self.side {
                Some(recorded) if recorded != asked => {
                    let words = (asked.name().to_owned(), recorded.name().to_owned());
                    return Err(error("--side", words.0, words.1));
                }
                _ => self.side = Some(asked),
            }
        }
        if let Some(asked) = expected.tempo {
            match self.tempo {
                Some(recorded) if recorded != asked => {
                    return Err(error("--tempo", asked.code(), recorded.code()));
                }
                _ => self.tempo = Some(asked),
            }
        }
        Ok(())
    }
}

/// The sets of a recording by its events; without set events the whole record is one. What nothing
/// ended has no end yet.
///
/// # Errors
/// [`ExpectationError`] where an expectation contradicts the recording.
pub fn set_specs(
    recording: &Recording,
    expected: &Expectation,
) -> Result<Vec<SetSpec>, ExpectationError> {
    let Some(first) = recording.hand.first() else {
        return Ok(Vec::new());
    };
    let band = band_of(recording);
    let mut specs: Vec<SetSpec> = Vec::new();
    let (mut open, mut announced) = (false, false);
    for event in &recording.events {
        match &event.kind {
            EventKind::SetStart(start) => {
                if open && let Some(spec) = specs.last_mut() {
                    spec.end_s = event.t_s;
                }
                specs.push(SetSpec::announced(event.t_s, start, band));
                (open, announced) = (true, true);
            }
            EventKind::SetEnd(end) if open && end.taken_back => {
                let _no_set = specs.pop();
                open = false;
            }
            EventKind::SetEnd(end) if open => {
                if let Some(spec) = specs.last_mut() {
                    spec.end_s = event.t_s;
                    spec.end_reason = end.reason;
                }
                open = false;
            }
            _ => {}
        }
    }
    if !announced {
        specs.push(SetSpec {
            start_s: first.t_s,
            end_s: f64::INFINITY,
            band,
            ..SetSpec::default()
        });
    }
    for spec in &mut specs {
        spec.expect(expected)?;
    }
    Ok(specs)
}

/// The tempo band of the routine that a recording was made under.
pub fn band_of(recording: &Recording) -> TempoBand {
    recording
        .head
        .as_ref()
        .and_then(|head| head.routine.as_ref())
        .map(|routine| routine.tempo_band)
        .unwrap_or_default()
}
