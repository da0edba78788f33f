//! The Bluetooth service, played: objects, calls, signals, and time.

use std::collections::HashMap;
use std::ffi::CString;
use std::sync::mpsc::{Receiver, TryRecvError};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant, SystemTime};

use dbus::Message;
use dbus::arg::{PropMap, RefArg, Variant};
use dbus::channel::Channel;
use dbus::message::MessageType;
use dbus::strings::{ErrorName, Interface, Member, Path};

use super::unit::Unit;
use super::{Act, Call, Kept, Order, Sent};

const ADAPTER: &str = "/org/bluez/hci0";
const PROPERTIES: &str = "org.freedesktop.DBus.Properties";
const ADAPTER1: &str = "org.bluez.Adapter1";
const DEVICE1: &str = "org.bluez.Device1";
const SERVICE1: &str = "org.bluez.GattService1";
const CHARACTERISTIC1: &str = "org.bluez.GattCharacteristic1";
const FAILED: &str = "org.bluez.Error.Failed";
const UNKNOWN_OBJECT: &str = "org.freedesktop.DBus.Error.UnknownObject";

/// Between two advertisements that are heard.
const ADVERTISED_EVERY: Duration = Duration::from_millis(100);
/// How long `Connect` waits for a unit that is not there.
const CONNECT_WAITS: Duration = Duration::from_secs(20);

const MOTION_SERVICE: &str = "8d5a0001-3c2f-4f0e-9b7a-6d1e5c0f2a10";
const BATTERY_SERVICE: &str = "0000180f-0000-1000-8000-00805f9b34fb";
const INFORMATION_SERVICE: &str = "0000180a-0000-1000-8000-00805f9b34fb";

/// Path below the device, UUID, flags.
const SERVICES: [(&str, &str); 3] = [
    ("service0010", MOTION_SERVICE),
    ("service0020", BATTERY_SERVICE),
    ("service0030", INFORMATION_SERVICE),
];
const CHARACTERISTICS: [(&str, &str, &str, &[&str]); 5] = [
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
const MOTION: &str = "service0010/char0011";

/// What the service knows of a unit.
struct Device {
    unit: Unit,
    path: String,
    /// Whether its object is on the bus.
    known: bool,
    heard: bool,
    connected: bool,
    resolved: bool,
    /// This connection shows no services.
    bare: bool,
    resolves_at: Option<Instant>,
    /// The client that wants notifications of motion.
    wanted_by: Option<String>,
    stalled: bool,
    swallow: u32,
    swapped: Option<Vec<u8>>,
    swap_next: bool,
    /// A `Connect` that waits for the unit.
    connecting: Option<(Message, Instant)>,
}

pub(super) struct Service {
    channel: Channel,
    /// `None`: there is no adapter.
    powered: Option<bool>,
    discovering_for: Option<String>,
    filter: Vec<String>,
    advertised: Instant,
    devices: Vec<Device>,
    /// When notifications of motion were first asked for.
    began: Option<Instant>,
    planned: Vec<(f64, Act)>,
    /// The unit that the call at hand waits for.
    waiting: Option<usize>,
    kept: Arc<Mutex<Kept>>,
}

fn value<T: RefArg + 'static>(value: T) -> Variant<Box<dyn RefArg>> {
    Variant(Box::new(value))
}

impl Service {
    pub(super) fn start(
        address: &str,
        powered: Option<bool>,
        units: Vec<Unit>,
        kept: Arc<Mutex<Kept>>,
    ) -> Service {
        let mut channel = Channel::open_private(address).unwrap();
        channel.register().unwrap();
        let devices = units
            .into_iter()
            .map(|unit| Device {
                path: format!("{ADAPTER}/dev_{}", unit.address.replace(':', "_")),
                known: unit.known,
                unit,
                heard: false,
                connected: false,
                resolved: false,
                bare: false,
                resolves_at: None,
                wanted_by: None,
                stalled: false,
                swallow: 0,
                swapped: None,
                swap_next: false,
                connecting: None,
            })
            .collect();
        let service = Service {
            channel,
            powered,
            discovering_for: None,
            filter: Vec::new(),
            advertised: Instant::now(),
            devices,
            began: None,
            planned: Vec::new(),
            waiting: None,
            kept,
        };
        service.own(true);
        service.ask_bus(
            "AddMatch",
            "type='signal',sender='org.freedesktop.DBus',member='NameOwnerChanged'",
            None,
        );
        service
    }

