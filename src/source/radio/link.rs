//! A link to one unit: connected, checked, set up, subscribed.

use std::time::{Duration, Instant};

use btleplug::api::{Characteristic, Peripheral as _, WriteType};
use btleplug::platform::Peripheral;
use tokio::time::timeout;
use uuid::Uuid;

use super::central::within;
use super::{Ask, Near, RadioError};
use crate::source::unit::profile::{self, Description, ProfileError, Settings};
use crate::source::unit::set_to::SetTo;

/// Connecting: the library itself gives up on the unit's services after 30 s.
const CONNECT: Duration = Duration::from_secs(62);
/// A read or a write over the air.
const TRANSFER: Duration = Duration::from_secs(5);
/// Asking a unit that is only passed by.
const PASSING: Duration = Duration::from_secs(8);
/// Taking leave.
const LEAVE: Duration = Duration::from_secs(2);

/// What of a notification is not the value.
const NOTIFICATION_HEAD_BYTES: u16 = 3;

/// A unit that is set up and subscribed.
pub(super) struct Link {
    pub(super) motion: Characteristic,
    pub(super) battery: Option<Characteristic>,
    pub(super) description: Description,
    pub(super) firmware: Option<String>,
    pub(super) battery_percent: Option<u8>,
    /// When settings that were written were known to be in force, where any were written: what came
    /// before then was under others.
    pub(super) written: Option<Instant>,
}

/// Connects and sets up; on failure the unit is let go of.
pub(super) async fn connect(
    peripheral: &Peripheral,
    name: &str,
    ask: &Ask,
) -> Result<Link, RadioError> {
    let connected = within(CONNECT, "connecting to the sensor", peripheral.connect()).await;
    let link = match connected {
        Ok(()) => set_up(peripheral, name, ask).await,
        Err(error) => Err(error),
    };
    // A service that does not answer needs no goodbye.
    if link
        .as_ref()
        .is_err_and(|error| !error.is_of_this_computer())
    {
        leave(peripheral, None).await;
    }
    link
}

/// Ends notifications and the link, as far as it can be done.
pub(super) async fn leave(peripheral: &Peripheral, motion: Option<&Characteristic>) {
    // What fails here is over anyway.
    if let Some(motion) = motion {
        let _ended = timeout(LEAVE, peripheral.unsubscribe(motion)).await;
    }
    let _ended = timeout(LEAVE, peripheral.disconnect()).await;
}

async fn set_up(peripheral: &Peripheral, name: &str, ask: &Ask) -> Result<Link, RadioError> {
    let found = peripheral.discover_services();
    within(TRANSFER, "asking the sensor what it has", found).await?;
    let all = peripheral.characteristics();
    let find = |service: u128, uuid: u128| {
        all.iter()
            .find(|one| {
                one.service_uuid == Uuid::from_u128(service) && one.uuid == Uuid::from_u128(uuid)
            })
            .cloned()
    };
    let needed = |uuid, missing| {
        find(profile::SERVICE, uuid).ok_or_else(|| RadioError::NotOurs {
            name: name.to_owned(),
            missing,
        })
    };
    let motion = needed(profile::MOTION, "motion characteristic")?;
    let settings = needed(profile::SETTINGS, "settings characteristic")?;
    let description = needed(profile::DESCRIPTION, "description characteristic")?;

    let unusable = |source: ProfileError| RadioError::Profile {
        name: name.to_owned(),
        source,
    };
    let read_description = async || {
        let bytes = read(peripheral, &description, "reading the sensor's description").await?;
        Description::read(&bytes).map_err(unusable)
    };
    let read_settings = async || {
        let bytes = read(peripheral, &settings, "reading the sensor's settings").await?;
        Settings::read(&bytes).map_err(unusable)
    };
    let mut described = read_description().await?;
    let mut in_force = read_settings().await?;
    let room = usize::from(peripheral.mtu().saturating_sub(NOTIFICATION_HEAD_BYTES));
    let wanted = asked_for(ask, &in_force, room);
    let mut written = None;
    if wanted != in_force {
        let bytes = wanted.bytes();
        let write = peripheral.write(&settings, &bytes, WriteType::WithResponse);
        within(TRANSFER, "writing the sensor's settings", write).await?;
        in_force = read_settings().await?;
        described = read_description().await?;
        written = Some(Instant::now());
    }
    described.plausible().map_err(unusable)?;
    in_force.live().map_err(unusable)?;
    let subscribed = peripheral.subscribe(&motion);
    within(TRANSFER, "starting the sensor's stream", subscribed).await?;

    let battery = find(profile::BATTERY_SERVICE, profile::BATTERY_LEVEL);
    let battery_percent = match &battery {
        Some(battery) => read_charge(peripheral, battery).await,
        None => None,
    };
    let firmware = match find(profile::DEVICE_INFORMATION, profile::FIRMWARE_REVISION) {
        Some(firmware) => read(peripheral, &firmware, "reading the firmware's version").await,
        None => Ok(Vec::new()),
    };
    Ok(Link {
        motion,
        battery,
        description: described,
        // A version that cannot be read is unknown.
        firmware: firmware.ok().and_then(|bytes| words(&bytes)),
        battery_percent,
        written,
    })
}

