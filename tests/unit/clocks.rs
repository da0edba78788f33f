//! The clock's estimate: closed forms, a naive linear program, delays of a radio.

use carpotempo::source::simulator::random::Random;
use carpotempo::source::unit::clock::{ClockEnvelope, ClockEstimate};

/// Arrivals of packets that a unit sends every `every_s` of this computer's time for `lasting_s`;
/// its clock is `ppm` fast and shows 100 s at this computer's 7 s.
fn estimate(
    ppm: f64,
    every_s: f64,
    lasting_s: f64,
    mut delay_s: impl FnMut(f64) -> f64,
) -> ClockEstimate {
    let mut envelope = ClockEnvelope::new();
    let count = (lasting_s / every_s) as u64;
    for index in 0..count {
        let true_s = index as f64 * every_s;
        let unit_s = 100.0 + true_s * (1.0 + 1e-6 * ppm);
        envelope.push(unit_s, 7.0 + true_s + delay_s(true_s));
    }
    envelope.estimate().unwrap()
}

#[test]
fn without_delay_offset_and_drift_are_exact() {
    for ppm in [-500.0, -20.0, 0.0, 3.0, 80.0, 500.0] {
        let found = estimate(ppm, 0.01, 60.0, |_| 0.004);
        assert!((found.drift_ppm - ppm).abs() < 1e-3, "{ppm}: {found:?}");
        // At the last packet, at 59.99 s: 7.004 + 59.99 - (100 + 59.99 (1 + ppm)).
        let offset_s = -92.996 - 59.99e-6 * ppm;
        assert!((found.offset_s - offset_s).abs() < 1e-9, "{found:?}");
        assert!((found.span_s - 59.99 * (1.0 + 1e-6 * ppm)).abs() < 1e-9);
        assert_eq!(found.packets_count, 6000);
        // A unit in step with the radio's beat would look the same until it slips by a packet's
        // 10 ms: 167 ppm of a minute.
        let error_ppm = found.drift_error_ppm.unwrap();
        assert!((165.0..175.0).contains(&error_ppm), "{error_ppm}");
    }
}

#[test]
fn random_delays_leave_the_drift_within_its_stated_error() {
    let mut within = 0;
    let mut worst_ppm: f64 = 0.0;
    for seed in 0..200 {
        let mut random = Random::new(seed);
        let ppm = random.between(-100.0, 100.0);
        // Exponential delays of 8 ms on average, and one packet in fifty stuck for long.
        let found = estimate(ppm, 0.03, 60.0, |_| {
            let stuck_s = if random.chance(0.02) { 0.3 } else { 0.0 };
            0.003 - 0.008 * (1.0 - random.unit()).ln() + stuck_s
        });
        let off_ppm = (found.drift_ppm - ppm).abs();
        worst_ppm = worst_ppm.max(off_ppm);
        within += i32::from(off_ppm <= found.drift_error_ppm.unwrap());
    }
    assert!(within >= 195, "{within} of 200 within the error");
    assert!(worst_ppm < 25.0, "{worst_ppm}");
}

#[test]
fn an_hour_gives_the_drift_to_a_part_in_a_million() {
    let mut random = Random::new(5);
    let found = estimate(-37.5, 0.03, 3600.0, |_| {
        0.003 - 0.008 * (1.0 - random.unit()).ln()
    });
    assert!((found.drift_ppm + 37.5).abs() < 0.5, "{found:?}");
    assert!(found.drift_error_ppm.unwrap() < 2.0, "{found:?}");
}

#[test]
fn the_beat_of_a_connection_interval_is_in_the_stated_error() {
    // A sample every 10 ms of the unit's clock waits for the next of the host's events, every
    // 30 ms or every 11.25 ms.
    for (interval_s, ppm) in [
        (0.03, 20.0),
        (0.03, -90.0),
        (0.01125, 20.0),
        (0.015, 40.0),
        (0.0075, -60.0),
    ] {
        for lasting_s in [10.0, 60.0, 600.0] {
            let mut envelope = ClockEnvelope::new();
            let mut index = 0.0_f64;
            loop {
                let true_s = 0.0013 + index * 0.01 / (1.0 + 1e-6 * ppm);
                if true_s > lasting_s {
                    break;
                }
                let event_s = (true_s / interval_s).ceil() * interval_s;
                envelope.push(50.0 + index * 0.01, event_s + 0.002);
                index += 1.0;
            }
            let found = envelope.estimate().unwrap();
            let error_ppm = found.drift_error_ppm.unwrap();
            let off_ppm = (found.drift_ppm - ppm).abs();
            assert!(
                off_ppm <= error_ppm,
                "{interval_s} {ppm} {lasting_s}: {off_ppm} over {error_ppm}"
            );
        }
    }
}

