//! The played Bluetooth service for somebody who wants to look at the program by hand.
//!
//! ```text
//! cargo test --test radio by_hand -- --ignored --nocapture
//! ```
//! prints what to set, and plays until a line comes on standard input (or for ten minutes). Lines
//! are acts, and the unit is carpo-1 unless a name follows: lose, return, restart, stall, flow,
//! garbage, swallow, off, on, leave, come, end.

use std::io::BufRead;
use std::sync::mpsc::channel;
use std::time::Duration;

use crate::bluez::{Act, Bluez, Bus, Unit};

#[test]
#[ignore = "for looking by hand"]
fn by_hand() {
    let Some(bus) = Bus::start() else { return };
    let second = Unit {
        rssi_dbm: -81,
        battery: Some(12),
        ..Unit::new("carpo-2")
    };
    let third = Unit {
        rssi_dbm: -90,
        battery: None,
        firmware: None,
        ..Unit::new("left hand")
    };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1"), second, third]);
    println!("export DBUS_SYSTEM_BUS_ADDRESS='{}'", bus.address());
    let (tell, lines) = channel();
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            if tell.send(line).is_err() {
                return;
            }
        }
        // Without standard input it plays on.
        std::thread::sleep(Duration::from_secs(600));
    });
    while let Ok(line) = lines.recv_timeout(Duration::from_secs(600)) {
        let (word, name) = line.split_once(' ').unwrap_or((&line, "carpo-1"));
        let name = ["carpo-1", "carpo-2", "left hand"]
            .into_iter()
            .find(|one| *one == name)
            .unwrap_or("carpo-1");
        bluez.now(match word {
            "lose" => Act::Lose(name),
            "return" => Act::Return(name),
            "restart" => Act::Restart(name),
            "stall" => Act::Stall(name),
            "flow" => Act::Flow(name),
            "garbage" => Act::Garbage(name, vec![7; 5]),
            "swallow" => Act::Swallow(name, 20),
            "off" => Act::Power(false),
            "on" => Act::Power(true),
            "leave" => Act::Leave,
            "come" => Act::Come,
            "end" => return,
            _ => continue,
        });
    }
}