    fn own(&self, own: bool) {
        let (method, flags) = if own {
            ("RequestName", Some(4_u32))
        } else {
            ("ReleaseName", None)
        };
        self.ask_bus(method, "org.bluez", flags);
    }

    fn ask_bus(&self, method: &str, text: &str, flags: Option<u32>) {
        let call = Message::new_method_call(
            "org.freedesktop.DBus",
            "/org/freedesktop/DBus",
            "org.freedesktop.DBus",
            method,
        );
        let mut call = call.unwrap().append1(text);
        if let Some(flags) = flags {
            call = call.append1(flags);
        }
        self.channel
            .send_with_reply_and_block(call, Duration::from_secs(5))
            .unwrap();
    }

    /// Serves until it is told to end, or the bus dies.
    pub(super) fn serve(&mut self, orders: &Receiver<Order>) {
        loop {
            let wait = self.next_due().saturating_duration_since(Instant::now());
            let wait = wait.min(Duration::from_millis(5));
            if self.channel.read_write(Some(wait)).is_err() {
                // The bus is dead; the test may still ask for what was.
                loop {
                    match orders.recv() {
                        Ok(Order::At(..)) => {}
                        Ok(Order::End) | Err(_) => return,
                    }
                }
            }
            while let Some(message) = self.channel.pop_message() {
                self.take(message);
            }
            loop {
                match orders.try_recv() {
                    Ok(Order::At(after_s, act)) => self.planned.push((after_s, act)),
                    Ok(Order::End) | Err(TryRecvError::Disconnected) => return,
                    Err(TryRecvError::Empty) => break,
                }
            }
            self.act();
            self.advertise();
            for index in 0..self.devices.len() {
                self.resolve(index);
                self.stream(index);
            }
            self.channel.flush();
        }
    }

    fn next_due(&self) -> Instant {
        let far = Instant::now() + Duration::from_secs(1);
        let due = self.devices.iter().map(|device| device.unit.due());
        due.min().unwrap_or(far)
    }

    // ---- what happens by itself

    fn act(&mut self) {
        let since_s = self.began.map(|began| began.elapsed().as_secs_f64());
        let is_due = |after_s: f64| {
            after_s == f64::NEG_INFINITY || since_s.is_some_and(|since_s| since_s >= after_s)
        };
        let planned = std::mem::take(&mut self.planned);
        let (due, later) = planned
            .into_iter()
            .partition::<Vec<_>, _>(|(after_s, _)| is_due(*after_s));
        self.planned = later;
        for (_, act) in due {
            self.kept
                .lock()
                .unwrap()
                .acts
                .push((SystemTime::now(), act.clone()));
            self.perform(act);
        }
    }

    fn perform(&mut self, act: Act) {
        match act {
            Act::Lose(name) => {
                let index = self.index(name);
                self.devices[index].unit.present = false;
                self.disconnect(index);
            }
            Act::Return(name) => {
                let index = self.index(name);
                self.devices[index].unit.present = true;
                self.reach(index);
            }
            Act::Restart(name) => {
                let index = self.index(name);
                self.disconnect(index);
                self.devices[index].unit.restart();
                self.devices[index].unit.present = true;
            }
            Act::Stall(name) => self.named(name).stalled = true,
            Act::Flow(name) => self.named(name).stalled = false,
            Act::Garbage(name, bytes) => {
                let path = format!("{}/{MOTION}", self.named(name).path);
                self.changed_value(&path, bytes);
            }
            Act::Swallow(name, count) => self.named(name).swallow = count,
            Act::Repeat(name) => {
                let device = self.named(name);
                let path = format!("{}/{MOTION}", device.path);
                if let Some(bytes) = device.unit.state.last_packet.clone() {
                    self.changed_value(&path, bytes);
                }
            }
            Act::Swap(name) => self.named(name).swap_next = true,
            Act::Charge(name, percent) => self.named(name).unit.battery = Some(percent),
            Act::Power(on) => {
                if !on {
                    for index in 0..self.devices.len() {
                        self.disconnect(index);
                    }
                    self.discovering_for = None;
                }
                self.powered = Some(on);
                self.changed(ADAPTER, ADAPTER1, vec![("Powered", value(on))], &[]);
            }
            Act::Leave => {
                for device in &mut self.devices {
                    device.connected = false;
                    device.resolved = false;
                    device.wanted_by = None;
                    device.known = false;
                    device.heard = false;
                    device.connecting = None;
                }
                self.discovering_for = None;
                self.own(false);
            }
            Act::Come => self.own(true),
        }
    }

