//! From packets and their arrivals to signals on the recording's time line.

use crate::recording::ClockInfo;
use crate::sample::Place;

use super::profile::Description;
use crate::source::signal::Told;

/// What came and what did not, since the stream began.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Figures {
    /// Packets that came, good and bad.
    pub packets_count: u64,
    /// Samples delivered.
    pub received_count: u64,
    /// Samples that the unit counted and that were never delivered.
    pub lost_count: u64,
    /// Samples that came after later ones and were put back in order.
    pub reordered_count: u64,
    /// Samples that came too late to be put back; they are among the lost.
    pub late_count: u64,
    /// Samples that came again.
    pub repeated_count: u64,
    /// Packets of an unknown length, version or count, and strays.
    pub bad_count: u64,
    /// Restarts of the unit.
    pub restarts_count: u64,
    /// Samples with an axis at the end of its range.
    pub saturated_count: u64,
}

/// One unit's packets made into signals.
#[derive(Debug, Clone)]
pub struct UnitStream {
    place: Place,
    description: Description,
    figures: Figures,
}

impl UnitStream {
    /// A stream from a unit at that place with those scales.
    pub fn new(place: Place, description: Description) -> UnitStream {
        UnitStream {
            place,
            description,
            figures: Figures::default(),
        }
    }

    /// Takes a packet that arrived at `arrival_s`, seconds since the recording's start on this
    /// computer's monotonic clock.
    pub fn packet(&mut self, _bytes: &[u8], _arrival_s: f64) -> Vec<Told> {
        self.figures.packets_count += 1;
        Vec::new()
    }

    /// Nothing came until `now_s`: lets go of what was held back for too long. To be called now
    /// and then (every 50 ms or so) while nothing comes.
    pub fn idle(&mut self, _now_s: f64) -> Vec<Told> {
        Vec::new()
    }

    /// The settings were written and the description read again: its scales are in force for the
    /// packets from now on. Packets that came between the write and this call must not be given.
    pub fn settings_changed(&mut self, description: Description) -> Vec<Told> {
        self.description = description;
        Vec::new()
    }

    /// The link is back and the description read again.
    pub fn reconnected(&mut self, description: Description) -> Vec<Told> {
        self.description = description;
        Vec::new()
    }

    /// The stream ends: gives what is still held back.
    pub fn finish(&mut self) -> Vec<Told> {
        Vec::new()
    }

    /// The clock as estimated so far, for a recording; `None` before the first sample.
    pub fn clock(&self) -> Option<ClockInfo> {
        Some(ClockInfo {
            place: Some(self.place),
            offset_s: None,
            drift_ppm: None,
        })
    }

    /// What came and what did not.
    pub fn figures(&self) -> Figures {
        self.figures
    }

    /// The description in force.
    pub fn description(&self) -> &Description {
        &self.description
    }
}
