//! Packets in, samples out: order, time, loss, restarts. Times are asserted to the microsecond.

use carpotempo::sample::{GRAVITY_M_S2, Place};
use carpotempo::source::signal::Told;
use carpotempo::source::unit::packet::{Packet, RawReading, Stamp};
use carpotempo::source::unit::profile::Description;
use carpotempo::source::unit::stream::UnitStream;

use crate::making::{Counting, DESCRIPTION, clocks, gaps, marks, samples, stream};

const COUNTING: Counting = Counting {
    sequence_0: 0,
    time_0_us: 5_000_000,
    spacing_us: 10_000,
};

/// Gives the single packets of these samples; sample `index` arrives at `start_s` + index × 10 ms.
fn feed(
    stream: &mut UnitStream,
    counting: &Counting,
    start_s: f64,
    indexes: impl IntoIterator<Item = u64>,
) -> Vec<Told> {
    let mut told = Vec::new();
    for index in indexes {
        let arrival_s = start_s + 0.01 * index as f64;
        told.extend(stream.packet(&counting.packet(index, 0), arrival_s));
    }
    told
}

fn times_us(told: &[Told]) -> Vec<i64> {
    samples(told)
        .iter()
        .map(|own| (own.t_s * 1e6).round() as i64)
        .collect()
}

#[test]
fn the_first_contact_sets_the_constant_and_is_told_first() {
    let mut stream = stream();
    // The first packet is 20 ms slower than the second: the second sets the constant.
    assert!(stream.packet(&COUNTING.packet(0, 0), 2.02).is_empty());
    let told = stream.packet(&COUNTING.packet(1, 0), 2.01);
    assert!(matches!(told[0], Told::Clock(_)), "{told:?}");
    let clock = &clocks(&told)[0];
    assert_eq!(clock.place, Some(Place::Hand));
    assert_eq!(marks(&told), [0, 1]);
    // The arrival never goes back: 2.02 s for sample 1 at 5.01 s.
    assert_eq!(clock.offset_s, Some(-2.99));
    assert_eq!(times_us(&told), [2_010_000, 2_020_000]);
    assert_eq!(clock.drift_ppm, None);
    assert_eq!(stream.clock().unwrap().offset_s, Some(-2.99));
}

#[test]
fn times_are_whole_microseconds_and_short_in_writing() {
    let mut stream = stream();
    let counting = Counting {
        spacing_us: 9_617,
        ..COUNTING
    };
    let mut told = Vec::new();
    for index in 0..500 {
        let arrival_s = 1.234_567_891 + 0.009_617 * index as f64;
        told.extend(stream.packet(&counting.packet(index, 0), arrival_s));
    }
    for sample in samples(&told) {
        let written = sample.t_s.to_string();
        let decimals = written.split('.').nth(1).map_or(0, str::len);
        assert!(decimals <= 6, "{written}");
    }
    let times = times_us(&told);
    assert!(times.windows(2).all(|two| two[1] - two[0] == 9_617));
}

#[test]
fn a_batch_that_began_before_the_recording_starts_at_zero() {
    let mut stream = stream();
    let mut told = stream.packet(&COUNTING.packet(0, 5), 0.01);
    told.extend(stream.packet(&COUNTING.packet(5, 5), 0.06));
    assert_eq!(times_us(&told)[..3], [0, 10_000, 20_000]);
    assert_eq!(marks(&told), (0..10).collect::<Vec<_>>());
}

#[test]
fn nothing_waits_while_nothing_is_missing() {
    let mut stream = stream();
    feed(&mut stream, &COUNTING, 1.0, 0..2);
    for index in 2..300 {
        let told = feed(&mut stream, &COUNTING, 1.0, [index]);
        assert_eq!(marks(&told), [index]);
        assert_eq!(stream.waiting_count(), 0);
    }
}