    fn advertise(&mut self) {
        if self.discovering_for.is_none() || self.advertised.elapsed() < ADVERTISED_EVERY {
            return;
        }
        self.advertised = Instant::now();
        for index in 0..self.devices.len() {
            let device = &mut self.devices[index];
            let is_wanted = self.filter.is_empty()
                || uuids(&device.unit)
                    .iter()
                    .any(|uuid| self.filter.contains(uuid));
            if !device.unit.present || device.connected || !is_wanted {
                continue;
            }
            device.heard = true;
            // A changing signal, as in a room.
            device.unit.rssi_dbm += if device.unit.rssi_dbm % 2 == 0 { 1 } else { -1 };
            let (path, rssi_dbm) = (device.path.clone(), device.unit.rssi_dbm);
            if device.known {
                self.changed(&path, DEVICE1, vec![("RSSI", value(rssi_dbm))], &[]);
            } else {
                device.known = true;
                let interfaces = HashMap::from([(DEVICE1.to_owned(), self.device(index))]);
                let signal = Message::signal(
                    &Path::from("/"),
                    &Interface::from("org.freedesktop.DBus.ObjectManager"),
                    &Member::from("InterfacesAdded"),
                );
                self.send(signal.append2(Path::from(path), interfaces));
            }
        }
    }

    fn resolve(&mut self, index: usize) {
        let device = &mut self.devices[index];
        if let Some((call, since)) = &device.connecting
            && since.elapsed() > CONNECT_WAITS
        {
            let error = error(call, FAILED, "le-connection-abort-by-local");
            device.connecting = None;
            self.send(error);
            return;
        }
        if device.resolves_at.is_none_or(|at| at > Instant::now()) {
            return;
        }
        device.resolves_at = None;
        device.resolved = true;
        let path = device.path.clone();
        self.changed(&path, DEVICE1, vec![("ServicesResolved", value(true))], &[]);
    }

    fn stream(&mut self, index: usize) {
        while self.devices[index].unit.due() <= Instant::now() {
            let device = &mut self.devices[index];
            let packet = device.unit.packet();
            let wanted = device.connected && device.resolved && device.wanted_by.is_some();
            let mut left = wanted && !device.stalled;
            if left && device.swallow > 0 {
                device.swallow -= 1;
                left = false;
            }
            self.kept.lock().unwrap().sent.push(Sent {
                first: packet.first,
                count: packet.count,
                at: SystemTime::now(),
                left,
            });
            if !left {
                continue;
            }
            let path = format!("{}/{MOTION}", device.path);
            device.unit.state.last_packet = Some(packet.bytes.clone());
            if device.swap_next {
                device.swap_next = false;
                device.swapped = Some(packet.bytes);
                continue;
            }
            let late = device.swapped.take();
            self.changed_value(&path, packet.bytes);
            if let Some(late) = late {
                self.changed_value(&path, late);
            }
        }
    }

    // ---- links

    fn index(&self, name: &str) -> usize {
        let mut devices = self.devices.iter();
        devices
            .position(|device| device.unit.name == name)
            .unwrap_or_else(|| panic!("no unit {name}"))
    }

    fn named(&mut self, name: &str) -> &mut Device {
        let index = self.index(name);
        &mut self.devices[index]
    }