/// The settings to ask for: what the unit has, but for what the caller asks, and no packet longer
/// than live work allows or one notification holds.
fn asked_for(ask: &Ask, in_force: &Settings, notification_bytes: usize) -> Settings {
    let rate_tenth_hz = ask.rate_tenth_hz.unwrap_or(in_force.rate_tenth_hz);
    let most = Settings::most_samples_per_packet(rate_tenth_hz, notification_bytes);
    let samples_per_packet = match ask.packet_us {
        Some(packet_us) => {
            let count = u64::from(rate_tenth_hz) * u64::from(packet_us) / 10_000_000;
            u8::try_from(count).unwrap_or(u8::MAX).clamp(1, most)
        }
        None => in_force.samples_per_packet.min(most),
    };
    // 0 and 1 are the same layout.
    let same = samples_per_packet <= 1 && in_force.samples_per_packet <= 1;
    Settings {
        rate_tenth_hz,
        accel_range_g: ask.accel_range_g.unwrap_or(in_force.accel_range_g),
        gyro_range_deg_s: ask.gyro_range_deg_s.unwrap_or(in_force.gyro_range_deg_s),
        samples_per_packet: if same {
            in_force.samples_per_packet
        } else {
            samples_per_packet
        },
    }
}

async fn read(
    peripheral: &Peripheral,
    characteristic: &Characteristic,
    doing: &'static str,
) -> Result<Vec<u8>, RadioError> {
    within(TRANSFER, doing, peripheral.read(characteristic)).await
}

/// The charge in percent; what cannot be read is unknown.
pub(super) async fn read_charge(peripheral: &Peripheral, battery: &Characteristic) -> Option<u8> {
    let bytes = read(peripheral, battery, "reading the battery's charge").await;
    percent(&bytes.ok()?)
}

/// A battery level in percent; more than 100 is unknown.
///
/// Source: Bluetooth SIG, GATT Specification Supplement, section 3.29 "Battery Level" (number of
/// the section from memory, check): one byte, 0 to 100, the rest reserved.
pub(super) fn percent(bytes: &[u8]) -> Option<u8> {
    bytes.first().copied().filter(|percent| *percent <= 100)
}

/// Words that a unit gives, without what would steer a terminal; blank ones are none.
pub(super) fn words(bytes: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(bytes);
    let clean: String = text.chars().filter(|letter| !letter.is_control()).collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.to_owned())
}

/// What a unit says in passing.
#[derive(Debug, Default)]
pub(super) struct Passed {
    /// Charge of its battery, 0 to 100.
    pub(super) battery_percent: Option<u8>,
    /// Where it is set to be worn.
    pub(super) set_to: SetTo,
}

/// Connects in passing to ask where the unit is set to be worn, and for its charge. A link that was
/// there before stays.
pub(super) async fn pass(peripheral: &Peripheral, near: &Near) -> Passed {
    let mut passed = Passed {
        battery_percent: near.battery_percent,
        ..Passed::default()
    };
    let asking = async {
        peripheral.connect().await.ok()?;
        peripheral.discover_services().await.ok()?;
        let all = peripheral.characteristics();
        let find = |uuid: u128| all.iter().find(|one| one.uuid == Uuid::from_u128(uuid));
        if let Some(description) = find(profile::DESCRIPTION) {
            let bytes = read(peripheral, description, "reading the sensor's description").await;
            let described = bytes.ok().and_then(|bytes| Description::read(&bytes).ok());
            passed.set_to = described.as_ref().map(SetTo::of).unwrap_or_default();
        }
        if passed.battery_percent.is_none() {
            passed.battery_percent = read_charge(peripheral, find(profile::BATTERY_LEVEL)?).await;
        }
        Some(())
    };
    // What was not said in time is unknown.
    let _in_time = timeout(PASSING, asking).await;
    if !near.connected {
        leave(peripheral, None).await;
    }
    passed
}

#[cfg(test)]
mod tests {
    use super::*;

    const HAS: Settings = Settings {
        rate_tenth_hz: 1000,
        accel_range_g: 4,
        gyro_range_deg_s: 500,
        samples_per_packet: 1,
    };

    #[test]
    fn a_packet_is_as_long_as_asked_and_no_longer_than_a_notification_holds() {
        let ask = Ask::default();
        assert_eq!(asked_for(&ask, &HAS, 244).samples_per_packet, 5);
        assert_eq!(asked_for(&ask, &HAS, 40).samples_per_packet, 2);
        assert_eq!(asked_for(&ask, &HAS, 20).samples_per_packet, 1);
        let long = Ask {
            packet_us: Some(1_000_000),
            ..ask
        };
        let settings = asked_for(&long, &HAS, 244);
        assert_eq!(settings.samples_per_packet, 10, "50 ms at 200 Hz");
        assert_eq!(settings.live(), Ok(()));
    }

    #[test]
    fn what_is_not_asked_stays() {
        let ask = Ask {
            rate_tenth_hz: None,
            accel_range_g: None,
            gyro_range_deg_s: None,
            packet_us: None,
        };
        assert_eq!(asked_for(&ask, &HAS, 244), HAS);
        let single = Settings {
            samples_per_packet: 0,
            ..HAS
        };
        let ask = Ask {
            packet_us: Some(1),
            ..ask
        };
        assert_eq!(asked_for(&ask, &single, 244), single);
    }

    #[test]
    fn a_reserved_battery_level_is_unknown() {
        assert_eq!(percent(&[100]), Some(100));
        assert_eq!(percent(&[101]), None);
        assert_eq!(percent(&[]), None);
    }
}
