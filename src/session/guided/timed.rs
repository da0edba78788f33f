//! What is done by the clock: holds, glides, and the question half-way.
//!
//! Ours. The sensor sees how the hand is turned, not how hard it is drawn: of a stretch it can say
//! whether the hand is steady and whether it is still where the hold began, and no more.

use std::collections::VecDeque;

use nalgebra::UnitQuaternion;
use serde::Serialize;

use super::line::Line;
use super::{At, Guided, Output};
use crate::movement::{GlidePosition, Side};
use crate::orientation::Oriented;
use crate::routine::{Item, PartHands, TimedDose};

/// A hand gets into a stretch within this time; where it is then is held, seconds.
const SETTLES_S: f64 = 3.0;
/// Steadiness is that of the last so many seconds,
const STEADY_S: f64 = 1.0;
/// within which the hand turns by less than this, degrees (common practice, no source).
const STEADY_DEG: f64 = 4.0;

/// Something done by the clock.
#[derive(Debug, Clone)]
pub(super) struct Timed {
    pub(super) began_s: f64,
    pub(super) lasting_s: f64,
    pub(super) provokes: bool,
    /// Tingling is being asked about since then.
    pub(super) asking_since_s: Option<f64>,
    pub(super) asked: bool,
    /// Time at each position of a glide.
    glide_s: Option<f64>,
    /// Positions that were said.
    positions_said: u32,
    /// The hand that wears the sensor holds a stretch.
    hold: Option<Hold>,
}

/// How a stretch is held.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HoldView {
    /// Whether the hand is steady.
    pub steady: bool,
    /// How far it is turned away from where the hold began, degrees.
    pub away_deg: f64,
}

#[derive(Debug, Clone, Default)]
struct Hold {
    began_s: Option<f64>,
    kept: Option<UnitQuaternion<f64>>,
    latest: VecDeque<(f64, UnitQuaternion<f64>)>,
}

impl Hold {
    fn push(&mut self, now: &Oriented) {
        let began_s = *self.began_s.get_or_insert(now.t_s);
        let pose = now.world_from_sensor;
        while self
            .latest
            .front()
            .is_some_and(|(t_s, _)| now.t_s - t_s > STEADY_S)
        {
            self.latest.pop_front();
        }
        self.latest.push_back((now.t_s, pose));
        if now.t_s - began_s >= SETTLES_S {
            self.kept.get_or_insert(pose);
        }
    }

    fn view(&self) -> Option<HoldView> {
        let (_, now) = self.latest.back()?;
        let turned_deg = |from: &UnitQuaternion<f64>| from.angle_to(now).to_degrees();
        let most_deg = self
            .latest
            .iter()
            .map(|(_, pose)| turned_deg(pose))
            .fold(0.0, f64::max);
        Some(HoldView {
            steady: most_deg < STEADY_DEG,
            away_deg: turned_deg(self.kept.as_ref()?).round(),
        })
    }
}

impl Timed {
    /// Whether tingling is being asked about.
    pub(super) fn is_asking(&self) -> bool {
        self.asking_since_s.is_some()
    }

    /// Seconds that are left.
    pub(super) fn left_s(&self, now_s: f64) -> f64 {
        let now_s = self.asking_since_s.unwrap_or(now_s);
        (self.began_s + self.lasting_s - now_s).max(0.0)
    }

    /// How the stretch is held, where the sensor sees it.
    pub(super) fn hold(&self) -> Option<HoldView> {
        self.hold.as_ref()?.view()
    }

    /// The position of a glide now.
    pub(super) fn position(&self) -> Option<GlidePosition> {
        self.glide_s?;
        let place = self.positions_said.checked_sub(1)? as usize % GlidePosition::ALL.len();
        GlidePosition::ALL.get(place).copied()
    }

    pub(super) fn push(&mut self, now: &Oriented) {
        if !self.is_asking()
            && let Some(hold) = &mut self.hold
        {
            hold.push(now);
        }
    }

    /// The next position, when it is due.
    fn next_position(&mut self, now_s: f64) -> Option<GlidePosition> {
        let due_s = self.began_s + f64::from(self.positions_said) * self.glide_s?;
        if now_s < due_s || now_s >= self.began_s + self.lasting_s {
            return None;
        }
        self.positions_said += 1;
        self.position()
    }
}

