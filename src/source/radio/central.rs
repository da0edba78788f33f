//! The computer's side: its adapter, and looking for units.

use std::collections::BTreeMap;
use std::future::Future;
use std::pin::Pin;
use std::time::Duration;

use btleplug::api::{Central as _, CentralEvent, CentralState, Manager as _, ScanFilter};
use btleplug::api::{Peripheral as _, PeripheralProperties};
use btleplug::platform::{Adapter, Manager, Peripheral, PeripheralId};
use futures_util::{FutureExt, Stream, StreamExt};
use tokio::time::{Instant, MissedTickBehavior, interval, sleep, sleep_until, timeout};
use uuid::Uuid;

use super::{Near, RadioError, link};
use crate::source::unit::profile;
use crate::source::unit::set_to::SetTo;

/// How long the Bluetooth service may take to answer a plain question.
pub(super) const ANSWER: Duration = Duration::from_secs(3);
/// Until the platform knows whether its adapter is on.
const STATE: Duration = Duration::from_secs(2);
/// How often the search looks whether it has enough.
const LOOK: Duration = Duration::from_millis(100);

pub(super) type Events = Pin<Box<dyn Stream<Item = CentralEvent> + Send>>;

/// Does something that the Bluetooth service must answer within that time.
pub(super) async fn within<T>(
    time: Duration,
    doing: &'static str,
    work: impl Future<Output = btleplug::Result<T>>,
) -> Result<T, RadioError> {
    match timeout(time, work).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(RadioError::from_library(&error, doing)),
        Err(_) => Err(RadioError::Silent { doing }),
    }
}

/// A unit seen.
#[derive(Debug, Clone)]
pub(super) struct Sighting {
    pub(super) peripheral: Peripheral,
    pub(super) near: Near,
}

/// The adapter and what it reports. The events are kept for as long as the adapter is.
pub(super) struct Central {
    pub(super) adapter: Adapter,
    pub(super) events: Events,
}

impl Central {
    /// The first adapter that is on.
    pub(super) async fn open() -> Result<Central, RadioError> {
        let doing = "looking for the adapter";
        let manager = within(ANSWER, doing, Manager::new()).await?;
        let mut adapters = Vec::new();
        for adapter in within(ANSWER, doing, manager.adapters()).await? {
            let name = within(ANSWER, doing, adapter.adapter_info()).await?;
            adapters.push((name, adapter));
        }
        if adapters.is_empty() {
            return Err(RadioError::NoAdapter);
        }
        adapters.sort_by(|a, b| a.0.cmp(&b.0));
        for (_, adapter) in adapters {
            if is_on(&adapter).await? {
                // The stream first repeats what the service knows of old; only what comes later
                // was heard now.
                let mut events = within(ANSWER, doing, adapter.events()).await?;
                while let Some(Some(_)) = events.next().now_or_never() {}
                return Ok(Central { adapter, events });
            }
        }
        Err(RadioError::AdapterOff)
    }

    pub(super) async fn start_scan(&self) -> Result<(), RadioError> {
        let filter = ScanFilter {
            services: vec![Uuid::from_u128(profile::SERVICE)],
        };
        let started = within(
            ANSWER,
            "starting to look for sensors",
            self.adapter.start_scan(filter),
        );
        match started.await {
            Err(RadioError::Failed { said, .. }) if said.contains("in progress") => Ok(()),
            started => started,
        }
    }

    pub(super) async fn stop_scan(&self) {
        // One that cannot be stopped ends with the program.
        let _ended = within(ANSWER, "ending the search", self.adapter.stop_scan()).await;
    }

    /// Looks for units until `enough` says so, or for that long.
    pub(super) async fn seek(
        &mut self,
        time: Duration,
        mut enough: impl FnMut(&Seen) -> bool,
    ) -> Result<Vec<Sighting>, RadioError> {
        let mut seen = Seen::default();
        // A connected unit does not advertise.
        let known = within(ANSWER, "looking for sensors", self.adapter.peripherals()).await?;
        for peripheral in known {
            if let Some(sighting) = looked_at(peripheral).await
                && sighting.near.connected
            {
                seen.insert(sighting);
            }
        }
        self.start_scan().await?;
        let end = Instant::now() + time;
        let mut look = interval(LOOK);
        look.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let result = loop {
            if enough(&seen) {
                break Ok(());
            }
            tokio::select! {
                event = self.events.next() => match event {
                    Some(CentralEvent::StateUpdate(CentralState::PoweredOff)) => {
                        break Err(RadioError::AdapterOff);
                    }
                    Some(event) => {
                        if let Some(id) = whose(&event)
                            && let Ok(Ok(peripheral)) =
                                timeout(ANSWER, self.adapter.peripheral(id)).await
                            && let Some(sighting) = looked_at(peripheral).await
                        {
                            seen.insert(sighting);
                        }
                    }
                    None => break Err(RadioError::Silent { doing: "looking for sensors" }),
                },
                () = sleep_until(end) => break Ok(()),
                _ = look.tick() => {
                    // A name comes in the answer to the scan, after the advertisement, and makes
                    // no event of its own.
                    for peripheral in seen.nameless() {
                        if let Some(sighting) = looked_at(peripheral).await {
                            seen.insert(sighting);
                        }
                    }
                }
            }
        };
        self.stop_scan().await;
        result.map(|()| seen.sorted())
    }