#[test]
fn what_comes_after_a_hole_waits_for_it_and_no_longer_than_sixty_milliseconds() {
    let mut stream = stream();
    feed(&mut stream, &COUNTING, 1.0, 0..10);
    // 10 is missing; 11 to 13 wait, then 10 comes.
    assert!(feed(&mut stream, &COUNTING, 1.0, 11..14).is_empty());
    assert_eq!(stream.waiting_count(), 3);
    let told = stream.packet(&COUNTING.packet(10, 0), 1.135);
    assert_eq!(marks(&told), [10, 11, 12, 13]);
    assert_eq!(stream.figures().reordered_count, 1);
    assert_eq!(stream.figures().lost_count, 0);
    // 14 never comes: 15 came at 1.15 s and passes at 1.21 s, with all that came since.
    let told = feed(&mut stream, &COUNTING, 1.0, 15..=20);
    assert!(told.is_empty());
    let told = feed(&mut stream, &COUNTING, 1.0, [21]);
    assert_eq!(marks(&told), (15..=21).collect::<Vec<_>>());
    assert_eq!(stream.figures().lost_count, 1);
    // Then it comes after all: too late.
    assert!(stream.packet(&COUNTING.packet(14, 0), 1.3).is_empty());
    assert_eq!(stream.figures().late_count, 1);
    assert_eq!(stream.figures().repeated_count, 0);
    // And a repeated one.
    assert!(stream.packet(&COUNTING.packet(20, 0), 1.3).is_empty());
    assert_eq!(stream.figures().repeated_count, 1);
    assert_eq!(stream.figures().received_count, 21);
}

#[test]
fn silence_lets_go_of_what_waits() {
    let mut stream = stream();
    feed(&mut stream, &COUNTING, 1.0, 0..10);
    assert!(feed(&mut stream, &COUNTING, 1.0, [12]).is_empty());
    assert!(stream.idle(1.179).is_empty());
    assert_eq!(marks(&stream.idle(1.180)), [12]);
    feed(&mut stream, &COUNTING, 1.0, [14]);
    assert_eq!(marks(&stream.finish()), [14]);
    assert_eq!(stream.figures().lost_count, 3);
}

#[test]
fn a_short_loss_is_in_the_figures_and_a_long_one_is_an_event_too() {
    let mut stream = stream();
    // Nine lost are a step of 100 ms, which is no event; ten are.
    let mut told = feed(&mut stream, &COUNTING, 1.0, (0..10).chain(19..40));
    told.extend(feed(&mut stream, &COUNTING, 1.0, 50..70));
    told.extend(stream.finish());
    assert_eq!(stream.figures().lost_count, 19);
    let gaps = gaps(&told);
    assert_eq!(gaps.len(), 1, "{gaps:?}");
    assert_eq!(gaps[0].lost_count, Some(10));
    assert_eq!(gaps[0].place, Some(Place::Hand));
    let length_s = gaps[0].end_s.unwrap() - gaps[0].start_s.unwrap();
    assert!((length_s - 0.11).abs() < 1e-9);
    // It is told before the sample after it.
    let at = told.iter().position(|own| matches!(own, Told::Gap(_)));
    let after = &told[at.unwrap() + 1..];
    assert_eq!(marks(&after[..1]), [50]);
    assert_eq!(samples(after)[0].t_s, gaps[0].end_s.unwrap());
}

#[test]
fn a_loss_of_more_than_65535_samples_is_counted_by_the_time() {
    let mut stream = stream();
    let resumed = 100 + 3 * 65_536 + 17;
    let mut told = feed(&mut stream, &COUNTING, 1.0, 0..100);
    told.extend(stream.reconnected(DESCRIPTION));
    told.extend(feed(&mut stream, &COUNTING, 1.0, resumed..resumed + 100));
    told.extend(stream.finish());
    let expected: Vec<u64> = (0..100).chain(resumed..resumed + 100).collect();
    let t_us: Vec<i64> = expected
        .iter()
        .map(|index| 1_000_000 + 10_000 * *index as i64)
        .collect();
    assert_eq!(times_us(&told), t_us);
    assert_eq!(marks(&told), expected);
    assert_eq!(gaps(&told)[0].lost_count, Some(resumed - 100));
    assert_eq!(stream.figures().restarts_count, 0);
    assert_eq!(clocks(&told).len(), 1);
}

#[test]
fn the_clock_wraps_after_71_6_minutes_and_again() {
    let counting = Counting {
        sequence_0: 65_500,
        time_0_us: (1 << 32) - 100_000,
        spacing_us: 40_000,
    };
    let mut stream = stream();
    let mut told = Vec::new();
    // Five hours at 25 a second: four wraps of the time, six of the count.
    for index in 0..450_000_u64 {
        let arrival_s = 1.0 + 0.04 * index as f64;
        told.extend(stream.packet(&counting.packet(index, 0), arrival_s));
    }
    let times = times_us(&told);
    assert_eq!(times.len(), 450_000);
    assert!(
        times
            .iter()
            .enumerate()
            .all(|(index, t_us)| *t_us == 1_000_000 + 40_000 * index as i64)
    );
    let figures = stream.figures();
    assert_eq!((figures.lost_count, figures.restarts_count), (0, 0));
    assert_eq!(gaps(&told), []);
}

