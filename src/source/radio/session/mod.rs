//! One unit for a whole session: the stream, lost links, and the way back.

mod again;
mod receive;
mod telling;

use std::pin::Pin;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

use btleplug::api::{Peripheral as _, ValueNotification};
use btleplug::platform::Peripheral;
use futures_util::{FutureExt, Stream, StreamExt};
use tokio::sync::watch;
use tokio::time::sleep;
use uuid::Uuid;

use super::central::{ANSWER, Central, within};
use super::link::{self, Link};
use super::thread::Ready;
use super::{Near, RadioError, State, Wanted};
use crate::sample::Place;
use crate::source::signal::{Signal, Told};
use crate::source::unit::profile;
use crate::source::unit::stream::{Figures, UnitStream};

/// Pauses between attempts to connect again grow from the first to the last.
const PAUSES: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// A first connection that fails is tried again: a failed look at a unit's services can leave the
/// next connection without any.
const FIRST_ATTEMPTS: u32 = 3;

type Notifications = Pin<Box<dyn Stream<Item = ValueNotification> + Send>>;

/// Why the streaming paused.
enum End {
    /// The caller wants no more.
    Stopped,
    /// The link is gone.
    Lost,
}

/// Packets with their arrival.
type Packets = Vec<(Instant, Vec<u8>)>;

struct Session {
    wanted: Wanted,
    origin: Instant,
    signals: Sender<Signal>,
    stop: watch::Receiver<bool>,
    central: Central,
    peripheral: Peripheral,
    notifications: Notifications,
    near: Near,
    /// Others that were asked where they are set to be worn.
    others: Vec<Near>,
    /// When the last packet came, or the link was made.
    last: Instant,
    /// Whether samples have stopped coming, and the listener was told so.
    away: bool,
    /// Whether nobody listens any more.
    unheard: bool,
}

/// Finds, connects, streams, until the caller wants no more or patience ends.
pub(super) async fn run(
    wanted: Wanted,
    origin: Instant,
    ready: Ready,
    signals: Sender<Signal>,
    stop: watch::Receiver<bool>,
) {
    let opened = Session::open(wanted, origin, signals, stop).await;
    let (mut session, link, packets) = match opened {
        Ok(opened) => opened,
        Err(error) => {
            let _nobody_waits = ready.send(Err(error));
            return;
        }
    };
    let (state, shown) = watch::channel(State {
        description: link.description,
        figures: Figures::default(),
    });
    if ready
        .send(Ok((session.near.clone(), session.others.clone(), shown)))
        .is_ok()
    {
        session.stream(link, packets, &state).await;
    } else {
        link::leave(&session.peripheral, Some(&link.motion)).await;
    }
}

impl Session {
    async fn open(
        wanted: Wanted,
        origin: Instant,
        signals: Sender<Signal>,
        mut stop: watch::Receiver<bool>,
    ) -> Result<(Session, Link, Packets), RadioError> {
        let mut central = Central::open().await?;
        let found = tokio::select! {
            found = central.find(&wanted) => Some(found?),
            () = stopped(&mut stop) => None,
        };
        let Some((found, others)) = found else {
            central.stop_scan().await;
            return Err(RadioError::Stopped);
        };
        let notifications = listened(&found.peripheral).await?;
        let mut session = Session {
            wanted,
            origin,
            signals,
            stop,
            central,
            peripheral: found.peripheral,
            notifications,
            near: found.near,
            others,
            last: Instant::now(),
            away: false,
            unheard: false,
        };
        let mut stop = session.stop.clone();
        let mut packets = Packets::new();
        let connected = tokio::select! {
            connected = session.first(&mut packets) => connected,
            () = stopped(&mut stop) => Err(RadioError::Stopped),
        };
        match connected {
            Ok(link) => match session.other_place(&link) {
                None => Ok((session, link, packets)),
                Some(error) => {
                    link::leave(&session.peripheral, Some(&link.motion)).await;
                    Err(error)
                }
            },
            Err(error) => {
                if matches!(error, RadioError::Stopped) {
                    link::leave(&session.peripheral, None).await;
                }
                Err(error)
            }
        }
    }

    /// The first connection.
    async fn first(&mut self, packets: &mut Packets) -> Result<Link, RadioError> {
        let mut attempt = 1;
        loop {
            packets.clear();
            match self.connect(packets).await {
                Ok(link) => return Ok(link),
                Err(error) if attempt == FIRST_ATTEMPTS => return Err(self.in_vain(error)),
                Err(error @ RadioError::Profile { .. }) => return Err(error),
                Err(error) if error.is_of_this_computer() => return Err(error),
                Err(_) => attempt += 1,
            }
            sleep(PAUSES.1).await;
        }
    }