    /// The unit is there: a connection that waits for it is made.
    fn reach(&mut self, index: usize) {
        let device = &mut self.devices[index];
        let Some((call, _)) = device.connecting.take() else {
            return;
        };
        self.link(index);
        self.send(call.method_return());
    }

    fn link(&mut self, index: usize) {
        let device = &mut self.devices[index];
        device.connected = true;
        device.heard = false;
        device.bare = device.unit.bare_connections > 0;
        device.unit.bare_connections = device.unit.bare_connections.saturating_sub(1);
        device.resolves_at = Some(Instant::now() + device.unit.resolves_after);
        let path = device.path.clone();
        self.changed(&path, DEVICE1, vec![("Connected", value(true))], &["RSSI"]);
    }

    fn disconnect(&mut self, index: usize) {
        let device = &mut self.devices[index];
        device.resolves_at = None;
        if !device.connected {
            return;
        }
        device.connected = false;
        device.resolved = false;
        let path = device.path.clone();
        let changed = vec![
            ("ServicesResolved", value(false)),
            ("Connected", value(false)),
        ];
        self.changed(&path, DEVICE1, changed, &[]);
    }

    // ---- what is asked

    fn take(&mut self, message: Message) {
        if message.msg_type() == MessageType::Signal {
            if message.member().as_deref() == Some("NameOwnerChanged")
                && let Ok((name, _, new)) = message.read3::<String, String, String>()
                && new.is_empty()
            {
                self.forget_client(&name);
            }
            return;
        }
        if message.msg_type() != MessageType::MethodCall {
            return;
        }
        match (self.answer(&message), self.waiting.take()) {
            (Some(reply), _) => self.send(reply),
            (None, Some(index)) => {
                self.devices[index].connecting = Some((message, Instant::now()));
            }
            (None, None) => {}
        }
    }

    /// A client that is gone wants nothing; the link to the unit stays.
    fn forget_client(&mut self, client: &str) {
        for device in &mut self.devices {
            if device.wanted_by.as_deref() == Some(client) {
                device.wanted_by = None;
            }
            if let Some((call, _)) = &device.connecting
                && call.sender().as_deref() == Some(client)
            {
                device.connecting = None;
            }
        }
        if self.discovering_for.as_deref() == Some(client) {
            self.discovering_for = None;
        }
    }

    fn answer(&mut self, call: &Message) -> Option<Message> {
        let path = call.path()?.to_string();
        let interface = call.interface().map(|interface| interface.to_string());
        let method = call.member()?.to_string();
        let reply = || call.method_return();
        match (interface.as_deref().unwrap_or(""), method.as_str()) {
            ("org.freedesktop.DBus.Introspectable", "Introspect") => {
                Some(reply().append1(self.introspect(&path)))
            }
            ("org.freedesktop.DBus.ObjectManager", "GetManagedObjects") => {
                Some(reply().append1(self.objects()))
            }
            (PROPERTIES, "GetAll") => {
                let interface: String = call.read1().unwrap();
                Some(match self.properties(&path, &interface) {
                    Some(all) => reply().append1(all),
                    None => error(call, UNKNOWN_OBJECT, "no such object"),
                })
            }
            (PROPERTIES, "Get") => {
                let (interface, name): (String, String) = call.read2().unwrap();
                let all = self.properties(&path, &interface);
                Some(match all.and_then(|mut all| all.remove(&name)) {
                    Some(one) => reply().append1(one),
                    None => error(call, UNKNOWN_OBJECT, "no such property"),
                })
            }
            (PROPERTIES, "Set") => Some(reply()),
            (ADAPTER1, method) => Some(self.adapter_call(call, method)),
            (DEVICE1, method) => self.device_call(call, &path, method),
            (CHARACTERISTIC1, method) => Some(self.characteristic_call(call, &path, method)),
            _ => Some(error(
                call,
                "org.freedesktop.DBus.Error.UnknownMethod",
                "no such method",
            )),
        }
    }

