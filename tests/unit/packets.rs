//! Packets and the profile: any bytes, round trips, what must be refused.

use carpotempo::recording::EventKind;
use carpotempo::sample::Place;
use carpotempo::source::unit::packet::{Packet, PacketError, RawReading, Stamp};
use carpotempo::source::unit::profile::{Description, ProfileError, Settings};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::making::{DESCRIPTION, stream};

fn reading() -> impl Strategy<Value = RawReading> {
    any::<([i16; 3], [i16; 3])>().prop_map(|(accel, gyro)| RawReading { accel, gyro })
}

/// Lengths of 10 + 12 n and 18 are met often, by chance they are not.
fn some_bytes() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        prop::collection::vec(any::<u8>(), 0..300),
        prop::collection::vec(any::<u8>(), 18),
        (1_usize..21, any::<Vec<u8>>()).prop_map(|(count, fill)| {
            let mut bytes = vec![1, count as u8];
            bytes.extend(fill);
            bytes.resize(10 + 12 * count, 7);
            bytes
        }),
    ]
    .prop_map(|mut bytes| {
        bytes.truncate(512);
        bytes
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, rng_seed: RngSeed::Fixed(7), ..ProptestConfig::default() })]
    #[test]
    fn any_bytes_are_read_or_refused(bytes in some_bytes()) {
        match Packet::read(&bytes) {
            Ok(packet) => {
                // What was read writes the same bytes again.
                let written = match packet.spacing_us {
                    None => Packet::single_bytes(packet.stamp, &packet.readings[0]).to_vec(),
                    Some(spacing_us) => {
                        Packet::batched_bytes(packet.stamp, spacing_us, &packet.readings).unwrap()
                    }
                };
                prop_assert_eq!(&written, &bytes);
            }
            Err(error) => prop_assert!(error.to_string().contains("expected") || error.to_string().contains("update")),
        }
        let _ = Description::read(&bytes).map(|own| own.plausible());
        let _ = Settings::read(&bytes).map(|own| own.live());
    }

    #[test]
    fn any_packets_at_any_times_are_taken_or_counted(
        packets in prop::collection::vec((some_bytes(), any::<f64>()), 0..40),
    ) {
        let mut stream = stream();
        let mut told = Vec::new();
        let count = packets.len() as u64;
        for (bytes, arrival_s) in packets {
            told.extend(stream.packet(&bytes, arrival_s));
            told.extend(stream.idle(arrival_s));
        }
        told.extend(stream.finish());
        prop_assert_eq!(stream.figures().packets_count, count);
        let samples = crate::making::samples(&told);
        prop_assert_eq!(stream.figures().received_count, samples.len() as u64);
        prop_assert!(samples.iter().all(|own| own.t_s >= 0.0 && own.t_s.is_finite()));
        prop_assert!(samples.windows(2).all(|two| two[0].t_s <= two[1].t_s));
    }

    #[test]
    fn what_is_written_is_read_again(
        sequence: u16, time_us: u32, spacing_us: u16,
        readings in prop::collection::vec(reading(), 1..=255),
    ) {
        let stamp = Stamp { sequence, time_us };
        let single = Packet::single_bytes(stamp, &readings[0]);
        let read = Packet::read(&single).unwrap();
        prop_assert_eq!(&read, &Packet { stamp, spacing_us: None, readings: readings[..1].to_vec() });
        let batched = Packet::batched_bytes(stamp, spacing_us, &readings).unwrap();
        prop_assert_eq!(batched.len(), 10 + 12 * readings.len());
        let read = Packet::read(&batched).unwrap();
        prop_assert_eq!(read, Packet { stamp, spacing_us: Some(spacing_us), readings });
    }

    #[test]
    fn descriptions_and_settings_go_there_and_back(bytes: [u8; 16], six: [u8; 6]) {
        let mut bytes = bytes;
        bytes[0] = 1;
        bytes[1] = [0, 1, 255][usize::from(bytes[1]) % 3];
        prop_assert_eq!(Description::read(&bytes).unwrap().bytes(), bytes);
        prop_assert_eq!(Settings::read(&six).unwrap().bytes(), six);
    }

    #[test]
    fn the_most_samples_in_a_packet_serve_live_work_and_one_more_does_not(
        rate_tenth_hz in 400_u16..=40_000, notification_bytes in 20_usize..=600,
    ) {
        let most = Settings::most_samples_per_packet(rate_tenth_hz, notification_bytes);
        let settings = |samples_per_packet| Settings {
            rate_tenth_hz, accel_range_g: 8, gyro_range_deg_s: 2000, samples_per_packet,
        };
        prop_assert_eq!(settings(most).live(), Ok(()));
        let fits = |count: usize| 10 + 12 * count <= notification_bytes;
        prop_assert!(most == 1 || fits(usize::from(most)));
        if let Some(more) = most.checked_add(1) {
            prop_assert!(settings(more).live().is_err() || !fits(usize::from(more)));
        }
    }
}

