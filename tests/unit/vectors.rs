//! The worked examples of firmware-notes, read out of the notes themselves.

use std::collections::HashMap;

use carpotempo::sample::Place;
use carpotempo::source::unit::packet::{Packet, PacketError, RawReading, Stamp};
use carpotempo::source::unit::profile::{
    BATTERY_LEVEL, Description, MOTION, ProfileError, SERVICE, Settings,
};

const VECTORS: &str = include_str!("../../firmware-notes/vectors.csv");
const NOTES: &str = include_str!("../../firmware-notes/README.md");

struct Vector {
    name: String,
    kind: String,
    hex: String,
    bytes: Vec<u8>,
    fields: HashMap<String, String>,
}

impl Vector {
    fn number<T: std::str::FromStr>(&self, field: &str) -> T {
        let text = &self.fields[field];
        text.parse()
            .unwrap_or_else(|_| panic!("{}: {field}={text}", self.name))
    }
}

fn vectors() -> Vec<Vector> {
    let mut rows = csv::Reader::from_reader(VECTORS.as_bytes());
    rows.records()
        .map(|row| {
            let row = row.unwrap();
            let byte = |text: &str| u8::from_str_radix(text, 16).unwrap();
            Vector {
                name: row[0].to_owned(),
                kind: row[1].to_owned(),
                hex: row[2].to_owned(),
                bytes: row[2].split(' ').map(byte).collect(),
                fields: row[3]
                    .split(' ')
                    .map(|field| field.split_once('=').unwrap())
                    .map(|(key, value)| (key.to_owned(), value.to_owned()))
                    .collect(),
            }
        })
        .collect()
}

fn of_kind(kind: &str) -> Vec<Vector> {
    let found: Vec<Vector> = vectors().into_iter().filter(|v| v.kind == kind).collect();
    assert!(!found.is_empty(), "{kind}");
    found
}

#[test]
fn the_notes_print_the_bytes_of_every_example() {
    let notes = NOTES.split_whitespace().collect::<Vec<_>>().join(" ");
    for vector in vectors() {
        assert!(notes.contains(&vector.hex), "{} is not in", vector.name);
        assert!(notes.contains(&vector.name), "{} is not named", vector.name);
    }
}

#[test]
fn descriptions_read_and_write_as_the_notes_say() {
    for vector in of_kind("description") {
        let read = Description::read(&vector.bytes);
        if let Some(error) = vector.fields.get("error") {
            let found = read.unwrap_err();
            let is_it = match error.as_str() {
                "version" => matches!(found, ProfileError::Version { found: 2 }),
                "place" => matches!(found, ProfileError::Place { found: 7 }),
                "length" => matches!(
                    found,
                    ProfileError::Length {
                        found: 15,
                        expected: 16,
                        ..
                    }
                ),
                _ => false,
            };
            assert!(is_it, "{}: {found}", vector.name);
            continue;
        }
        let expected = Description {
            place: match vector.fields["place"].as_str() {
                "hand" => Some(Place::Hand),
                "forearm" => Some(Place::Forearm),
                "unset" => None,
                other => panic!("{other}"),
            },
            rate_tenth_hz: vector.number("rate_tenth_hz"),
            accel_scale_nano_g: vector.number("accel_scale_nano_g"),
            gyro_scale_micro_deg_s: vector.number("gyro_scale_micro_deg_s"),
            accel_range_g: vector.number("accel_range_g"),
            gyro_range_deg_s: vector.number("gyro_range_deg_s"),
        };
        assert_eq!(read.unwrap(), expected, "{}", vector.name);
        assert_eq!(expected.bytes().to_vec(), vector.bytes, "{}", vector.name);
        assert_eq!(expected.plausible(), Ok(()), "{}", vector.name);
    }
}

