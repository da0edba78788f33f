//! A private bus on which a test plays the Bluetooth service of Linux, so that the program's real
//! way to a sensor can be walked without a radio.
//!
//! What it plays is what BlueZ 5.66 was seen to do: `Connect` returns before `ServicesResolved`;
//! on a loss one `PropertiesChanged` carries `ServicesResolved` and `Connected` as false while the
//! GATT objects stay; notifications that a client asked for begin by themselves after the next
//! connection; a read shows up as a change of `Value` too; `StartNotify` twice is fine.
//!
//! ```no_run
//! let Some(bus) = Bus::start() else { return };
//! let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
//! bluez.at(3.0, Act::Lose("carpo-1"));     // seconds after notifications were first asked for
//! bluez.at(4.0, Act::Return("carpo-1"));
//! let output = bus.give(Command::new(env!("CARGO_BIN_EXE_carpotempo"))).args(...).output();
//! bluez.sent();                            // every sample that the unit took, and when
//! ```
#![allow(dead_code, reason = "every test crate uses a part of it")]

mod calls;
mod objects;
mod service;
mod unit;

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::SystemTime;

#[allow(unused_imports, reason = "every test crate uses a part of it")]
pub use unit::{Reading, Source, Unit, numbered, still};

/// The environment's name for the address of the system bus.
const ADDRESS: &str = "DBUS_SYSTEM_BUS_ADDRESS";

/// A message bus of the test's own, in a folder of its own.
pub struct Bus {
    daemon: Child,
    address: String,
    folder: tempfile::TempDir,
}

