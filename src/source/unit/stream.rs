//! From packets and their arrivals to signals on the recording's time line.
//!
//! Ours. A sample's time is the unit's own clock plus a constant that is set at first contact, in
//! whole microseconds; after a restart of the unit there is a new constant, unless its clock went
//! on. The constant is such that the newest sample of the faster of the first two packets was
//! measured when it arrived: times are late by the shortest delay of the radio, some milliseconds.
//! Times never decrease, and are never before the recording's start.
//!
//! First contact and a restart are believed when a second packet agrees: a packet of the right
//! length and wrong content does not throw the time line over. So the first packet's samples come
//! with the second.
//!
//! A gap is an event when the time steps by more than [`GAP_S`] and one and a half spacings: a
//! packet or two lost at 100 samples a second do not fill the events, and every lost sample is in
//! the figures.

use super::clock::{ClockEnvelope, ClockEstimate};
pub use super::figures::Figures;
use super::hold::{Hold, Passed, Taken};
use super::latency::{Latency, LatencyCounts};
use super::packet::Packet;
use super::profile::Description;
use super::reading::{is_saturated, sample};
use super::unwrapping::{Placed, Unwrapping};
use crate::recording::{ClockInfo, Gap};
use crate::sample::Place;
use crate::source::signal::Told;

/// A step in time of more than this is a gap that is told, seconds.
pub const GAP_S: f64 = 0.1;
/// A drift that is less certain than this is unknown, parts per million.
const KNOWN_DRIFT_PPM: f64 = 20.0;
/// Arrivals further from the recording's start than this (30 years) are none, seconds.
const LAST_ARRIVAL_S: f64 = 1e9;

/// From one start of the unit to the next.
#[derive(Debug, Clone)]
struct Run {
    unwrapping: Unwrapping,
    hold: Hold,
    /// Recording time minus unit time, microseconds.
    offset_us: i64,
    /// Number of the last sample delivered.
    last_index: Option<i64>,
    /// The run began with a restart that was not asked for: something is lost before it.
    is_after_loss: bool,
}

/// A packet that begins something, if the next one agrees.
#[derive(Debug, Clone)]
struct Candidate {
    packet: Packet,
    arrival_us: i64,
}

/// One unit's packets made into signals.
#[derive(Debug, Clone)]
pub struct UnitStream {
    place: Place,
    description: Description,
    run: Option<Run>,
    candidate: Option<Candidate>,
    /// The unit was asked to start its stream again.
    is_restart_expected: bool,
    envelope: ClockEnvelope,
    latency: LatencyCounts,
    figures: Figures,
    /// Time of the last sample delivered, microseconds.
    last_us: Option<i64>,
    now_us: i64,
}

impl UnitStream {
    /// A stream from a unit at that place with those scales.
    pub fn new(place: Place, description: Description) -> UnitStream {
        UnitStream {
            place,
            description,
            run: None,
            candidate: None,
            is_restart_expected: false,
            envelope: ClockEnvelope::new(),
            latency: LatencyCounts::new(),
            figures: Figures::default(),
            last_us: None,
            now_us: 0,
        }
    }

    /// Takes a packet that arrived at `arrival_s`, seconds since the recording's start on this
    /// computer's monotonic clock; gives what is to be told now, in order.
    ///
    /// Bytes that are no packet are counted and tell nothing.
    pub fn packet(&mut self, bytes: &[u8], arrival_s: f64) -> Vec<Told> {
        let mut told = Vec::new();
        self.figures.packets_count += 1;
        let arrival_us = self.advance(arrival_s);
        let Ok(packet) = Packet::read(bytes) else {
            self.figures.bad_count += 1;
            self.release(arrival_us, &mut told);
            return told;
        };
        let placed = match &self.run {
            Some(run) if !self.is_restart_expected => {
                run.unwrapping.place(packet.stamp, arrival_us)
            }
            _ => None,
        };
        if let Some(first) = placed {
            // What did not fit in between was a stray.
            self.figures.bad_count += u64::from(self.candidate.take().is_some());
            self.take(&packet, first, arrival_us, &mut told);
        } else {
            self.begin(packet, arrival_us, &mut told);
        }
        self.release(arrival_us, &mut told);
        told
    }

    /// Nothing came until `now_s`: lets go of what was held back for too long. To be called every
    /// 50 ms or so while nothing comes.
    pub fn idle(&mut self, now_s: f64) -> Vec<Told> {
        let mut told = Vec::new();
        let now_us = self.advance(now_s);
        self.release(now_us, &mut told);
        told
    }

    /// The settings were written and the description read again: its scales are in force for the
    /// packets from now on, and the unit's stream starts again. Packets that came between the
    /// write and this call must not be given.
    pub fn settings_changed(&mut self, description: Description) -> Vec<Told> {
        let told = self.finish();
        self.description = description;
        self.is_restart_expected = self.run.is_some();
        told
    }

