//! What the listener is told.

use std::time::Instant;

use super::Session;
use crate::recording::Battery;
use crate::sample::Place;
use crate::source::radio::link::Link;
use crate::source::signal::{Signal, Told};
use crate::source::unit::stream::UnitStream;

impl Session {
    pub(super) fn since_origin_s(&self, at: Instant) -> f64 {
        at.saturating_duration_since(self.origin).as_secs_f64()
    }

    pub(super) fn packet(&mut self, stream: &mut UnitStream, arrival: Instant, bytes: &[u8]) {
        let at_s = self.since_origin_s(arrival);
        for told in stream.packet(bytes, at_s) {
            self.tell_at(at_s, told);
        }
    }

    pub(super) fn tell_connected(&mut self, place: Place, link: &Link) {
        let name = self.name().to_owned();
        let firmware = link.firmware.clone();
        let info = link.description.sensor_info(place, Some(name), firmware);
        self.tell(Told::Connected(info));
        self.tell_charge(place, link.battery_percent);
    }

    pub(super) fn tell_charge(&mut self, place: Place, percent: Option<u8>) {
        if percent.is_some() {
            self.tell(Told::Battery(Battery {
                place: Some(place),
                percent,
            }));
        }
    }

    pub(super) fn tell_all(&mut self, told: Vec<Told>) {
        for told in told {
            self.tell(told);
        }
    }

    pub(super) fn tell(&mut self, told: Told) {
        self.tell_at(self.since_origin_s(Instant::now()), told);
    }

    pub(super) fn tell_at(&mut self, at_s: f64, told: Told) {
        if self.away
            && let Told::Sample(place, _) = &told
        {
            self.away = false;
            self.send(at_s, Told::Back(*place));
        }
        self.send(at_s, told);
    }

    fn send(&mut self, at_s: f64, told: Told) {
        self.unheard |= self.signals.send(Signal { at_s, told }).is_err();
    }
}
