//! The objects that the service shows on the bus.

use std::collections::HashMap;

use dbus::arg::PropMap;
use dbus::strings::Path;

use super::service::*;
use super::unit::Unit;

pub(super) const MOTION_SERVICE: &str = "8d5a0001-3c2f-4f0e-9b7a-6d1e5c0f2a10";
pub(super) const BATTERY_SERVICE: &str = "0000180f-0000-1000-8000-00805f9b34fb";
pub(super) const INFORMATION_SERVICE: &str = "0000180a-0000-1000-8000-00805f9b34fb";

/// Path below the device, UUID, flags.
pub(super) const SERVICES: [(&str, &str); 3] = [
    ("service0010", MOTION_SERVICE),
    ("service0020", BATTERY_SERVICE),
    ("service0030", INFORMATION_SERVICE),
];
pub(super) const CHARACTERISTICS: [(&str, &str, &str, &[&str]); 5] = [
    (
        "service0010/char0011",
        "8d5a0002-3c2f-4f0e-9b7a-6d1e5c0f2a10",
        "motion",
        &["notify"],
    ),
    (
        "service0010/char0014",
        "8d5a0003-3c2f-4f0e-9b7a-6d1e5c0f2a10",
        "settings",
        &["read", "write"],
    ),
    (
        "service0010/char0016",
        "8d5a0004-3c2f-4f0e-9b7a-6d1e5c0f2a10",
        "description",
        &["read"],
    ),
    (
        "service0020/char0021",
        "00002a19-0000-1000-8000-00805f9b34fb",
        "battery",
        &["read", "notify"],
    ),
    (
        "service0030/char0031",
        "00002a26-0000-1000-8000-00805f9b34fb",
        "firmware",
        &["read"],
    ),
];
pub(super) const MOTION: &str = "service0010/char0011";

impl Service {
    pub(super) fn characteristic(&self, path: &str) -> Option<(usize, &'static str)> {
        self.devices.iter().enumerate().find_map(|(index, device)| {
            let below = path.strip_prefix(&device.path)?.strip_prefix('/')?;
            let shown = shown_characteristics(device);
            let (_, _, name, _) = shown.into_iter().find(|one| one.0 == below)?;
            Some((index, name))
        })
    }

    pub(super) fn adapter(&self) -> PropMap {
        let powered = self.powered.unwrap_or(false);
        let discovering = self.discovering_for.is_some();
        PropMap::from([
            ("Address".to_owned(), value("00:11:22:33:44:55".to_owned())),
            ("AddressType".to_owned(), value("public".to_owned())),
            ("Name".to_owned(), value("played".to_owned())),
            ("Alias".to_owned(), value("played".to_owned())),
            (
                "Modalias".to_owned(),
                value("usb:v1D6Bp0246d0542".to_owned()),
            ),
            ("Powered".to_owned(), value(powered)),
            ("Discovering".to_owned(), value(discovering)),
        ])
    }

    pub(super) fn device(&self, index: usize) -> PropMap {
        let device = &self.devices[index];
        let unit = &device.unit;
        let mut all = PropMap::from([
            ("Address".to_owned(), value(unit.address.clone())),
            ("AddressType".to_owned(), value("random".to_owned())),
            ("Alias".to_owned(), value(unit.address.replace(':', "-"))),
            ("Paired".to_owned(), value(false)),
            ("Connected".to_owned(), value(device.connected)),
            ("ServicesResolved".to_owned(), value(device.resolved)),
            ("Trusted".to_owned(), value(false)),
            ("Blocked".to_owned(), value(false)),
            ("LegacyPairing".to_owned(), value(false)),
            ("UUIDs".to_owned(), value(uuids(unit))),
        ]);
        if device.named {
            all.insert("Name".to_owned(), value(unit.name.to_owned()));
            all.insert("Alias".to_owned(), value(unit.name.to_owned()));
        }
        if device.heard {
            all.insert("RSSI".to_owned(), value(unit.rssi_dbm));
            if let Some(percent) = unit.battery.filter(|_| unit.advertises_battery) {
                let told = HashMap::from([(BATTERY_SERVICE.to_owned(), value(vec![percent]))]);
                all.insert("ServiceData".to_owned(), value(told));
            }
        }
        all
    }

