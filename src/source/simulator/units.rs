//! The units that one invented person wears, and what they tell, in the order in which it comes.

use super::forearm::OnForearm;
use super::live_unit::LiveUnit;
use super::random::Random;
use super::way::Way;
use crate::source::signal::Signal;

/// A unit on the forearm is connected so long after the hand's, seconds.
const LATER_S: f64 = 0.15;

/// The unit on the forearm, and what goes wrong with it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ForearmPlan {
    /// Share of its packets that never arrive.
    pub lost_ratio: f64,
    /// Its lost links: from when, and for how long, seconds of the recording.
    pub losses_s: Vec<[f64; 2]>,
}

/// The units.
#[derive(Debug)]
pub struct Units {
    hand: LiveUnit,
    forearm: Option<(LiveUnit, OnForearm)>,
}

impl Units {
    /// The hand's unit, and one on the forearm, if it is planned, which is connected soon after
    /// `connects_s`. What is drawn for it changes nothing of the hand's.
    pub fn new(hand: LiveUnit, forearm: Option<&ForearmPlan>, connects_s: f64, seed: u64) -> Units {
        let forearm = forearm.map(|plan| {
            let mut random = Random::new(seed.wrapping_add(0x000f_0e0a));
            let worn = OnForearm::strapped(&mut random);
            let losses_s = plan.losses_s.clone();
            let connects_s = connects_s + LATER_S;
            let unit = LiveUnit::on_forearm(connects_s, plan.lost_ratio, losses_s, random);
            (unit, worn)
        });
        Units { hand, forearm }
    }

    /// What was told and not taken yet, in order.
    pub fn take(&mut self) -> Option<Signal> {
        let Some((forearm, _)) = &mut self.forearm else {
            return self.hand.take();
        };
        let sure_s = self.hand.nothing_before_s().min(forearm.nothing_before_s());
        let first = match (self.hand.told_s(), forearm.told_s()) {
            (Some(hand_s), Some(forearm_s)) if forearm_s < hand_s => forearm,
            (None, _) => forearm,
            (Some(_), _) => &mut self.hand,
        };
        if first.told_s()? > sure_s {
            return None;
        }
        first.take()
    }

    /// Time of the next sample of all, seconds.
    pub fn next_s(&self) -> f64 {
        let forearm_s = self.forearm.as_ref().map(|(unit, _)| unit.next_s());
        self.hand.next_s().min(forearm_s.unwrap_or(f64::INFINITY))
    }

    /// Time of the sample after the next packet, seconds.
    pub fn packet_end_s(&self) -> f64 {
        match &self.forearm {
            Some((unit, _)) if unit.next_s() < self.hand.next_s() => unit.packet_end_s(),
            _ => self.hand.packet_end_s(),
        }
    }

    /// The next packet's time of the unit whose turn it is, on a way that began at `begins_s` by the
    /// recording's start, seconds.
    pub fn packet(&mut self, way: &Way, begins_s: f64) {
        match &mut self.forearm {
            Some((unit, worn)) if unit.next_s() < self.hand.next_s() => {
                unit.packet(|t_s| way.read_forearm(worn, t_s - begins_s));
            }
            _ => self.hand.packet(|t_s| way.read(t_s - begins_s)),
        }
    }

    /// Loses the hand's link from that time by the recording's start, seconds, for so long.
    pub fn lose(&mut self, from_s: f64, lasting_s: f64) {
        self.hand.lose(from_s, lasting_s);
    }
}
