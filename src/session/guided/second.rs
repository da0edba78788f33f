//! The unit on the forearm, where one is worn beside the hand's: shown, said once, and never a
//! reason to stop.

use super::line::Line;
use super::view::{LinkView, SensorView};
use super::{At, Guided, Output};
use crate::session::{Link, Second};

impl LinkView {
    /// What a change of the link makes of it.
    pub(super) fn of(link: Link) -> LinkView {
        match link {
            Link::Back => LinkView::There,
            Link::Lost => LinkView::Lost,
            Link::Stalled => LinkView::Stalled,
            Link::Gone => LinkView::Gone,
        }
    }
}

impl SensorView {
    /// The charge is known, 0 to 100.
    pub(super) fn charged(&mut self, percent: u8) {
        self.battery_percent = Some(percent);
        self.battery_low = percent <= super::BATTERY_LOW_PERCENT;
    }
}

impl Guided {
    /// Something becomes of the forearm's unit.
    pub fn second(&mut self, second: Second) -> Vec<Output> {
        let forearm = self.forearm.get_or_insert_default();
        match second {
            Second::Connected => forearm.link = LinkView::There,
            Second::Battery(percent) => forearm.charged(percent),
            Second::Link(link) => {
                forearm.link = LinkView::of(link);
                // Where it is being put on, the screen says it.
                let worn = self.strapped.is_some() && !matches!(self.at, At::Place { .. });
                let fitting_or_work = matches!(
                    self.at,
                    At::Calibrating(_)
                        | At::Intro
                        | At::Working(_)
                        | At::Timed(_)
                        | At::Rest { .. }
                );
                if link != Link::Back
                    && worn
                    && fitting_or_work
                    && !std::mem::replace(&mut self.forearm_away_said, true)
                {
                    return vec![Output::Say(Line::ForearmAway)];
                }
            }
        }
        Vec::new()
    }

    /// Whether a unit is worn on the forearm too, or is to be.
    pub(super) fn both(&self) -> bool {
        self.forearm.is_some()
    }

    /// Whether all units that are to be worn are there.
    pub(super) fn all_there(&self) -> bool {
        let there = |sensor: &SensorView| sensor.link == LinkView::There;
        there(&self.sensor) && self.forearm.as_ref().is_none_or(there)
    }

    /// A battery that is low is said before work, once for each unit.
    pub(super) fn battery_words(&mut self, out: &mut Vec<Output>) {
        if self.sensor.battery_low && !std::mem::replace(&mut self.battery_said, true) {
            out.push(Output::Say(Line::BatteryLow));
        }
        if self.forearm.is_some_and(|forearm| forearm.battery_low)
            && !std::mem::replace(&mut self.forearm_battery_said, true)
        {
            out.push(Output::Say(Line::ForearmBatteryLow));
        }
    }
}