    fn name(&self) -> &str {
        self.near.name.as_deref().unwrap_or(&self.near.address)
    }

    /// What is wrong with a unit that was not named and is set to another place than the one wanted.
    fn other_place(&self, link: &Link) -> Option<RadioError> {
        let wanted = self.wanted.place.filter(|_| self.wanted.name.is_none())?;
        let found = link.description.place.filter(|found| *found != wanted)?;
        Some(RadioError::OtherPlace {
            name: self.name().to_owned(),
            found: found.name(),
            wanted: wanted.name(),
        })
    }

    fn in_vain(&self, error: RadioError) -> RadioError {
        match error {
            RadioError::Failed { said, .. } => RadioError::NoConnection {
                name: self.name().to_owned(),
                said,
            },
            other => other,
        }
    }

    /// One attempt. What the unit sends meanwhile is kept: the platform may have begun its
    /// notifications by itself, and the stream runs while the rest is read.
    async fn connect(&mut self, packets: &mut Packets) -> Result<Link, RadioError> {
        let name = self.name().to_owned();
        let connecting = link::connect(&self.peripheral, &name, &self.wanted.ask);
        tokio::pin!(connecting);
        let link = loop {
            tokio::select! {
                biased;
                Some(packet) = self.notifications.next() => packets.extend(motion(packet)),
                Some(_) = self.central.events.next() => {}
                link = &mut connecting => break link?,
            }
        };
        while let Some(Some(packet)) = self.notifications.next().now_or_never() {
            packets.extend(motion(packet));
        }
        if let Some(written) = link.written {
            packets.retain(|(arrival, _)| *arrival >= written);
        }
        Ok(link)
    }

    async fn stream(&mut self, mut link: Link, mut packets: Packets, state: &watch::Sender<State>) {
        let place = self.wanted.place.or(link.description.place);
        let place = place.unwrap_or(Place::Hand);
        let mut stream = UnitStream::new(place, link.description);
        self.tell_connected(place, &link);
        loop {
            self.last = Instant::now();
            for (arrival, packet) in packets.drain(..) {
                self.packet(&mut stream, arrival, &packet);
            }
            match self.receive(place, &link, &mut stream, state).await {
                End::Stopped => break,
                End::Lost => {}
            }
            // What waits for a hole to be filled came before the loss.
            let told = stream.finish();
            self.tell_all(told);
            self.away = true;
            self.tell(Told::Lost(place));
            match self.back(&mut packets).await {
                Ok(Some(again)) => link = again,
                Ok(None) => break,
                Err(error) => {
                    self.finish(&mut stream, state);
                    self.tell(Told::Ended(error.to_string()));
                    return;
                }
            }
            self.tell_connected(place, &link);
            let told = if link.written.is_some() {
                stream.settings_changed(link.description)
            } else {
                stream.reconnected(link.description)
            };
            self.tell_all(told);
        }
        self.finish(&mut stream, state);
        link::leave(&self.peripheral, Some(&link.motion)).await;
    }

    fn finish(&mut self, stream: &mut UnitStream, state: &watch::Sender<State>) {
        let told = stream.finish();
        show(stream, state);
        self.tell_all(told);
        if let Some(clock) = stream.clock() {
            self.tell(Told::Clock(clock));
        }
    }
}

/// Lets the caller see how the stream stands.
fn show(stream: &UnitStream, state: &watch::Sender<State>) {
    state.send_replace(State {
        description: *stream.description(),
        figures: stream.figures(),
    });
}

/// Waits until the caller wants no more.
async fn stopped(stop: &mut watch::Receiver<bool>) {
    // A caller that is gone wants no more either.
    let _stop = stop.wait_for(|stop| *stop).await;
}

/// The unit's notifications; kept for as long as the unit is.
async fn listened(peripheral: &Peripheral) -> Result<Notifications, RadioError> {
    within(
        ANSWER,
        "listening to the sensor",
        peripheral.notifications(),
    )
    .await
}

/// The motion packet that arrives now; a value that was read shows up here too.
fn motion(notification: ValueNotification) -> Option<(Instant, Vec<u8>)> {
    (notification.uuid == Uuid::from_u128(profile::MOTION))
        .then(|| (Instant::now(), notification.value))
}
