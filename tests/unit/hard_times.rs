//! Any mixture of wraps, losses, repeats, delays and restarts: every sample at most once, in order,
//! with its own number and time; what came in time is delivered.

use std::collections::BTreeSet;

use carpotempo::source::signal::Told;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::making::{Counting, clocks, mark_of, samples, stream};

#[derive(Debug, Clone, Copy)]
enum Fate {
    /// Arrives within 50 ms.
    InTime,
    Lost,
    /// Arrives in time, and again.
    Repeated,
    /// Arrives so much later, seconds.
    Delayed(f64),
    /// The link is lost: so many samples pass unsent before the packet.
    Silence(u64),
}

#[derive(Debug, Clone)]
struct Life {
    counting: Counting,
    ppm: f64,
    /// Samples in each packet (0 is the single layout), its delay, its fate.
    packets: Vec<(u64, f64, Fate)>,
    /// Before it started, seconds of silence.
    off_s: f64,
}

fn fate() -> impl Strategy<Value = Fate> {
    prop_oneof![
        12 => Just(Fate::InTime),
        2 => Just(Fate::Lost),
        2 => Just(Fate::Repeated),
        2 => (0.1..0.9).prop_map(Fate::Delayed),
        1 => (1_u64..40).prop_map(Fate::Silence),
        1 => (1000_u64..200_000).prop_map(Fate::Silence),
    ]
}

fn life() -> impl Strategy<Value = Life> {
    (
        any::<u16>(),
        0_u64..900_000,
        prop_oneof![
            Just(0_u64),
            0_u64..1 << 32,
            (1_u64 << 32) - 3_000_000..1 << 32
        ],
        -300.0..300.0,
        prop::collection::vec((0_u64..=5, 0.0..0.05, fate()), 5..80),
        1.5..300.0,
    )
        .prop_map(|(sequence_0, young_us, any_us, ppm, packets, off_s)| Life {
            counting: Counting {
                sequence_0,
                time_0_us: any_us + young_us,
                spacing_us: 10_000,
            },
            ppm,
            packets,
            off_s,
        })
}

/// A packet on its way: when it arrives, its bytes, its samples, and whether they must be delivered.
struct Flight {
    arrival_s: f64,
    bytes: Vec<u8>,
    first: u64,
    count: u64,
    must: bool,
}

/// The packets of a life that begins at `start_s`, in the order of their arrival.
fn flights(life: &Life, start_s: f64) -> Vec<Flight> {
    let mut found: Vec<Flight> = Vec::new();
    let mut index = 0;
    for (at, (count, delay_s, fate)) in life.packets.iter().enumerate() {
        // The beginning and the end are calm: a restart in the middle of a disorder is another
        // matter.
        let is_calm = at < 3 || at + 40 >= life.packets.len();
        let fate = match fate {
            _ if at < 3 => Fate::InTime,
            Fate::Delayed(_) if is_calm => Fate::Lost,
            other => *other,
        };
        if let Fate::Silence(unsent) = fate {
            index += unsent;
        }
        let samples = (*count).max(1);
        let sent_us = life.counting.unit_us(index + samples - 1) - life.counting.time_0_us;
        let sent_s = start_s + 1e-6 * sent_us as f64 / (1.0 + 1e-6 * life.ppm);
        let mut send = |late_s: f64, must: bool| {
            found.push(Flight {
                arrival_s: sent_s + late_s,
                bytes: life.counting.packet(index, *count),
                first: index,
                count: samples,
                must,
            });
        };
        match fate {
            // What comes before the first contact is not asked for.
            Fate::InTime if at < 3 => send(0.0, true),
            Fate::InTime | Fate::Silence(_) => send(*delay_s, true),
            Fate::Lost => {}
            Fate::Repeated => {
                send(*delay_s, true);
                send(delay_s + 0.02, false);
            }
            Fate::Delayed(late_s) => send(late_s, false),
        }
        index += samples;
    }
    found.sort_by(|a, b| a.arrival_s.total_cmp(&b.arrival_s));
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(400), failure_persistence: None, rng_seed: RngSeed::Fixed(11), ..ProptestConfig::default() })]
    #[test]
    fn every_sample_comes_once_in_order_with_its_own_time(
        lives in prop::collection::vec(life(), 1..4),
    ) {
        let mut stream = stream();
        let mut now_s = 0.0;
        let mut last_s = f64::NEG_INFINITY;
        let mut repeated_or_late = 0;
        let mut lost = 0;
        for (at, life) in lives.iter().enumerate() {
            // A unit that was off begins with a young clock and the number 0.
            let mut life = life.clone();
            if at > 0 {
                life.counting.time_0_us %= 900_000;
                life.counting.sequence_0 = 0;
            }
            let flights = flights(&life, now_s + life.off_s);
            let mut told: Vec<Told> = Vec::new();
            let mut came = 0;
            for flight in &flights {
                told.extend(stream.packet(&flight.bytes, flight.arrival_s));
                prop_assert!(stream.waiting_count() <= 1024);
                came += flight.count;
                now_s = flight.arrival_s;
            }
            told.extend(stream.finish());

            // One constant for the life, and the times are the unit's own plus it.
            let clocks = clocks(&told);
            prop_assert_eq!(clocks.len(), 1, "{:?}", clocks);
            let offset_s = clocks[0].offset_s.unwrap();
            let wrapped_us = life.counting.time_0_us as u32;
            let samples = samples(&told);
            let marks: Vec<u64> = samples.iter().map(mark_of).collect();
            prop_assert!(marks.windows(2).all(|two| two[0] < two[1]), "{:?}", marks);
            for (sample, mark) in samples.iter().zip(&marks) {
                let unit_us = u64::from(wrapped_us) + mark * life.counting.spacing_us;
                let t_s = 1e-6 * unit_us as f64 + offset_s;
                prop_assert!((sample.t_s - t_s).abs() < 1e-6, "{} is not {}", sample.t_s, t_s);
                prop_assert!(sample.t_s >= last_s && sample.t_s >= 0.0);
                last_s = sample.t_s;
            }

            // All that came in time is there, and what is there was sent.
            let delivered: BTreeSet<u64> = marks.iter().copied().collect();
            let sent: BTreeSet<u64> =
                flights.iter().flat_map(|own| own.first..own.first + own.count).collect();
            for flight in flights.iter().filter(|own| own.must) {
                for index in flight.first..flight.first + flight.count {
                    prop_assert!(delivered.contains(&index), "{} is missing", index);
                }
            }
            prop_assert!(delivered.is_subset(&sent));
            repeated_or_late += came - delivered.len() as u64;
            lost += marks.last().unwrap() - marks[0] + 1 - delivered.len() as u64;
            // Every step of more than 0.1 s is told, and no other but a restart's.
            let steps = samples.windows(2).filter(|two| two[1].t_s - two[0].t_s > 0.100_000_5);
            let told_count = crate::making::gaps(&told).len();
            prop_assert_eq!(told_count, steps.count() + usize::from(at > 0));
        }
        let figures = stream.figures();
        prop_assert_eq!(figures.restarts_count, lives.len() as u64 - 1);
        prop_assert_eq!(figures.bad_count, 0);
        prop_assert_eq!(figures.lost_count, lost);
        prop_assert_eq!(figures.repeated_count + figures.late_count, repeated_or_late);
    }
}