    /// The link is back and the description read again. The unit may have gone on or started
    /// again; the packets will tell.
    pub fn reconnected(&mut self, description: Description) -> Vec<Told> {
        if description != self.description {
            return self.settings_changed(description);
        }
        self.finish()
    }

    /// Gives what is still held back: at the end of the stream, or where the link is lost.
    pub fn finish(&mut self) -> Vec<Told> {
        let mut told = Vec::new();
        self.candidate = None;
        let mut passed = Vec::new();
        if let Some(run) = &mut self.run {
            run.hold.give_up_all(&mut passed);
        }
        self.deliver(passed, &mut told);
        told
    }

    /// The clock for a recording, as known so far: the constant in force, and the drift where it
    /// is certain to 20 ppm or its own fifth. `None` before the first sample.
    pub fn clock(&self) -> Option<ClockInfo> {
        let run = self.run.as_ref()?;
        let drift_ppm = self.envelope.estimate().and_then(|estimate| {
            let error_ppm = estimate.drift_error_ppm?;
            let most_ppm = KNOWN_DRIFT_PPM.max(estimate.drift_ppm.abs() / 5.0);
            (error_ppm <= most_ppm).then_some((estimate.drift_ppm * 10.0).round() / 10.0)
        });
        Some(ClockInfo {
            place: Some(self.place),
            offset_s: Some(seconds(run.offset_us)),
            drift_ppm,
        })
    }

    /// Arrivals against the times on the recording's time line, since the last restart: by how much
    /// the constant is off what the envelope says, and the drift with its error.
    pub fn estimate(&self) -> Option<ClockEstimate> {
        self.envelope.estimate()
    }

    /// How late packets came against the fastest so far: the newest sample of each.
    pub fn latency(&self) -> Option<Latency> {
        self.latency.latency()
    }

    /// Samples that wait for a hole before them to be filled; never more than about a thousand.
    pub fn waiting_count(&self) -> usize {
        self.run.as_ref().map_or(0, |run| run.hold.waiting_count())
    }

    /// What came and what did not.
    pub fn figures(&self) -> Figures {
        self.figures
    }

    /// The description in force.
    pub fn description(&self) -> &Description {
        &self.description
    }

    /// This computer's time in microseconds; it never goes back.
    fn advance(&mut self, now_s: f64) -> i64 {
        if (0.0..LAST_ARRIVAL_S).contains(&now_s) {
            self.now_us = self.now_us.max((now_s * 1e6).round() as i64);
        }
        self.now_us
    }

    /// A packet that does not follow on: the first of a new run, if another has agreed.
    fn begin(&mut self, packet: Packet, arrival_us: i64, told: &mut Vec<Told>) {
        let nominal_us = nominal_us(&packet, &self.description);
        let agreed = self.candidate.take().and_then(|candidate| {
            let unwrapping =
                Unwrapping::new(candidate.packet.stamp, candidate.arrival_us, nominal_us);
            let second = unwrapping.place(packet.stamp, arrival_us);
            if second.is_none() {
                self.figures.bad_count += 1;
            }
            Some((candidate, unwrapping, second?))
        });
        let Some((candidate, unwrapping, second)) = agreed else {
            self.candidate = Some(Candidate { packet, arrival_us });
            return;
        };
        let mut pair = [
            (candidate.packet, unwrapping.newest(), candidate.arrival_us),
            (packet, second, arrival_us),
        ];
        pair.sort_by_key(|(_, placed, _)| placed.index);
        let shift_us = self.start_run(unwrapping, &pair, told);
        for (packet, placed, arrival_us) in &pair {
            let first = Placed {
                unit_us: placed.unit_us + shift_us,
                ..*placed
            };
            self.take(packet, first, *arrival_us, told);
        }
    }

    /// Starts a run with its first two packets, in the order of their numbers; tells of a new
    /// constant. Gives what is to be added to the packets' unit times: whole wraps, where the
    /// unit's clock went on.
    fn start_run(
        &mut self,
        mut unwrapping: Unwrapping,
        pair: &[(Packet, Placed, i64); 2],
        told: &mut Vec<Told>,
    ) -> i64 {
        let [(packet, first, arrival_us), _] = pair;
        let mut passed = Vec::new();
        let mut going_on = None;
        let is_after_loss = self.run.is_some() && !self.is_restart_expected;
        if let Some(run) = &mut self.run {
            run.hold.give_up_all(&mut passed);
            let could_be_young = run.unwrapping.could_be_young(packet.stamp, *arrival_us);
            let same_us = run
                .unwrapping
                .same_clock_us(packet.stamp, *arrival_us)
                .filter(|_| self.is_restart_expected || !could_be_young);
            going_on = same_us.map(|same_us| (same_us - first.unit_us, run.offset_us));
            self.figures.restarts_count += u64::from(is_after_loss);
        }
        self.deliver(passed, told);
        self.is_restart_expected = false;
        let (shift_us, offset_us) = going_on.unwrap_or_else(|| (0, self.new_offset_us(pair)));
        unwrapping.shift(shift_us);
        self.run = Some(Run {
            unwrapping,
            hold: Hold::new(first.index),
            offset_us,
            last_index: None,
            is_after_loss,
        });
        if going_on.is_none() {
            self.envelope = ClockEnvelope::new();
            told.push(Told::Clock(ClockInfo {
                place: Some(self.place),
                offset_s: Some(seconds(offset_us)),
                drift_ppm: None,
            }));
        }
        shift_us
    }