impl Guided {
    /// What the item at hand is by the clock, from now on; `None` for a counted one.
    pub(super) fn by_the_clock(&self) -> Option<Timed> {
        let (lasting_s, provokes, glide_s) = match self.item()? {
            Item::Stretch(stretch) => (stretch.hold_s, stretch.provokes(), None),
            Item::Timed(timed) => {
                let glide_s = match timed.dose {
                    TimedDose::Glides { pause_s, .. } => Some(pause_s),
                    TimedDose::Seconds { .. } => None,
                };
                (timed.dose.duration_s(), timed.provokes(), glide_s)
            }
            Item::Counted(_) | Item::RangeTest(_) => return None,
        };
        let hold = matches!(self.item(), Some(Item::Stretch(_))) && self.sensor_is_on_it();
        Some(Timed {
            began_s: self.now_s,
            lasting_s,
            provokes,
            asking_since_s: None,
            asked: false,
            glide_s,
            positions_said: 0,
            hold: hold.then(Hold::default),
        })
    }

    /// Whether the hand at work wears the sensor.
    fn sensor_is_on_it(&self) -> bool {
        let strapped: Option<Side> = self.strapped.map(|(side, _)| side);
        let hands = self.course.get(self.part).map(|part| part.hands);
        match (hands, strapped) {
            (Some(PartHands::One(side)), Some(strapped)) => side == strapped,
            (Some(PartHands::Both), Some(_)) => true,
            _ => false,
        }
    }

    /// What is due by the clock.
    pub(super) fn clock(&mut self, out: &mut Vec<Output>) {
        let now_s = self.now_s;
        let At::Timed(timed) = &mut self.at else {
            return;
        };
        if timed.is_asking() {
            return;
        }
        let half_s = timed.began_s + 0.5 * timed.lasting_s;
        if timed.provokes && !timed.asked && now_s >= half_s {
            timed.asked = true;
            timed.asking_since_s = Some(now_s);
            out.push(Output::Say(Line::AnyTingling));
        } else if now_s >= timed.began_s + timed.lasting_s {
            out.push(Output::Say(Line::TimeIsUp));
            self.part_over(out);
        } else if let Some(position) = timed.next_position(now_s) {
            out.push(Output::Say(Line::Position(position)));
        }
    }

    /// It tingles: that ends the item.
    pub(super) fn tingles(&mut self, out: &mut Vec<Output>) {
        if !matches!(&self.at, At::Timed(timed) if timed.is_asking()) {
            return;
        }
        self.pain_said = true;
        let item = self.item().map_or("", super::line::item_title).to_owned();
        out.push(super::course::tingling(None, &item));
        out.push(Output::Say(Line::EndOfItem));
        self.next_item(out);
    }

    /// It does not: the time of the question is no time of the stretch.
    pub(super) fn tingles_not(&mut self) {
        if let At::Timed(timed) = &mut self.at
            && let Some(since_s) = timed.asking_since_s.take()
        {
            timed.began_s += self.now_s - since_s;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use nalgebra::Vector3;

    use super::*;

    /// A hand that turns by this many degrees about an oblique axis at a time.
    fn held(turned_deg: impl Fn(f64) -> f64, lasting_s: f64) -> Hold {
        let mut hold = Hold::default();
        let axis = Vector3::new(0.6, 0.0, 0.8);
        for step in 0..(lasting_s * 50.0) as usize {
            let t_s = step as f64 / 50.0;
            let turn = axis * turned_deg(t_s).to_radians();
            hold.push(&Oriented {
                t_s,
                world_from_sensor: UnitQuaternion::from_scaled_axis(turn),
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: Vector3::zeros(),
            });
        }
        hold
    }

    #[test]
    fn a_hand_that_lets_go_by_ten_degrees_is_ten_degrees_away() {
        // Into the stretch within two seconds, held, and let go by ten at eight seconds.
        let way = |t_s: f64| (30.0 * t_s).min(60.0) - if t_s > 8.0 { 10.0 } else { 0.0 };
        assert_eq!(held(way, 2.5).view(), None, "on the way into it");
        let kept = held(way, 7.0).view().unwrap();
        assert_eq!((kept.steady, kept.away_deg), (true, 0.0));
        assert!(!held(way, 8.5).view().unwrap().steady, "just let go");
        let let_go = held(way, 10.0).view().unwrap();
        assert_eq!((let_go.steady, let_go.away_deg), (true, 10.0));
    }
}
