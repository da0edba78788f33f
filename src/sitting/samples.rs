//! What a sitting does with units that are connected and with their samples.

use super::Sitting;
use crate::pipeline::UNKNOWN_RATE_HZ;
use crate::pipeline::live::{Live, LiveParams};
use crate::recording::{EventKind, SensorInfo};
use crate::sample::{Place, Sample};
use crate::session::{Link, Machine, Second};
use crate::sitting::Shown;

impl<M: Machine> Sitting<'_, M> {
    pub(super) fn connected(&mut self, at_s: f64, mut info: SensorInfo) {
        let of_hand = info.place != Some(Place::Forearm);
        if self.live.is_none() && of_hand {
            // A replay takes the rate from this event: what is assumed is written.
            info.rate_hz.get_or_insert(UNKNOWN_RATE_HZ);
            let routine = self.plan.head.routine.as_ref();
            self.live = LiveParams::of_sensor(&info, routine, self.plan.kind).map(Live::new);
            if let Some(live) = &mut self.live {
                for event in std::mem::take(&mut self.early) {
                    live.event(event);
                }
                for sample in std::mem::take(&mut self.early_forearm) {
                    live.forearm_sample(&sample);
                }
            }
        }
        if !std::mem::replace(&mut self.connected, true) {
            self.open(at_s);
        }
        if of_hand && !std::mem::replace(&mut self.hand_connected, true) {
            self.machine.connected(at_s);
        }
        (self.show)(Shown::Connected(&info));
        self.record(at_s, EventKind::Sensor(info));
        if !of_hand {
            self.second(at_s, Second::Connected);
        }
    }

    pub(super) fn sample(&mut self, at_s: f64, place: Place, sample: Sample) {
        match place {
            Place::Hand => self.of_hand(at_s, sample),
            Place::Forearm => self.of_forearm(sample),
        }
    }

    fn of_hand(&mut self, at_s: f64, sample: Sample) {
        if self.live.is_none() {
            // No source does this; its samples are kept all the same.
            self.connected(at_s, SensorInfo::default());
        }
        self.heard_s = Some(at_s);
        if std::mem::take(&mut self.asleep) {
            let outputs = self.machine.link(Link::Back);
            self.carry_out(at_s, outputs);
        }
        if !self.keeping.sample(Place::Hand, &sample, self.show) {
            return;
        }
        self.samples_count += 1;
        self.last_sample_s = sample.t_s;
        let Some(live) = &mut self.live else {
            return;
        };
        let step = live.sample(&sample);
        let outputs = self.machine.step(&step);
        self.step = Some(step);
        self.carry_out(at_s, outputs);
    }

    fn of_forearm(&mut self, sample: Sample) {
        if self.keeping.sample(Place::Forearm, &sample, self.show) {
            match &mut self.live {
                Some(live) => live.forearm_sample(&sample),
                None => self.early_forearm.push(sample),
            }
        }
    }
}
