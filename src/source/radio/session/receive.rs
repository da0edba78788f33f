//! While the link is there: packets, silence, and what is asked now and then.

use std::time::{Duration, Instant};

use btleplug::api::{CentralEvent, CentralState, Peripheral as _};
use btleplug::platform::Peripheral;
use futures_util::StreamExt;
use tokio::sync::{mpsc, watch};
use tokio::time::{MissedTickBehavior, interval, sleep, timeout};

use super::{End, Session, motion, show, stopped};
use crate::sample::Place;
use crate::source::radio::State;
use crate::source::radio::link::{self, Link};
use crate::source::signal::Told;
use crate::source::unit::stream::UnitStream;

/// Silence that is told: a link that is there and brings nothing.
const SILENCE: Duration = Duration::from_secs(1);
/// Silence after which a link that claims to be there is given up.
const DEAD: Duration = Duration::from_secs(6);
/// How long the question whether the link is there may take.
const PROBE: Duration = Duration::from_millis(1500);
/// Between two such questions.
const PROBE_PAUSE: Duration = Duration::from_millis(200);
/// How often the stream is asked to let go of what it holds back.
const IDLE: Duration = Duration::from_millis(50);
/// How often the charge is read again, and the clock's estimate told.
const SELDOM: Duration = Duration::from_secs(180);

impl Session {
    /// Takes packets until the link is lost or the caller wants no more.
    pub(super) async fn receive(
        &mut self,
        place: Place,
        link: &Link,
        stream: &mut UnitStream,
        state: &watch::Sender<State>,
    ) -> End {
        let mut idle = interval(IDLE);
        idle.set_missed_tick_behavior(MissedTickBehavior::Skip);
        let mut seldom = interval(SELDOM);
        seldom.reset();
        let (tell_charge, mut charges) = mpsc::unbounded_channel();
        let (tell_probe, mut probes) = mpsc::unbounded_channel::<bool>();
        let mut probing = false;
        let mut stalled = false;
        let id = self.peripheral.id();
        loop {
            if self.unheard {
                return End::Stopped;
            }
            tokio::select! {
                biased;
                () = stopped(&mut self.stop) => return End::Stopped,
                packet = self.notifications.next() => match packet {
                    Some(packet) => if let Some((arrival, bytes)) = motion(packet) {
                        stalled = false;
                        self.last = arrival;
                        self.packet(stream, arrival, &bytes);
                    },
                    None => return End::Lost,
                },
                event = self.central.events.next() => match event {
                    // An event can be of an older link and late.
                    Some(CentralEvent::DeviceDisconnected(whose)) if whose == id => {
                        if !is_there(&self.peripheral).await {
                            return End::Lost;
                        }
                    }
                    Some(CentralEvent::StateUpdate(CentralState::PoweredOff)) | None => {
                        return End::Lost;
                    }
                    Some(_) => {}
                },
                Some(percent) = charges.recv() => self.tell_charge(place, percent),
                Some(there) = probes.recv() => {
                    probing = false;
                    if !there {
                        return End::Lost;
                    }
                },
                _ = seldom.tick() => {
                    if let Some(clock) = stream.clock() {
                        self.tell(Told::Clock(clock));
                    }
                    if let Some(battery) = link.battery.clone() {
                        let (peripheral, tell) = (self.peripheral.clone(), tell_charge.clone());
                        tokio::spawn(async move {
                            let charge = link::read_charge(&peripheral, &battery).await;
                            let _nobody_waits = tell.send(charge);
                        });
                    }
                },
                _ = idle.tick() => {
                    let silence = self.last.elapsed();
                    let told = stream.idle(self.since_origin_s(Instant::now()));
                    self.tell_all(told);
                    show(stream, state);
                    if silence < SILENCE {
                        continue;
                    }
                    if !stalled {
                        stalled = true;
                        // A unit that is back from a loss and has not sent yet was told as lost.
                        if !self.away {
                            self.away = true;
                            self.tell(Told::Stalled(place));
                        }
                    }
                    if silence > DEAD {
                        link::leave(&self.peripheral, None).await;
                        return End::Lost;
                    }
                    if !probing {
                        probing = true;
                        let (peripheral, tell) = (self.peripheral.clone(), tell_probe.clone());
                        tokio::spawn(async move {
                            let there = is_there(&peripheral).await;
                            sleep(PROBE_PAUSE).await;
                            let _nobody_waits = tell.send(there);
                        });
                    }
                },
            }
        }
    }
}

/// Whether the link is there, as far as the service says.
async fn is_there(peripheral: &Peripheral) -> bool {
    let asked = timeout(PROBE, peripheral.is_connected()).await;
    matches!(asked, Ok(Ok(true)))
}
