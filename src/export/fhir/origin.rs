//! Where the observations come from: the sensor, this program, and the recording by its hash.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::codes;
use super::value::{plain, reference};
use crate::pipeline::ANALYSIS_VERSION;
use crate::recording::{Event, EventKind, SensorInfo};
use crate::sample::Place;

/// The files of a recording whose hash is given.
pub(super) const FILES: [&str; 2] = ["samples.csv", "events.csv"];

/// The hand sensor in use at a time of a session; `None` where no event names it.
pub(super) fn sensor_at(events: &[Event], t_s: f64) -> Option<&SensorInfo> {
    let mut hand = events.iter().filter_map(|event| match &event.kind {
        EventKind::Sensor(sensor) if sensor.place != Some(Place::Forearm) => {
            Some((event.t_s, sensor))
        }
        _ => None,
    });
    let first = hand.next()?;
    let later = hand.take_while(|(at_s, _)| *at_s <= t_s).last();
    Some(later.unwrap_or(first).1)
}

/// The sensor as a device.
pub(super) fn sensor(info: Option<&SensorInfo>) -> Value {
    let mut device = json!({
        "resourceType": "Device",
        "type": codes::HAND_SENSOR.concept(),
    });
    let name = info.and_then(|info| plain(info.name.as_deref()?));
    let firmware = info.and_then(|info| plain(info.firmware.as_deref()?));
    if let Value::Object(parts) = &mut device {
        if let Some(name) = name {
            let names = json!([{"name": name, "type": "user-friendly-name"}]);
            parts.insert("deviceName".to_owned(), names);
        }
        if let Some(firmware) = firmware {
            parts.insert("version".to_owned(), json!([{"value": firmware}]));
        }
    }
    device
}

/// This program as a device.
pub(super) fn program() -> Value {
    json!({
        "resourceType": "Device",
        "status": "active",
        "deviceName": [{"name": env!("CARGO_PKG_NAME"), "type": "model-name"}],
        "version": [
            {"type": {"text": "program"}, "value": env!("CARGO_PKG_VERSION")},
            {"type": {"text": "analysis"}, "value": ANALYSIS_VERSION.to_string()},
        ],
    })
}

/// SHA-256 of a file; `None` where it is not there.
///
/// # Errors
/// Those of reading.
pub(super) fn sha_256(path: &Path) -> io::Result<Option<[u8; 32]>> {
    let mut file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        file => file?,
    };
    let mut hash = Sha256::new();
    let mut part = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut part)?;
        if count == 0 {
            return Ok(Some(hash.finalize().into()));
        }
        hash.update(part.get(..count).unwrap_or_default());
    }
}

/// The provenance of a session's observations.
pub(super) fn provenance(
    session: &str,
    hashes: &[(&str, [u8; 32])],
    targets: &[String],
    program: &str,
    recorded: &str,
) -> Value {
    let entities: Vec<Value> = hashes
        .iter()
        .map(|(file, hash)| {
            let hex: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
            json!({
                "role": "source",
                "what": {
                    // RFC 6920: the name of a thing that is known by its hash.
                    "identifier": {
                        "system": "urn:ietf:rfc:3986",
                        "value": format!("ni:///sha-256;{}", base64_url(hash)),
                    },
                    "display": format!("{file} of session {session}, sha-256 {hex}"),
                },
            })
        })
        .collect();
    let mut provenance = json!({
        "resourceType": "Provenance",
        "target": targets.iter().map(|target| reference(target)).collect::<Vec<_>>(),
        "recorded": recorded,
        "activity": codes::ANALYSIS.concept(),
        "agent": [{
            "type": {"coding": [{
                "system": "http://terminology.hl7.org/CodeSystem/provenance-participant-type",
                "code": "assembler",
                "display": "Assembler",
            }]},
            "who": reference(program),
        }],
    });
    if let (Value::Object(parts), false) = (&mut provenance, entities.is_empty()) {
        parts.insert("entity".to_owned(), Value::Array(entities));
    }
    provenance
}

/// Base64 with the letters for addresses, without filling (RFC 4648, section 5).
fn base64_url(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let bits = three
            .iter()
            .chain([&0, &0])
            .take(3)
            .fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte));
        for place in 0..=three.len() {
            let letter = bits >> (18 - 6 * place) & 63;
            let letter = LETTERS.get(letter as usize).copied().unwrap_or(b'A');
            text.push(char::from(letter));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 4648, section 10 (without the filling), and RFC 6920, section 8.1: the name of
    /// "Hello World!".
    #[test]
    fn a_hash_is_named_as_the_standard_names_it() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg"),
            ("fo", "Zm8"),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg"),
            ("fooba", "Zm9vYmE"),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64_url(bytes.as_bytes()), text);
        }
        let hash: [u8; 32] = Sha256::digest(b"Hello World!").into();
        assert_eq!(
            base64_url(&hash),
            "f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"
        );
    }
}