    /// The constant by which the faster of the two packets ends when it arrives, and the first
    /// sample is neither before the recording's start nor before what was delivered.
    fn new_offset_us(&self, pair: &[(Packet, Placed, i64); 2]) -> i64 {
        let offsets = pair.iter().map(|(packet, placed, arrival_us)| {
            let (_, length_us) = reach(packet);
            arrival_us - placed.unit_us - length_us
        });
        let [(_, first, _), _] = pair;
        let earliest_us = self.last_us.map_or(0, |last_us| last_us + 1);
        offsets.min().unwrap_or(0).max(earliest_us - first.unit_us)
    }

    /// Takes a packet whose first sample belongs there.
    fn take(&mut self, packet: &Packet, first: Placed, arrival_us: i64, told: &mut Vec<Told>) {
        let Some(run) = &mut self.run else {
            return;
        };
        let mut passed = Vec::new();
        let mut has_new = false;
        let spacing_us = i64::from(packet.spacing_us.unwrap_or(0));
        for (step, raw) in (0_i64..).zip(&packet.readings) {
            let sample = Passed {
                index: first.index + step,
                unit_us: first.unit_us + step * spacing_us,
                raw: *raw,
            };
            let taken = run.hold.take(sample, arrival_us, &mut passed);
            has_new |= matches!(taken, Taken::InOrder | Taken::PutBack);
            match taken {
                Taken::InOrder => {}
                Taken::PutBack => self.figures.reordered_count += 1,
                Taken::Late => self.figures.late_count += 1,
                Taken::Repeated => self.figures.repeated_count += 1,
            }
        }
        if has_new {
            let (steps, length_us) = reach(packet);
            let last = Placed {
                index: first.index + steps,
                unit_us: first.unit_us + length_us,
            };
            run.unwrapping.take(last, arrival_us);
            let (last_s, arrival_s) = (seconds(last.unit_us + run.offset_us), seconds(arrival_us));
            self.envelope.push(last_s, arrival_s);
            if let Some(late_s) = self.envelope.lateness_s(last_s, arrival_s) {
                self.latency.push(late_s);
            }
        }
        self.deliver(passed, told);
    }

    /// Lets go of what has waited for long enough.
    fn release(&mut self, now_us: i64, told: &mut Vec<Told>) {
        let mut passed = Vec::new();
        if let Some(run) = &mut self.run {
            run.hold.give_up_until(now_us, &mut passed);
        }
        self.deliver(passed, told);
    }

    /// Tells of samples in order, and of the gaps before them.
    fn deliver(&mut self, passed: Vec<Passed>, told: &mut Vec<Told>) {
        let Some(run) = &mut self.run else {
            return;
        };
        let step_us = (1e6 * GAP_S).max(1.5 * run.unwrapping.spacing_us());
        for own in passed {
            let lost = run.last_index.map(|last| own.index - last - 1);
            let lost_count = lost.and_then(|lost| u64::try_from(lost).ok());
            self.figures.lost_count += lost_count.unwrap_or(0);
            self.figures.received_count += 1;
            let mut t_us = own.unit_us + run.offset_us;
            if let Some(last_us) = self.last_us {
                t_us = t_us.max(last_us);
                let is_after_restart = run.is_after_loss && run.last_index.is_none();
                if is_after_restart || (t_us - last_us) as f64 > step_us {
                    told.push(Told::Gap(Gap {
                        place: Some(self.place),
                        start_s: Some(seconds(last_us)),
                        end_s: Some(seconds(t_us)),
                        lost_count,
                    }));
                }
            }
            self.last_us = Some(t_us);
            run.last_index = Some(own.index);
            let sample = sample(&own.raw, &self.description, seconds(t_us));
            if is_saturated(&own.raw, &sample, &self.description) {
                self.figures.saturated_count += 1;
            }
            told.push(Told::Sample(self.place, sample));
        }
    }
}

/// How far a packet's last sample lies from its first: in number and in microseconds.
fn reach(packet: &Packet) -> (i64, i64) {
    let steps = i64::try_from(packet.readings.len()).unwrap_or(1).max(1) - 1;
    (steps, steps * i64::from(packet.spacing_us.unwrap_or(0)))
}

/// Time between two samples as the packet or else the description says it, microseconds.
fn nominal_us(packet: &Packet, description: &Description) -> f64 {
    match packet.spacing_us {
        Some(spacing_us) if spacing_us > 0 => f64::from(spacing_us),
        _ => 1e6 / description.rate_hz(),
    }
}

/// The nearest number of seconds: six decimals are all that it needs.
fn seconds(whole_us: i64) -> f64 {
    whole_us as f64 / 1e6
}
