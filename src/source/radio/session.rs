//! One unit for a whole session: the stream, lost links, and the way back.

use std::pin::Pin;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

use btleplug::api::{CentralEvent, CentralState, Peripheral as _, ValueNotification};
use btleplug::platform::Peripheral;
use futures_util::{FutureExt, Stream, StreamExt};
use tokio::sync::{mpsc, watch};
use tokio::time::{MissedTickBehavior, interval, sleep, timeout};
use uuid::Uuid;

use super::central::{ANSWER, Central, within};
use super::link::{self, Link};
use super::thread::Ready;
use super::{Near, RadioError, State, Wanted};
use crate::recording::Battery;
use crate::sample::Place;
use crate::source::signal::{Signal, Told};
use crate::source::unit::profile;
use crate::source::unit::stream::{Figures, UnitStream};

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
/// How often the charge is read again.
const CHARGE: Duration = Duration::from_secs(180);
/// Pauses between attempts to connect again grow from the first to the last.
const PAUSES: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// How long trouble of this computer is borne before the source ends.
const COMPUTER: Duration = Duration::from_secs(30);
/// How long a unit is sought at a service that was started anew, in each attempt.
const SEEK_AGAIN: Duration = Duration::from_secs(3);
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
    let (mut session, link) = match opened {
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
    if ready.send(Ok((session.near.clone(), shown))).is_ok() {
        session.stream(link, &state).await;
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
    ) -> Result<(Session, Link), RadioError> {
        let mut central = Central::open().await?;
        let found = tokio::select! {
            found = central.find(&wanted) => Some(found?),
            () = stopped(&mut stop) => None,
        };
        let Some(found) = found else {
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
            last: Instant::now(),
            away: false,
            unheard: false,
        };
        let mut stop = session.stop.clone();
        let connected = tokio::select! {
            connected = session.first() => connected,
            () = stopped(&mut stop) => Err(RadioError::Stopped),
        };
        match connected {
            Ok(link) => Ok((session, link)),
            Err(error) => {
                if matches!(error, RadioError::Stopped) {
                    link::leave(&session.peripheral, None).await;
                }
                Err(error)
            }
        }
    }

    /// The first connection.
    async fn first(&mut self) -> Result<Link, RadioError> {
        let mut attempt = 1;
        loop {
            match self.connect(&mut Packets::new()).await {
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
    /// notifications by itself.
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
        if link.written {
            packets.clear();
        }
        Ok(link)
    }

    async fn stream(&mut self, mut link: Link, state: &watch::Sender<State>) {
        let place = self.wanted.place.or(link.description.place);
        let place = place.unwrap_or(Place::Hand);
        let mut stream = UnitStream::new(place, link.description);
        self.tell_connected(place, &link);
        loop {
            self.last = Instant::now();
            match self.receive(place, &link, &mut stream, state).await {
                End::Stopped => break,
                End::Lost => {}
            }
            self.away = true;
            self.tell(Told::Lost(place));
            let mut packets = Packets::new();
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
            let told = stream.reconnected(link.description);
            self.tell_all(told);
            for (arrival, packet) in packets {
                self.packet(&mut stream, arrival, &packet);
            }
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

    /// Takes packets until the link is lost or the caller wants no more.
    async fn receive(
        &mut self,
        place: Place,
        link: &Link,
        stream: &mut UnitStream,
        state: &watch::Sender<State>,
    ) -> End {
        let mut idle = interval(IDLE);
        idle.set_missed_tick_behavior(MissedTickBehavior::Skip);
        let mut charge = interval(CHARGE);
        charge.reset();
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
                    Some(CentralEvent::DeviceDisconnected(whose)) if whose == id => {
                        return End::Lost;
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
                _ = charge.tick() => if let Some(battery) = link.battery.clone() {
                    let (peripheral, tell) = (self.peripheral.clone(), tell_charge.clone());
                    tokio::spawn(async move {
                        let _nobody_waits = tell.send(link::read_charge(&peripheral, &battery).await);
                    });
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
                            let there = timeout(PROBE, peripheral.is_connected()).await;
                            let there = matches!(there, Ok(Ok(true)));
                            sleep(PROBE_PAUSE).await;
                            let _nobody_waits = tell.send(there);
                        });
                    }
                },
            }
        }
    }

    /// Tries until the unit is connected again; `None` where the caller wants no more.
    async fn back(&mut self, packets: &mut Packets) -> Result<Option<Link>, RadioError> {
        let mut stop = self.stop.clone();
        tokio::select! {
            biased;
            () = stopped(&mut stop) => Ok(None),
            link = self.again(packets) => link.map(Some),
        }
    }

    async fn again(&mut self, packets: &mut Packets) -> Result<Link, RadioError> {
        let lost = Instant::now();
        let mut pause = PAUSES.0;
        let mut trouble: Option<Instant> = None;
        loop {
            packets.clear();
            // After trouble of this computer the old way to the service may lead nowhere.
            let attempt = match trouble {
                Some(_) => self.renew().await,
                None => self.answers().await,
            };
            let error = match attempt {
                Ok(()) => match self.connect(packets).await {
                    Ok(link) => return Ok(link),
                    Err(error) => error,
                },
                Err(error) => error,
            };
            if error.is_of_this_computer() {
                let since = *trouble.get_or_insert_with(Instant::now);
                if since.elapsed() >= COMPUTER.min(self.wanted.patience) {
                    return Err(error);
                }
                sleep(pause).await;
            } else {
                if lost.elapsed() >= self.wanted.patience {
                    return Err(self.in_vain(error));
                }
                self.listen(pause).await;
            }
            pause = (pause * 2).min(PAUSES.1);
        }
    }

    /// Whether the service answers at all: connecting would wait for it much longer.
    async fn answers(&self) -> Result<(), RadioError> {
        let asked = self.peripheral.is_connected();
        match within(ANSWER, "asking for the sensor", asked).await {
            Err(error) if error.is_of_this_computer() => Err(error),
            // A unit that the service has forgotten is sought when connecting fails.
            Ok(_) | Err(_) => Ok(()),
        }
    }

    /// Waits until the unit is heard again, for that long at most. The search also makes a unit
    /// known again that the service has forgotten.
    async fn listen(&mut self, time: Duration) {
        let id = self.peripheral.id();
        if self.central.start_scan().await.is_err() {
            sleep(time).await;
            return;
        }
        let begun = Instant::now();
        self.central.heard(&id, time).await;
        self.central.stop_scan().await;
        // A unit that is heard and cannot be connected is not to be hammered.
        if begun.elapsed() < PAUSES.0 {
            sleep(PAUSES.0).await;
        }
    }

    /// A new way to the Bluetooth service, and to the same unit through it.
    async fn renew(&mut self) -> Result<(), RadioError> {
        let mut central = Central::open().await?;
        let same = Wanted {
            name: Some(self.near.address.clone()),
            seek: SEEK_AGAIN,
            ..self.wanted.clone()
        };
        let found = central.find(&same).await?;
        self.notifications = listened(&found.peripheral).await?;
        self.peripheral = found.peripheral;
        self.central = central;
        Ok(())
    }

    fn since_origin_s(&self, at: Instant) -> f64 {
        at.saturating_duration_since(self.origin).as_secs_f64()
    }

    fn packet(&mut self, stream: &mut UnitStream, arrival: Instant, bytes: &[u8]) {
        let at_s = self.since_origin_s(arrival);
        for told in stream.packet(bytes, at_s) {
            if self.away
                && let Told::Sample(place, _) = &told
            {
                self.away = false;
                self.tell_at(at_s, Told::Back(*place));
            }
            self.tell_at(at_s, told);
        }
    }

    fn tell_connected(&mut self, place: Place, link: &Link) {
        let name = self.name().to_owned();
        let firmware = link.firmware.clone();
        let info = link.description.sensor_info(place, Some(name), firmware);
        self.tell(Told::Connected(info));
        self.tell_charge(place, link.battery_percent);
    }

    fn tell_charge(&mut self, place: Place, percent: Option<u8>) {
        if percent.is_some() {
            self.tell(Told::Battery(Battery {
                place: Some(place),
                percent,
            }));
        }
    }

    fn tell_all(&mut self, told: Vec<Told>) {
        for told in told {
            self.tell(told);
        }
    }

    fn tell(&mut self, told: Told) {
        self.tell_at(self.since_origin_s(Instant::now()), told);
    }

    fn tell_at(&mut self, at_s: f64, told: Told) {
        self.unheard |= self.signals.send(Signal { at_s, told }).is_err();
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
