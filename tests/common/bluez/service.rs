//! The Bluetooth service, played: objects, calls, signals, and time.

use std::collections::HashMap;
use std::ffi::CString;
use std::sync::mpsc::{Receiver, TryRecvError};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant, SystemTime};

use dbus::Message;
use dbus::arg::{PropMap, RefArg, Variant};
use dbus::channel::Channel;
use dbus::strings::{ErrorName, Interface, Member, Path};

use super::objects::{MOTION, uuids};
use super::unit::Unit;
use super::{Act, Call, Kept, Order, Sent};

pub(super) const ADAPTER: &str = "/org/bluez/hci0";
pub(super) const PROPERTIES: &str = "org.freedesktop.DBus.Properties";
pub(super) const ADAPTER1: &str = "org.bluez.Adapter1";
pub(super) const DEVICE1: &str = "org.bluez.Device1";
pub(super) const SERVICE1: &str = "org.bluez.GattService1";
pub(super) const CHARACTERISTIC1: &str = "org.bluez.GattCharacteristic1";
pub(super) const FAILED: &str = "org.bluez.Error.Failed";
pub(super) const UNKNOWN_OBJECT: &str = "org.freedesktop.DBus.Error.UnknownObject";

/// Between two advertisements that are heard.
pub(super) const ADVERTISED_EVERY: Duration = Duration::from_millis(100);
/// How long `Connect` waits for a unit that is not there.
pub(super) const CONNECT_WAITS: Duration = Duration::from_secs(20);

/// What the service knows of a unit.
pub(super) struct Device {
    pub(super) unit: Unit,
    pub(super) path: String,
    /// Whether its object is on the bus.
    pub(super) known: bool,
    pub(super) heard: bool,
    pub(super) adverts: u32,
    /// Whether its name was heard: it comes in the answer to the scan, after the advertisement.
    pub(super) named: bool,
    pub(super) connected: bool,
    pub(super) resolved: bool,
    /// This connection shows no services.
    pub(super) bare: bool,
    pub(super) resolves_at: Option<Instant>,
    /// The client that wants notifications of motion.
    pub(super) wanted_by: Option<String>,
    pub(super) stalled: bool,
    pub(super) swallow: u32,
    pub(super) swapped: Option<Vec<u8>>,
    pub(super) swap_next: bool,
    /// A `Connect` that waits for the unit.
    pub(super) connecting: Option<(Message, Instant)>,
}

pub(super) struct Service {
    pub(super) channel: Channel,
    /// `None`: there is no adapter.
    pub(super) powered: Option<bool>,
    pub(super) discovering_for: Option<String>,
    pub(super) filter: Vec<String>,
    pub(super) advertised: Instant,
    pub(super) devices: Vec<Device>,
    /// When notifications of motion were first asked for.
    pub(super) began: Option<Instant>,
    pub(super) planned: Vec<(f64, Act)>,
    /// The unit that the call at hand waits for.
    pub(super) waiting: Option<usize>,
    pub(super) kept: Arc<Mutex<Kept>>,
}

pub(super) fn value<T: RefArg + 'static>(value: T) -> Variant<Box<dyn RefArg>> {
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
                named: unit.known,
                unit,
                heard: false,
                adverts: 0,
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

    pub(super) fn own(&self, own: bool) {
        let (method, flags) = if own {
            ("RequestName", Some(4_u32))
        } else {
            ("ReleaseName", None)
        };
        self.ask_bus(method, "org.bluez", flags);
    }

    pub(super) fn ask_bus(&self, method: &str, text: &str, flags: Option<u32>) {
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

    pub(super) fn next_due(&self) -> Instant {
        let far = Instant::now() + Duration::from_secs(1);
        let due = self.devices.iter().map(|device| device.unit.due());
        due.min().unwrap_or(far)
    }

    // ---- what happens by itself

    pub(super) fn act(&mut self) {
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

    pub(super) fn perform(&mut self, act: Act) {
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
            Act::Forget(name) => {
                let index = self.index(name);
                self.devices[index].unit.present = false;
                self.disconnect(index);
                let device = &mut self.devices[index];
                device.known = false;
                device.named = false;
                device.heard = false;
                let waiting = device.connecting.take();
                if let Some((call, _)) = waiting {
                    self.send(error(&call, FAILED, "le-connection-abort-by-local"));
                }
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
                    device.named = false;
                    device.connecting = None;
                }
                self.discovering_for = None;
                self.own(false);
            }
            Act::Come => self.own(true),
        }
    }

    pub(super) fn advertise(&mut self) {
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
            // A signal that changes now and then, as in a room; only a change is told.
            device.adverts += 1;
            let is_news = !device.heard || device.adverts.is_multiple_of(5);
            if is_news {
                device.unit.rssi_dbm += if device.unit.rssi_dbm % 2 == 0 { 1 } else { -1 };
            }
            device.heard = true;
            let (path, rssi_dbm) = (device.path.clone(), device.unit.rssi_dbm);
            if device.known {
                if !device.named {
                    device.named = true;
                    let name = device.unit.name.to_owned();
                    let named = vec![("Name", value(name.clone())), ("Alias", value(name))];
                    self.changed(&path, DEVICE1, named, &[]);
                }
                if is_news {
                    self.changed(&path, DEVICE1, vec![("RSSI", value(rssi_dbm))], &[]);
                }
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

    pub(super) fn resolve(&mut self, index: usize) {
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

    pub(super) fn stream(&mut self, index: usize) {
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

    pub(super) fn index(&self, name: &str) -> usize {
        let mut devices = self.devices.iter();
        devices
            .position(|device| device.unit.name == name)
            .unwrap_or_else(|| panic!("no unit {name}"))
    }

    pub(super) fn named(&mut self, name: &str) -> &mut Device {
        let index = self.index(name);
        &mut self.devices[index]
    }

    /// The unit is there: a connection that waits for it is made.
    pub(super) fn reach(&mut self, index: usize) {
        let device = &mut self.devices[index];
        let Some((call, _)) = device.connecting.take() else {
            return;
        };
        self.link(index);
        self.send(call.method_return());
    }

    pub(super) fn link(&mut self, index: usize) {
        let device = &mut self.devices[index];
        device.connected = true;
        device.heard = false;
        device.bare = device.unit.bare_connections > 0;
        device.unit.bare_connections = device.unit.bare_connections.saturating_sub(1);
        device.resolves_at = Some(Instant::now() + device.unit.resolves_after);
        let path = device.path.clone();
        self.changed(&path, DEVICE1, vec![("Connected", value(true))], &["RSSI"]);
    }

    pub(super) fn disconnect(&mut self, index: usize) {
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

    pub(super) fn note(&self, what: String) {
        let at = SystemTime::now();
        self.kept.lock().unwrap().calls.push(Call { at, what });
    }

    pub(super) fn changed_value(&self, path: &str, bytes: Vec<u8>) {
        self.changed(path, CHARACTERISTIC1, vec![("Value", value(bytes))], &[]);
    }

    pub(super) fn changed(
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

    pub(super) fn send(&self, message: Message) {
        // A dead bus shows at the next turn of the loop.
        let _sent = self.channel.send(message);
    }
}

pub(super) fn error(call: &Message, name: &str, text: &str) -> Message {
    call.error(&ErrorName::from(name), &CString::new(text).unwrap())
}