    fn adapter_call(&mut self, call: &Message, method: &str) -> Message {
        self.note(method.to_owned());
        if self.powered != Some(true) {
            return error(call, "org.bluez.Error.NotReady", "Resource Not Ready");
        }
        let client = call.sender().unwrap().to_string();
        match method {
            "SetDiscoveryFilter" => {
                let filter: PropMap = call.read1().unwrap();
                self.filter = filter
                    .get("UUIDs")
                    .and_then(|uuids| uuids.0.as_iter().map(|all| texts(all)))
                    .unwrap_or_default();
            }
            "StartDiscovery" => {
                if self.discovering_for.is_some() {
                    let error_name = "org.bluez.Error.InProgress";
                    return error(call, error_name, "Operation already in progress");
                }
                self.discovering_for = Some(client);
                self.changed(ADAPTER, ADAPTER1, vec![("Discovering", value(true))], &[]);
            }
            "StopDiscovery" => {
                if self.discovering_for.take().is_none() {
                    return error(call, FAILED, "No discovery started");
                }
                self.changed(ADAPTER, ADAPTER1, vec![("Discovering", value(false))], &[]);
                for index in 0..self.devices.len() {
                    if std::mem::take(&mut self.devices[index].heard) {
                        let path = self.devices[index].path.clone();
                        self.changed(&path, DEVICE1, Vec::new(), &["RSSI"]);
                    }
                }
            }
            _ => {}
        }
        call.method_return()
    }

    fn device_call(&mut self, call: &Message, path: &str, method: &str) -> Option<Message> {
        let found = self
            .devices
            .iter()
            .position(|device| device.known && device.path == path);
        let Some(index) = found else {
            return Some(error(call, UNKNOWN_OBJECT, "no such device"));
        };
        self.note(format!("{method} {}", self.devices[index].unit.name));
        if self.powered != Some(true) {
            return Some(error(
                call,
                "org.bluez.Error.NotReady",
                "Resource Not Ready",
            ));
        }
        let device = &mut self.devices[index];
        match method {
            "Connect" if device.connected => Some(call.method_return()),
            "Connect" if device.unit.present => {
                self.link(index);
                Some(call.method_return())
            }
            "Connect" if device.connecting.is_some() => Some(error(
                call,
                "org.bluez.Error.InProgress",
                "Operation already in progress",
            )),
            "Connect" if device.unit.connect_waits => {
                self.waiting = Some(index);
                None
            }
            "Connect" => Some(error(call, FAILED, "le-connection-abort-by-local")),
            "Disconnect" => {
                if let Some((waiting, _)) = device.connecting.take() {
                    let error = error(&waiting, FAILED, "le-connection-abort-by-local");
                    self.send(error);
                }
                self.disconnect(index);
                Some(call.method_return())
            }
            _ => Some(call.method_return()),
        }
    }

    fn characteristic_call(&mut self, call: &Message, path: &str, method: &str) -> Message {
        let Some((index, name)) = self.characteristic(path) else {
            return error(call, UNKNOWN_OBJECT, "no such characteristic");
        };
        if !self.devices[index].connected {
            return error(call, FAILED, "Not connected");
        }
        let device = &mut self.devices[index];
        match method {
            "ReadValue" => {
                self.note(format!("ReadValue {name}"));
                let unit = &self.devices[index].unit;
                let bytes = match name {
                    "settings" => unit.settings_bytes(),
                    "description" => unit.description_bytes(),
                    "battery" => vec![unit.battery.unwrap()],
                    "firmware" => unit.firmware.unwrap().as_bytes().to_vec(),
                    _ => {
                        return error(call, "org.bluez.Error.NotPermitted", "Read not permitted");
                    }
                };
                // What was read is a change of the value, too.
                self.changed_value(path, bytes.clone());
                call.method_return().append1(bytes)
            }
            "WriteValue" => {
                let bytes: Vec<u8> = call.read1().unwrap();
                let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
                self.note(format!("WriteValue {name} {}", hex.join(" ")));
                if name != "settings" || bytes.len() != 6 {
                    return error(call, FAILED, "Invalid Length");
                }
                self.devices[index].unit.set(&bytes);
                call.method_return()
            }
            "StartNotify" => {
                if device.wanted_by.is_none() {
                    // The first samples that are wanted are the first that are taken.
                    device.unit.begin_stream();
                }
                device.wanted_by = call.sender().map(|client| client.to_string());
                self.began.get_or_insert_with(Instant::now);
                self.note(format!("StartNotify {name}"));
                call.method_return()
            }
            "StopNotify" => {
                device.wanted_by = None;
                self.note(format!("StopNotify {name}"));
                call.method_return()
            }
            _ => call.method_return(),
        }
    }