#[test]
fn settings_read_and_write_as_the_notes_say() {
    for vector in of_kind("settings") {
        let expected = Settings {
            rate_tenth_hz: vector.number("rate_tenth_hz"),
            accel_range_g: vector.number("accel_range_g"),
            gyro_range_deg_s: vector.number("gyro_range_deg_s"),
            samples_per_packet: vector.number("samples_per_packet"),
        };
        assert_eq!(Settings::read(&vector.bytes), Ok(expected));
        assert_eq!(expected.bytes().to_vec(), vector.bytes, "{}", vector.name);
        assert_eq!(expected.live(), Ok(()), "{}", vector.name);
    }
}

#[test]
fn motion_packets_read_and_write_as_the_notes_say() {
    for vector in of_kind("motion") {
        let read = Packet::read(&vector.bytes);
        if let Some(error) = vector.fields.get("error") {
            let found = read.unwrap_err();
            let is_it = match error.as_str() {
                "version" => matches!(found, PacketError::Version { found: 2 }),
                "count" => matches!(found, PacketError::Count { .. }),
                "length" => matches!(found, PacketError::Length { found: 17 }),
                _ => false,
            };
            assert!(is_it, "{}: {found}", vector.name);
            continue;
        }
        let readings: Vec<RawReading> = vector.fields["readings"]
            .split(';')
            .map(|one| {
                let six: Vec<i16> = one.split('/').map(|own| own.parse().unwrap()).collect();
                RawReading {
                    accel: six[..3].try_into().unwrap(),
                    gyro: six[3..].try_into().unwrap(),
                }
            })
            .collect();
        let stamp = Stamp {
            sequence: vector.number("sequence"),
            time_us: vector.number("time_us"),
        };
        let has_spacing = vector.fields.contains_key("spacing_us");
        let spacing_us = has_spacing.then(|| vector.number("spacing_us"));
        let packet = read.unwrap();
        assert_eq!(packet.stamp, stamp, "{}", vector.name);
        assert_eq!(packet.spacing_us, spacing_us, "{}", vector.name);
        assert_eq!(packet.readings, readings, "{}", vector.name);
        let written = match spacing_us {
            None => Packet::single_bytes(stamp, &readings[0]).to_vec(),
            Some(spacing_us) => Packet::batched_bytes(stamp, spacing_us, &readings).unwrap(),
        };
        assert_eq!(written, vector.bytes, "{}", vector.name);
    }
}

/// The structures of an advertisement: type and value (Bluetooth Core Specification, Vol 3, Part C,
/// section 11).
fn structures(bytes: &[u8]) -> Vec<(u8, Vec<u8>)> {
    let mut rest = bytes;
    let mut found = Vec::new();
    while let Some((&length, after)) = rest.split_first() {
        let (own, next) = after.split_at(usize::from(length));
        found.push((own[0], own[1..].to_vec()));
        rest = next;
    }
    found
}

#[test]
fn the_advertisement_of_the_notes_holds_the_service_and_leaves_ten_bytes() {
    let found = of_kind("advertisement");
    let advertisement = structures(&found[0].bytes);
    let mut service = SERVICE.to_le_bytes().to_vec();
    assert_eq!(advertisement, [(1, vec![6]), (7, service.clone())]);
    assert_eq!(31 - found[0].bytes.len(), 10);
    service.reverse();
    assert_eq!(service, SERVICE.to_be_bytes());
    let response = structures(&found[1].bytes);
    assert_eq!(response, [(9, b"carpo hand 01".to_vec())]);
    assert!(found[1].bytes.len() <= 31);
}

#[test]
fn the_uuids_are_those_of_the_notes() {
    let text = |uuid: u128| {
        let hex = format!("{uuid:032x}");
        [
            &hex[..8],
            &hex[8..12],
            &hex[12..16],
            &hex[16..20],
            &hex[20..],
        ]
        .join("-")
    };
    assert_eq!(text(SERVICE), "8d5a0001-3c2f-4f0e-9b7a-6d1e5c0f2a10");
    assert_eq!(text(MOTION), "8d5a0002-3c2f-4f0e-9b7a-6d1e5c0f2a10");
    assert_eq!(text(BATTERY_LEVEL), "00002a19-0000-1000-8000-00805f9b34fb");
    for uuid in [SERVICE, MOTION] {
        assert!(NOTES.contains(&text(uuid)));
    }
}