#[test]
fn a_restarted_unit_gets_a_new_constant_and_the_loss_is_unknown() {
    let mut stream = stream();
    let mut told = feed(&mut stream, &COUNTING, 1.0, 0..500);
    let again = Counting {
        sequence_0: 0,
        time_0_us: 30_000,
        spacing_us: 10_000,
    };
    // Two seconds later it is there again.
    let after = feed(&mut stream, &again, 8.0, 0..100);
    assert!(matches!(after[0], Told::Clock(_)), "{:?}", &after[..3]);
    assert!(matches!(after[1], Told::Gap(_)), "{:?}", &after[..3]);
    assert_eq!(clocks(&after)[0].offset_s, Some(7.97));
    let gap = &gaps(&after)[0];
    assert_eq!((gap.start_s, gap.end_s), (Some(5.99), Some(8.0)));
    assert_eq!(gap.lost_count, None);
    told.extend(after);
    assert_eq!(samples(&told).len(), 600);
    assert_eq!(stream.figures().restarts_count, 1);
    assert_eq!(stream.figures().lost_count, 0);
    assert_eq!(stream.figures().bad_count, 0);
}

#[test]
fn a_unit_that_restarts_young_is_not_taken_for_one_that_went_on() {
    // Switched on, three seconds of samples, off and on: ten seconds later it counts to 600 again,
    // in step with its old time.
    let counting = Counting {
        sequence_0: 0,
        time_0_us: 0,
        spacing_us: 10_000,
    };
    let mut stream = stream();
    feed(&mut stream, &counting, 1.0, 0..300);
    stream.reconnected(DESCRIPTION);
    let told = feed(&mut stream, &counting, 8.0, 600..700);
    assert_eq!(stream.figures().restarts_count, 1);
    assert_eq!(clocks(&told)[0].offset_s, Some(8.0));
    assert_eq!(samples(&told)[0].t_s, 14.0);
}

#[test]
fn a_unit_whose_clock_ran_ahead_does_not_go_back_in_time() {
    // 400 ppm fast for an hour: its times are 1.44 s ahead of the arrivals.
    let mut stream = stream();
    let fast = Counting {
        sequence_0: 0,
        time_0_us: 0,
        spacing_us: 100_040,
    };
    let description = Description {
        rate_tenth_hz: 100,
        ..DESCRIPTION
    };
    stream.settings_changed(description);
    let mut told = Vec::new();
    for index in 0..36_000 {
        told.extend(stream.packet(&fast.packet(index, 0), 1.0 + 0.1 * index as f64));
    }
    assert_eq!(samples(&told).len(), 36_000);
    assert_eq!(stream.figures().restarts_count, 0);
    let last_s = samples(&told)[35_999].t_s;
    // The second packet sets the constant: 1.1 s is its time.
    let expected_s = 1.1 + 35_998.0 * 0.100_04;
    assert!((last_s - expected_s).abs() < 1e-6, "{last_s}");
    // It starts again within half a second.
    let again = Counting {
        sequence_0: 0,
        time_0_us: 0,
        spacing_us: 100_040,
    };
    let mut after = Vec::new();
    for index in 0..50 {
        after.extend(stream.packet(&again.packet(index, 0), 3601.4 + 0.1 * index as f64));
    }
    assert_eq!(stream.figures().restarts_count, 1);
    let times = samples(&after);
    assert_eq!(times.len(), 50);
    assert!(times[0].t_s > last_s);
    assert!(times.windows(2).all(|two| two[0].t_s < two[1].t_s));
    assert_eq!(gaps(&after).len(), 1);
}

#[test]
fn a_packet_of_the_right_length_and_wrong_content_does_not_throw_the_time_over() {
    let mut stream = stream();
    let mut told = feed(&mut stream, &COUNTING, 1.0, 0..100);
    let stray = Packet::single_bytes(
        Stamp {
            sequence: 40_000,
            time_us: 3_000_000_000,
        },
        &RawReading::default(),
    );
    told.extend(stream.packet(&stray, 2.0));
    told.extend(stream.packet(&[1, 2, 3], 2.0));
    told.extend(stream.packet(&[], 2.0));
    told.extend(feed(&mut stream, &COUNTING, 1.0, 100..200));
    assert_eq!(marks(&told), (0..200).collect::<Vec<_>>());
    assert_eq!(clocks(&told).len(), 1);
    let figures = stream.figures();
    assert_eq!((figures.bad_count, figures.restarts_count), (3, 0));
    assert_eq!(figures.packets_count, 203);
}

