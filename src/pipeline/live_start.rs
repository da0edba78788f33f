//! With what settings a stream begins: of a recording that is played again, and of a sensor that is
//! just connected. The two agree, so that a replay gives what was given live.

use super::live::LiveParams;
use super::sets::{Expectation, ExpectationError, band_of, set_specs};
use crate::orientation::{FilterKind, nominal_rate_hz};
use crate::recording::{EventKind, Recording, SensorInfo};
use crate::routine::Routine;
use crate::sample::Place;

/// The rate of a sensor that tells none, where its samples cannot tell either, Hz.
pub const UNKNOWN_RATE_HZ: f64 = 100.0;

impl LiveParams {
    /// As a recording asks for it: the rate that its hand sensor first announced, else that of its
    /// samples; where no set is announced, the whole is one.
    ///
    /// # Errors
    /// [`ExpectationError`] where an expectation contradicts the recording.
    pub fn of_recording(
        recording: &Recording,
        expected: &Expectation,
        kind: FilterKind,
    ) -> Result<LiveParams, ExpectationError> {
        let specs = set_specs(recording, expected)?;
        let announced = recording
            .events
            .iter()
            .any(|event| matches!(event.kind, EventKind::SetStart(_)));
        let rate_hz = recording.events.iter().find_map(|event| match &event.kind {
            EventKind::Sensor(sensor) => hand_rate_hz(sensor),
            _ => None,
        });
        Ok(LiveParams {
            rate_hz: rate_hz
                .or_else(|| nominal_rate_hz(&recording.hand))
                .unwrap_or(UNKNOWN_RATE_HZ),
            kind,
            band: band_of(recording),
            expected: expected.clone(),
            whole: specs.into_iter().next().filter(|_| !announced),
        })
    }

    /// As a hand sensor asks for it that is connected for the first time; sets are announced.
    /// `None` where it is not the hand's or tells no rate.
    pub fn of_sensor(
        sensor: &SensorInfo,
        routine: Option<&Routine>,
        kind: FilterKind,
    ) -> Option<LiveParams> {
        Some(LiveParams {
            rate_hz: hand_rate_hz(sensor)?,
            kind,
            band: routine
                .map(|routine| routine.tempo_band)
                .unwrap_or_default(),
            expected: Expectation::default(),
            whole: None,
        })
    }
}

fn hand_rate_hz(sensor: &SensorInfo) -> Option<f64> {
    sensor
        .rate_hz
        .filter(|_| sensor.place != Some(Place::Forearm))
}