#[test]
fn the_line_is_the_one_of_the_linear_program() {
    for seed in 0..50 {
        let mut random = Random::new(1000 + seed);
        let points: Vec<(f64, f64)> = (0..40)
            .map(|index| {
                let x_s = f64::from(index) + 0.5 * random.unit();
                (x_s, x_s + 0.02 * random.unit() + 4e-4 * x_s)
            })
            .collect();
        let mut envelope = ClockEnvelope::new();
        for (unit_s, arrival_s) in &points {
            envelope.push(*unit_s, *arrival_s);
        }
        // The naive way: of all lines through two points and under all, the one with the smallest
        // sum of distances.
        let mut best: Option<(f64, f64)> = None;
        for (at, a) in points.iter().enumerate() {
            for b in &points[at + 1..] {
                let slope = ((b.1 - b.0) - (a.1 - a.0)) / (b.0 - a.0);
                let above = |p: &(f64, f64)| (p.1 - p.0) - (a.1 - a.0) - slope * (p.0 - a.0);
                if points.iter().all(|p| above(p) > -1e-12) {
                    let sum: f64 = points.iter().map(above).sum();
                    if best.is_none_or(|(least, _)| sum < least) {
                        best = Some((sum, slope));
                    }
                }
            }
        }
        let drift_ppm = 1e6 * (1.0 / (1.0 + best.unwrap().1) - 1.0);
        let found = envelope.estimate().unwrap();
        assert!((found.drift_ppm - drift_ppm).abs() < 1e-4, "{found:?}");
        // And no point lies under it.
        let reference = envelope.reference();
        for (unit_s, arrival_s) in &points {
            assert!(reference.lateness_s(*unit_s, *arrival_s).unwrap() >= 0.0);
        }
    }
}

#[test]
fn lateness_is_the_delay_above_the_fastest() {
    let mut random = Random::new(3);
    let mut envelope = ClockEnvelope::new();
    let delays: Vec<f64> = (0..6000).map(|_| 0.05 * random.unit()).collect();
    for (index, delay_s) in delays.iter().enumerate() {
        let true_s = 0.01 * index as f64;
        envelope.push(true_s * (1.0 + 50e-6), 1.0 + true_s + delay_s);
    }
    let reference = envelope.reference();
    for (index, delay_s) in delays.iter().enumerate() {
        let true_s = 0.01 * index as f64;
        let late_s = reference
            .lateness_s(true_s * (1.0 + 50e-6), 1.0 + true_s + delay_s)
            .unwrap();
        assert!((late_s - delay_s).abs() < 1e-3, "{late_s} {delay_s}");
    }
}

#[test]
fn too_short_a_time_says_so_and_nonsense_is_left_out() {
    let found = estimate(20.0, 0.01, 2.0, |_| 0.0);
    assert_eq!(found.drift_error_ppm, None);
    let mut envelope = ClockEnvelope::new();
    assert_eq!(envelope.estimate(), None);
    assert_eq!(envelope.lateness_s(1.0, 2.0), None);
    for (unit_s, arrival_s) in [
        (f64::NAN, 1.0),
        (1.0, f64::INFINITY),
        (1.0, 2.0),
        (0.5, 1.5),
        (f64::NAN, f64::NAN),
    ] {
        envelope.push(unit_s, arrival_s);
    }
    let found = envelope.estimate().unwrap();
    assert_eq!(found.packets_count, 1);
    assert_eq!((found.offset_s, found.drift_ppm), (1.0, 0.0));
}

#[test]
fn memory_is_bounded_and_the_line_stays_where_every_point_is_a_corner() {
    let mut envelope = ClockEnvelope::new();
    let count = 100_000;
    for index in 0..count {
        // A parabola: all of its points are corners of its hull.
        let x_s = 0.1 * f64::from(index);
        envelope.push(x_s, x_s + 1e-10 * (x_s - 5000.0).powi(2));
    }
    assert!(
        envelope.kept_count() <= 512 + 129 + 400,
        "{}",
        envelope.kept_count()
    );
    // The tangent at the mean is level.
    let found = envelope.estimate().unwrap();
    assert!(found.drift_ppm.abs() < 0.01, "{found:?}");
}