#[test]
fn too_many_or_no_readings_are_not_written() {
    let reading = RawReading::default();
    for count in [0, 256, 300] {
        let readings = vec![reading; count];
        let written = Packet::batched_bytes(Stamp::default(), 5000, &readings);
        assert_eq!(
            written,
            Err(PacketError::Count {
                count,
                found: 10 + 12 * count
            })
        );
    }
}

#[test]
fn one_lsb_is_what_the_scale_says() {
    // 0.244 mg is 0.000244 x 9.80665 m/s²; 70 mdeg/s is 0.07 x pi / 180 rad/s.
    let accel_m_s2 = DESCRIPTION.accel_scale_m_s2();
    assert!((accel_m_s2 - 0.002_392_822_6).abs() < 1e-12, "{accel_m_s2}");
    let gyro_rad_s = DESCRIPTION.gyro_scale_rad_s();
    assert!((gyro_rad_s - 0.001_221_730_476_396).abs() < 1e-14);
    assert_eq!(DESCRIPTION.rate_hz(), 100.0);
    assert_eq!(DESCRIPTION.spacing_us(), 10_000);
}

#[test]
fn scales_that_do_not_go_with_the_range_are_refused_in_words() {
    let scale = |description: Description| match description.plausible() {
        Err(ProfileError::Scale { sensor, .. }) => sensor,
        other => panic!("{other:?}"),
    };
    // The part's scale of ±250 with a range of ±2000; degrees taken for radians; g for milli-g.
    for gyro_scale_micro_deg_s in [8750, 1222, 4_010_000] {
        let wrong = Description {
            gyro_scale_micro_deg_s,
            ..DESCRIPTION
        };
        assert_eq!(scale(wrong), "gyroscope");
    }
    // ±2 g for ±8 g; micro-g for nano-g.
    for accel_scale_nano_g in [61_000, 244] {
        let wrong = Description {
            accel_scale_nano_g,
            ..DESCRIPTION
        };
        assert_eq!(scale(wrong), "accelerometer");
    }
    let words = Description {
        gyro_scale_micro_deg_s: 8750,
        ..DESCRIPTION
    }
    .plausible()
    .unwrap_err()
    .to_string();
    for part in ["gyroscope", "286.7", "±2000 deg/s", "correct the scale"] {
        assert!(words.contains(part), "{words}");
    }
    for zero in [
        Description {
            rate_tenth_hz: 0,
            ..DESCRIPTION
        },
        Description {
            accel_scale_nano_g: 0,
            ..DESCRIPTION
        },
        Description {
            gyro_range_deg_s: 0,
            ..DESCRIPTION
        },
    ] {
        assert!(matches!(zero.plausible(), Err(ProfileError::Zero { .. })));
    }
}

#[test]
fn more_than_fifty_milliseconds_in_a_packet_is_refused() {
    let settings = |rate_tenth_hz, samples_per_packet| Settings {
        rate_tenth_hz,
        accel_range_g: 8,
        gyro_range_deg_s: 2000,
        samples_per_packet,
    };
    for (rate_tenth_hz, count) in [(1000, 5), (4000, 20), (2000, 10), (250, 1), (250, 0)] {
        assert_eq!(settings(rate_tenth_hz, count).live(), Ok(()));
    }
    for (rate_tenth_hz, count) in [(1000, 6), (4000, 21), (999, 5), (250, 2)] {
        let error = settings(rate_tenth_hz, count).live().unwrap_err();
        assert!(error.to_string().contains("at most 50 ms"), "{error}");
    }
    assert!(settings(0, 1).live().is_err());
    assert_eq!(Settings::most_samples_per_packet(4000, 20), 1);
    assert_eq!(Settings::most_samples_per_packet(4000, 244), 19);
    assert_eq!(Settings::most_samples_per_packet(1000, 244), 5);
}

#[test]
fn a_reading_at_the_end_of_its_16_bits_is_at_the_recorded_range() {
    // The doubt "saturated" is given from 0.998 of the recorded range on.
    for (accel_scale_nano_g, gyro_scale_micro_deg_s) in
        [(244_000, 70_000), (244_140, 61_035), (221_000, 55_500)]
    {
        let description = Description {
            accel_scale_nano_g,
            gyro_scale_micro_deg_s,
            ..DESCRIPTION
        };
        assert_eq!(description.plausible(), Ok(()));
        let info = description.sensor_info(Place::Hand, None, None);
        let (accel_g, gyro_deg_s) = (info.accel_range_g.unwrap(), info.gyro_range_deg_s.unwrap());
        assert!(description.accel_reach_g() >= 0.998 * accel_g);
        assert!(description.gyro_reach_deg_s() >= 0.998 * gyro_deg_s);
        assert!(accel_g <= 8.0 && gyro_deg_s <= 2000.0);
    }
    // Where the range is reached before the 16 bits end, it is the range that counts.
    let info = DESCRIPTION.sensor_info(Place::Forearm, Some("unit".into()), Some("1.2".into()));
    assert_eq!(info.gyro_range_deg_s, Some(2000.0));
    assert_eq!(info.rate_hz, Some(100.0));
    assert_eq!(EventKind::Sensor(info).name(), "sensor");
}