#[test]
fn after_settings_the_new_scale_holds_and_a_clock_that_went_on_keeps_its_constant() {
    let mut stream = stream();
    let told = feed(&mut stream, &COUNTING, 1.0, 0..100);
    let accel_m_s2 = samples(&told)[10].accel_m_s2.x;
    let finer = Description {
        accel_scale_nano_g: 122_000,
        accel_range_g: 4,
        rate_tenth_hz: 2000,
        ..DESCRIPTION
    };
    assert!(stream.settings_changed(finer).is_empty());
    // The count starts again, the time goes on: 0.05 s later.
    let again = Counting {
        sequence_0: 0,
        time_0_us: 6_040_000,
        spacing_us: 5_000,
    };
    let mut told = Vec::new();
    for index in 0..100 {
        let arrival_s = 2.04 + 0.005 * index as f64;
        told.extend(stream.packet(&again.packet(index, 0), arrival_s));
    }
    assert_eq!(clocks(&told), []);
    assert_eq!(gaps(&told), []);
    let times = times_us(&told);
    assert_eq!(times[..3], [2_040_000, 2_045_000, 2_050_000]);
    let finer_m_s2 = samples(&told)[10].accel_m_s2.x;
    assert!((2.0 * finer_m_s2 - accel_m_s2).abs() < 2e-6);
    assert_eq!(stream.figures().restarts_count, 0);
    assert_eq!(*stream.description(), finer);
}

#[test]
fn a_queue_that_was_held_back_comes_in_whole() {
    let mut stream = stream();
    let mut told = feed(&mut stream, &COUNTING, 1.0, 0..100);
    // Nothing for three seconds, then all at once.
    for index in 100..400 {
        told.extend(stream.packet(&COUNTING.packet(index, 0), 5.0));
    }
    told.extend(feed(&mut stream, &COUNTING, 1.0, 400..500));
    assert_eq!(marks(&told), (0..500).collect::<Vec<_>>());
    assert_eq!(gaps(&told), []);
    let latency = stream.latency().unwrap();
    assert!((latency.worst_s - 3.0).abs() < 1e-6, "{latency:?}");
}

#[test]
fn a_reading_at_the_end_of_its_bits_or_range_is_saturated_for_the_doubts_too() {
    for (raw, is_saturated) in [
        ([0, 0, 4098, 0, 0, 0], false),
        ([i16::MAX, 0, 0, 0, 0, 0], true),
        ([0, i16::MIN, 0, 0, 0, 0], true),
        ([0, 0, 4098, i16::MIN, 0, 0], true),
        ([0, 0, 4098, 0, i16::MAX, 0], true),
        // 28,571 × 70 mdeg/s is 2000 deg/s, before the 16 bits end.
        ([0, 0, 4098, 0, 0, 28_571], true),
        ([0, 0, 4098, 0, 0, 28_000], false),
    ] {
        let reading = RawReading {
            accel: raw[..3].try_into().unwrap(),
            gyro: raw[3..].try_into().unwrap(),
        };
        let mut stream = stream();
        let mut told = Vec::new();
        for index in 0..2 {
            let bytes = Packet::single_bytes(COUNTING.stamp(index), &reading);
            told.extend(stream.packet(&bytes, 1.0 + 0.01 * index as f64));
        }
        let expected = if is_saturated { 2 } else { 0 };
        assert_eq!(stream.figures().saturated_count, expected, "{raw:?}");
        // By the ranges that the recording holds and the share from which a doubt is given.
        let info = DESCRIPTION.sensor_info(Place::Hand, None, None);
        let accel_m_s2 = info.accel_range_g.unwrap() * GRAVITY_M_S2;
        let gyro_rad_s = info.gyro_range_deg_s.unwrap().to_radians();
        let sample = samples(&told)[0];
        let reaches = sample.accel_m_s2.amax() >= 0.998 * accel_m_s2
            || sample.gyro_rad_s.amax() >= 0.998 * gyro_rad_s;
        assert_eq!(reaches, is_saturated, "{raw:?}");
    }
}

#[test]
fn memory_is_bounded_whatever_is_missing() {
    let mut stream = stream();
    feed(&mut stream, &COUNTING, 1.0, 0..3);
    let mut most = 0;
    // Every other sample is missing, and all come at once.
    for index in (4..200_000).step_by(2) {
        stream.packet(&COUNTING.packet(index, 0), 1.0 + 5e-6 * index as f64);
        most = most.max(stream.waiting_count());
    }
    assert!(most <= 1024, "{most}");
    stream.finish();
    assert_eq!(stream.waiting_count(), 0);
}