    /// Waits until that unit is heard, for that long at most; a scan must be running.
    pub(super) async fn heard(&mut self, id: &PeripheralId, time: Duration) -> bool {
        let listening = async {
            while let Some(event) = self.events.next().await {
                if whose(&event).is_some_and(|heard| heard == id) {
                    return true;
                }
            }
            false
        };
        timeout(time, listening).await.unwrap_or(false)
    }
}

/// The units seen, each with when it was first seen.
#[derive(Default)]
pub(super) struct Seen {
    pub(super) units: BTreeMap<PeripheralId, (Sighting, Instant)>,
}

impl Seen {
    fn insert(&mut self, mut sighting: Sighting) {
        let id = sighting.peripheral.id();
        let since = match self.units.get(&id) {
            Some((before, since)) => {
                // The signal is told in passing, and not with everything else.
                let near = &mut sighting.near;
                near.rssi_dbm = near.rssi_dbm.or(before.near.rssi_dbm);
                near.battery_percent = near.battery_percent.or(before.near.battery_percent);
                *since
            }
            None => Instant::now(),
        };
        self.units.insert(id, (sighting, since));
    }

    fn nameless(&self) -> Vec<Peripheral> {
        let units = self.units.values().map(|(one, _)| one);
        units
            .filter(|one| one.near.name.is_none())
            .map(|one| one.peripheral.clone())
            .collect()
    }

    /// The strongest first; then by name and address.
    fn sorted(self) -> Vec<Sighting> {
        let mut all: Vec<_> = self.units.into_values().map(|(one, _)| one).collect();
        all.sort_by(|a, b| {
            let order = b.near.rssi_dbm.cmp(&a.near.rssi_dbm);
            let names = (&a.near.name, &a.near.address).cmp(&(&b.near.name, &b.near.address));
            order.then(names)
        });
        all
    }
}

async fn is_on(adapter: &Adapter) -> Result<bool, RadioError> {
    let asked = Instant::now();
    loop {
        let doing = "asking the adapter whether it is on";
        match within(ANSWER, doing, adapter.adapter_state()).await? {
            CentralState::PoweredOn => return Ok(true),
            CentralState::PoweredOff => return Ok(false),
            CentralState::Unknown if asked.elapsed() > STATE => return Ok(true),
            CentralState::Unknown => sleep(LOOK).await,
        }
    }
}

/// The unit that an event of being heard is about.
fn whose(event: &CentralEvent) -> Option<&PeripheralId> {
    match event {
        CentralEvent::DeviceDiscovered(id)
        | CentralEvent::DeviceUpdated(id)
        | CentralEvent::RssiUpdate { id, .. }
        | CentralEvent::ManufacturerDataAdvertisement { id, .. }
        | CentralEvent::ServiceDataAdvertisement { id, .. }
        | CentralEvent::ServicesAdvertisement { id, .. } => Some(id),
        _ => None,
    }
}

/// The unit, if it is one of ours.
async fn looked_at(peripheral: Peripheral) -> Option<Sighting> {
    let asked = timeout(ANSWER, peripheral.properties()).await;
    let properties = asked.ok()?.ok()??;
    let service = Uuid::from_u128(profile::SERVICE);
    if !properties.services.contains(&service) {
        return None;
    }
    let connected = timeout(ANSWER, peripheral.is_connected()).await;
    let connected = connected.ok().and_then(Result::ok).unwrap_or(false);
    let address = address(&peripheral, &properties);
    // Where a unit has no name, some platforms give its address, dashed, in its place.
    let is_name = |name: &String| !name.replace('-', ":").eq_ignore_ascii_case(&address);
    let near = Near {
        rssi_dbm: properties.rssi,
        battery_percent: properties
            .service_data
            .get(&Uuid::from_u128(profile::BATTERY_SERVICE))
            .and_then(|bytes| link::percent(bytes)),
        name: properties
            .advertisement_name
            .or(properties.local_name)
            .filter(is_name)
            .and_then(|name| link::words(name.as_bytes())),
        address,
        connected,
        set_to: SetTo::Unknown,
    };
    Some(Sighting { peripheral, near })
}

/// The address; where the platform hides it, the platform's own number of the unit.
fn address(peripheral: &Peripheral, properties: &PeripheralProperties) -> String {
    let address = properties.address;
    if address == Default::default() {
        peripheral.id().to_string()
    } else {
        address.to_string()
    }
}