    // ---- objects

    fn characteristic(&self, path: &str) -> Option<(usize, &'static str)> {
        self.devices.iter().enumerate().find_map(|(index, device)| {
            let below = path.strip_prefix(&device.path)?.strip_prefix('/')?;
            let shown = shown_characteristics(device);
            let (_, _, name, _) = shown.into_iter().find(|one| one.0 == below)?;
            Some((index, name))
        })
    }

    fn adapter(&self) -> PropMap {
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

    fn device(&self, index: usize) -> PropMap {
        let device = &self.devices[index];
        let unit = &device.unit;
        let mut all = PropMap::from([
            ("Address".to_owned(), value(unit.address.clone())),
            ("AddressType".to_owned(), value("random".to_owned())),
            ("Name".to_owned(), value(unit.name.to_owned())),
            ("Alias".to_owned(), value(unit.name.to_owned())),
            ("Paired".to_owned(), value(false)),
            ("Connected".to_owned(), value(device.connected)),
            ("ServicesResolved".to_owned(), value(device.resolved)),
            ("Trusted".to_owned(), value(false)),
            ("Blocked".to_owned(), value(false)),
            ("LegacyPairing".to_owned(), value(false)),
            ("UUIDs".to_owned(), value(uuids(unit))),
        ]);
        if device.heard {
            all.insert("RSSI".to_owned(), value(unit.rssi_dbm));
            if let Some(percent) = unit.battery.filter(|_| unit.advertises_battery) {
                let told = HashMap::from([(BATTERY_SERVICE.to_owned(), value(vec![percent]))]);
                all.insert("ServiceData".to_owned(), value(told));
            }
        }
        all
    }

    fn properties(&self, path: &str, interface: &str) -> Option<PropMap> {
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

    fn objects(&self) -> HashMap<Path<'static>, HashMap<String, PropMap>> {
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

    fn introspect(&self, path: &str) -> String {
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

    // ---- words

    fn note(&self, what: String) {
        let at = SystemTime::now();
        self.kept.lock().unwrap().calls.push(Call { at, what });
    }

    fn changed_value(&self, path: &str, bytes: Vec<u8>) {
        self.changed(path, CHARACTERISTIC1, vec![("Value", value(bytes))], &[]);
    }

    fn changed(
        &self,
        path: &str,
        interface: &str,
        changed: Vec<(&str, Variant<Box<dyn RefArg>>)>,
        invalidated: &[&str],
    ) {
        let changed: PropMap = changed
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value))
            .collect();
        let signal = Message::signal(
            &Path::from(path.to_owned()),
            &Interface::from(PROPERTIES),
            &Member::from("PropertiesChanged"),
        );
        self.send(signal.append3(interface, changed, invalidated));
    }

    fn send(&self, message: Message) {
        // A dead bus shows at the next turn of the loop.
        let _sent = self.channel.send(message);
    }
}

fn uuids(unit: &Unit) -> Vec<String> {
    let uuid = if unit.is_ours {
        MOTION_SERVICE
    } else {
        "0000180d-0000-1000-8000-00805f9b34fb"
    };
    vec![uuid.to_owned()]
}

fn shown_services(device: &Device) -> Vec<(&'static str, &'static str)> {
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

fn shown_characteristics(
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

fn texts(all: Box<dyn Iterator<Item = &dyn RefArg> + '_>) -> Vec<String> {
    all.flat_map(|one| match (one.as_str(), one.as_iter()) {
        (Some(text), _) => vec![text.to_owned()],
        (None, Some(more)) => texts(more),
        (None, None) => Vec::new(),
    })
    .collect()
}

fn error(call: &Message, name: &str, text: &str) -> Message {
    call.error(&ErrorName::from(name), &CString::new(text).unwrap())
}
