//! What the service is asked.

use std::time::Instant;

use dbus::Message;
use dbus::arg::{PropMap, RefArg};
use dbus::message::MessageType;

use super::service::*;

impl Service {
    pub(super) fn take(&mut self, message: Message) {
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
    pub(super) fn forget_client(&mut self, client: &str) {
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

    pub(super) fn answer(&mut self, call: &Message) -> Option<Message> {
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

    pub(super) fn adapter_call(&mut self, call: &Message, method: &str) -> Message {
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

    pub(super) fn device_call(
        &mut self,
        call: &Message,
        path: &str,
        method: &str,
    ) -> Option<Message> {
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

    pub(super) fn characteristic_call(
        &mut self,
        call: &Message,
        path: &str,
        method: &str,
    ) -> Message {
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
}

fn texts(all: Box<dyn Iterator<Item = &dyn RefArg> + '_>) -> Vec<String> {
    all.flat_map(|one| match (one.as_str(), one.as_iter()) {
        (Some(text), _) => vec![text.to_owned()],
        (None, Some(more)) => texts(more),
        (None, None) => Vec::new(),
    })
    .collect()
}