impl Bus {
    /// Starts one; `None`, and a line that says so, where `dbus-daemon` is absent. Under `CI=true`
    /// its absence is a failure.
    pub fn start() -> Option<Bus> {
        let folder = tempfile::tempdir().unwrap();
        let config = folder.path().join("bus.conf");
        let text = format!(
            r#"<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>system</type>
  <listen>unix:path={}/socket</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
    <allow user="*"/>
  </policy>
</busconfig>
"#,
            folder.path().display()
        );
        std::fs::write(&config, text).unwrap();
        let started = Command::new("dbus-daemon")
            .arg(format!("--config-file={}", config.display()))
            .args(["--nofork", "--nosyslog", "--print-address"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let Ok(mut daemon) = started else {
            assert_ne!(
                std::env::var("CI").as_deref(),
                Ok("true"),
                "dbus-daemon is absent"
            );
            println!("not checked: dbus-daemon is absent");
            return None;
        };
        let mut address = String::new();
        BufReader::new(daemon.stdout.take().unwrap())
            .read_line(&mut address)
            .unwrap();
        let address = address.trim().to_owned();
        assert!(address.starts_with("unix:"), "{address}");
        Some(Bus {
            daemon,
            address,
            folder,
        })
    }

    /// Its address.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Gives a command this bus in place of the system's.
    pub fn give(&self, mut command: Command) -> Command {
        command.env(ADDRESS, &self.address);
        command
    }

    /// Ends it, as when the bus dies under the program.
    pub fn kill(&mut self) {
        let _over = self.daemon.kill();
        let _over = self.daemon.wait();
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        self.kill();
    }
}

/// A command whose system bus is not there.
pub fn without_bus(mut command: Command) -> Command {
    command.env(ADDRESS, "unix:path=/nowhere/at-all");
    command
}

/// What happens to a unit or to the service.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// The link to that unit breaks and it cannot be reached.
    Lose(&'static str),
    /// It can be reached again.
    Return(&'static str),
    /// The link breaks, and the service forgets the unit, as it does with one that is not paired
    /// some time after it was last heard; it can be reached again when it returns.
    Forget(&'static str),
    /// The unit starts anew: the link breaks, sequence and clock begin again, and it is there.
    Restart(&'static str),
    /// The link stays and nothing comes.
    Stall(&'static str),
    /// It comes again.
    Flow(&'static str),
    /// A notification of these bytes.
    Garbage(&'static str, Vec<u8>),
    /// The next packets are swallowed by the air, so many of them.
    Swallow(&'static str, u32),
    /// The last packet comes again.
    Repeat(&'static str),
    /// The next packet comes after the one that follows it.
    Swap(&'static str),
    /// The battery's charge changes.
    Charge(&'static str, u8),
    /// The adapter is switched on or off.
    Power(bool),
    /// The Bluetooth service ends: its name leaves the bus.
    Leave,
    /// The Bluetooth service starts anew and knows no device.
    Come,
}

/// Samples that the unit took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sent {
    /// Number of the first of them since the unit was made.
    pub first: u64,
    /// How many.
    pub count: u64,
    /// When the packet left.
    pub at: SystemTime,
    /// Whether it left: connected, wanted and not held back.
    pub left: bool,
}

/// What the service was asked, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Call {
    pub at: SystemTime,
    /// Method and object, such as `Connect carpo-1` or `WriteValue settings c8 00 ...`.
    pub what: String,
}

#[derive(Default)]
struct Kept {
    sent: Vec<Sent>,
    calls: Vec<Call>,
    acts: Vec<(SystemTime, Act)>,
}

enum Order {
    At(f64, Act),
    End,
}

/// The Bluetooth service, played on a thread until it is dropped.
pub struct Bluez {
    orders: Sender<Order>,
    kept: Arc<Mutex<Kept>>,
    thread: Option<JoinHandle<()>>,
}

impl Bluez {
    /// With one adapter that is on, and these units near.
    pub fn start(bus: &Bus, units: Vec<Unit>) -> Bluez {
        Bluez::with(bus, Some(true), units)
    }

    /// With an adapter that is on, off, or not there.
    pub fn with(bus: &Bus, powered: Option<bool>, units: Vec<Unit>) -> Bluez {
        let (orders, taken) = channel();
        let (ready, on) = channel();
        let kept = Arc::new(Mutex::new(Kept::default()));
        let (address, kept_there) = (bus.address.clone(), Arc::clone(&kept));
        let thread = std::thread::spawn(move || {
            let mut service = service::Service::start(&address, powered, units, kept_there);
            ready.send(()).unwrap();
            service.serve(&taken);
        });
        on.recv().unwrap();
        Bluez {
            orders,
            kept,
            thread: Some(thread),
        }
    }

    /// Does something so many seconds after notifications of motion were first asked for.
    pub fn at(&self, after_s: f64, act: Act) {
        self.orders.send(Order::At(after_s, act)).unwrap();
    }

    /// Does something now.
    pub fn now(&self, act: Act) {
        self.orders.send(Order::At(f64::NEG_INFINITY, act)).unwrap();
    }

    /// Every packet's samples so far, sent or not.
    pub fn sent(&self) -> Vec<Sent> {
        self.kept.lock().unwrap().sent.clone()
    }

    /// What was asked of the service so far.
    pub fn calls(&self) -> Vec<Call> {
        self.kept.lock().unwrap().calls.clone()
    }

    /// How often a call that begins so was made.
    pub fn calls_of(&self, beginning: &str) -> usize {
        let calls = self.calls();
        calls
            .iter()
            .filter(|call| call.what.starts_with(beginning))
            .count()
    }

    /// When an act was done.
    pub fn done_at(&self, act: &Act) -> Option<SystemTime> {
        let kept = self.kept.lock().unwrap();
        let done = kept.acts.iter().find(|(_, done)| done == act);
        done.map(|(at, _)| *at)
    }
}

impl Drop for Bluez {
    fn drop(&mut self) {
        let _over = self.orders.send(Order::End);
        let ended = self.thread.take().map(JoinHandle::join);
        if !std::thread::panicking() {
            assert!(
                matches!(ended, Some(Ok(()))),
                "the Bluetooth service broke down"
            );
        }
    }
}