    pub(super) fn properties(&self, path: &str, interface: &str) -> Option<PropMap> {
        if interface == ADAPTER1 {
            return (path == ADAPTER && self.powered.is_some()).then(|| self.adapter());
        }
        let mut devices = self.devices.iter();
        let index = devices.position(|device| {
            device.known && (path == device.path || path.starts_with(&format!("{}/", device.path)))
        })?;
        let device = &self.devices[index];
        if interface == DEVICE1 {
            return (path == device.path).then(|| self.device(index));
        }
        let below = path.strip_prefix(&device.path)?.strip_prefix('/')?;
        if interface == SERVICE1 {
            let (_, uuid) = shown_services(device)
                .into_iter()
                .find(|one| one.0 == below)?;
            return Some(PropMap::from([
                ("UUID".to_owned(), value(uuid.to_owned())),
                ("Primary".to_owned(), value(true)),
            ]));
        }
        let shown = shown_characteristics(device);
        let (_, uuid, _, flags) = shown.into_iter().find(|one| one.0 == below)?;
        let flags: Vec<String> = flags.iter().map(|&flag| flag.to_owned()).collect();
        Some(PropMap::from([
            ("UUID".to_owned(), value(uuid.to_owned())),
            ("Flags".to_owned(), value(flags)),
            ("MTU".to_owned(), value(device.unit.mtu)),
        ]))
    }

    pub(super) fn objects(&self) -> HashMap<Path<'static>, HashMap<String, PropMap>> {
        let mut all = HashMap::new();
        if self.powered.is_some() {
            let adapter = HashMap::from([(ADAPTER1.to_owned(), self.adapter())]);
            all.insert(Path::from(ADAPTER), adapter);
        }
        for (index, device) in self.devices.iter().enumerate() {
            if device.known {
                let one = HashMap::from([(DEVICE1.to_owned(), self.device(index))]);
                all.insert(Path::from(device.path.clone()), one);
            }
        }
        all
    }

    pub(super) fn introspect(&self, path: &str) -> String {
        let mut nodes = Vec::new();
        for device in self.devices.iter().filter(|device| device.known) {
            if device.path == path {
                nodes.extend(shown_services(device).into_iter().map(|one| one.0));
            } else if let Some(below) = path.strip_prefix(&device.path) {
                for (characteristic, ..) in shown_characteristics(device) {
                    let (service, name) = characteristic.split_once('/').unwrap();
                    if below == format!("/{service}") {
                        nodes.push(name);
                    }
                }
            }
        }
        let nodes: String = nodes
            .iter()
            .map(|name| format!("<node name=\"{name}\"/>"))
            .collect();
        format!("<node>{nodes}</node>")
    }
}

pub(super) fn uuids(unit: &Unit) -> Vec<String> {
    let uuid = if unit.is_ours {
        MOTION_SERVICE
    } else {
        "0000180d-0000-1000-8000-00805f9b34fb"
    };
    vec![uuid.to_owned()]
}

pub(super) fn shown_services(device: &Device) -> Vec<(&'static str, &'static str)> {
    let unit = &device.unit;
    let is_shown = |uuid: &str| match uuid {
        BATTERY_SERVICE => unit.battery.is_some(),
        INFORMATION_SERVICE => unit.firmware.is_some(),
        _ => true,
    };
    // The objects stay when the link is gone.
    let none = device.bare || device.unit.state.last_packet.is_none() && !device.resolved;
    let all = SERVICES.into_iter().filter(|(_, uuid)| is_shown(uuid));
    if none { Vec::new() } else { all.collect() }
}

pub(super) fn shown_characteristics(
    device: &Device,
) -> Vec<(
    &'static str,
    &'static str,
    &'static str,
    &'static [&'static str],
)> {
    let services = shown_services(device);
    let is_shown = |path: &str| {
        services
            .iter()
            .any(|(service, _)| path.starts_with(service))
    };
    CHARACTERISTICS
        .into_iter()
        .filter(|(path, ..)| is_shown(path))
        .collect()
}
