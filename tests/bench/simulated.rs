//! Simulated sets through the whole pipeline: consumer noise, any mounting, no calibration.

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::{RateMeaning, SmootherParams, StillParams, smooth, still_spans};
use carpotempo::pipeline::motion::{MotionInput, read_motion};
use carpotempo::reps::CountParams;
use carpotempo::reps::measure::repetition;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::truth::true_repetitions;
use carpotempo::source::simulator::unit::UnitErrors;

use crate::Options;
use crate::ideal::quantile;

const MOVEMENTS: [Movement; 6] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
    Movement::Supination,
    Movement::Pronation,
];

pub fn run(options: &Options) {
    println!(
        "{:32} {:>5} {:>7} {:>8} {:>8} {:>8} {:>8}",
        "difficulty", "sets", "exact", "low med", "low p95", "rng med", "rng p95"
    );
    if options.only.is_none() {
        row(options, "(none)", |_| vec![]);
    }
    for d in Difficulty::ALL {
        if options
            .only
            .as_ref()
            .is_some_and(|only| *only != format!("{d:?}"))
        {
            continue;
        }
        row(options, &format!("{d:?}"), |_| vec![d]);
    }
    if options.only.as_ref().is_none_or(|o| o == "Mixture") {
        row(options, "Mixture", |random| {
            (0..random.whole(1, 3))
                .map(|_| Difficulty::ALL[random.whole(0, 16)])
                .collect()
        });
    }
}

fn row(options: &Options, name: &str, choose: impl Fn(&mut Random) -> Vec<Difficulty>) {
    let (mut exact, mut times, mut ranges) = (0, vec![], vec![]);
    for set in 0..options.sets {
        let seed = options.seed.wrapping_mul(1000) + set as u64;
        let mut random = Random::new(seed);
        let difficulties = choose(&mut random);
        let movement = MOVEMENTS[random.whole(0, 5)];
        let side = if random.chance(0.5) {
            Side::Left
        } else {
            Side::Right
        };
        let travel = random.between(15.0, 160.0);
        let manner = SetManner::drawn(&mut random, &difficulties, travel);
        let timeline = manner.timeline(&mut random);
        let truth = true_repetitions(&timeline);
        let body = Body {
            movement,
            side,
            posture: movement.usual_posture(),
            forearm_m: 0.26,
            lever_m: 0.07,
            height_m: 0.02,
            hand_from_sensor: random.rotation(),
        };
        let mut unit = UnitErrors::consumer(25.0 * 8f64.powf(random.unit()), &mut random);
        if difficulties.contains(&Difficulty::Lost) {
            unit.lost_ratio = 0.06;
        }
        if difficulties.contains(&Difficulty::Jitter) {
            unit.jitter_s = 0.001;
        }
        if difficulties.contains(&Difficulty::Gap) {
            unit.gaps_s = vec![[
                random.between(3.0, (timeline.duration_s - 3.0).max(3.1)),
                2.5,
            ]];
        }
        let samples = unit.sample(&body, &timeline, &mut random);
        let still = still_spans(&samples, &StillParams::default());
        let oriented = smooth(
            &samples,
            &SmootherParams {
                rate_meaning: RateMeaning::AtInstant,
                ..SmootherParams::default()
            },
        );
        let input = MotionInput {
            oriented: &oriented,
            still: &still,
            alignment: None,
            movement: None,
        };
        let motion = read_motion(&input, &CountParams::default());
        let found: Vec<_> = motion
            .iter()
            .flat_map(|m| {
                m.reading
                    .repetitions
                    .iter()
                    .map(|e| repetition(&m.curve, e, m.zero_deg))
            })
            .collect();
        if found.len() == truth.len() {
            exact += 1;
        } else if options.verbose {
            println!(
                "  seed {seed} {difficulties:?} found {} true {} {movement:?} travel {travel:.0} rate {:.0} dur {:.1}",
                found.len(),
                truth.len(),
                unit.rate_hz,
                timeline.duration_s
            );
            println!("    manner {manner:?}");
            println!(
                "    found {:?}",
                found
                    .iter()
                    .map(|r| format!(
                        "{:.1}-{:.1}:{:.0}",
                        r.lift_start_s, r.lower_end_s, r.range_deg
                    ))
                    .collect::<Vec<_>>()
                    .join(" ")
            );
            println!(
                "    true  {:?}",
                truth
                    .iter()
                    .map(|r| format!(
                        "{:.1}-{:.1}:{:.0}",
                        r.lift_start_s, r.lower_end_s, r.range_deg
                    ))
                    .collect::<Vec<_>>()
                    .join(" ")
            );
        }
        for t in &truth {
            let overlap = |a: f64, b: f64| (b.min(t.lower_end_s) - a.max(t.lift_start_s)).max(0.0);
            let Some(r) = found.iter().max_by(|a, b| {
                overlap(a.lift_start_s, a.lower_end_s)
                    .total_cmp(&overlap(b.lift_start_s, b.lower_end_s))
            }) else {
                continue;
            };
            if overlap(r.lift_start_s, r.lower_end_s) <= 0.0
                || r.doubts.contains(&carpotempo::reps::Doubt::Gap)
            {
                continue;
            }
            let e = (r.lower_s() - (t.lower_end_s - t.lower_start_s)).abs();
            let re = (r.range_deg - t.range_deg).abs();
            if options.verbose && (e > 0.15 || re > 2.0) {
                println!(
                    "  seed {seed} {difficulties:?} {movement:?} rate {:.0} lower {:.3} true {:.3} [{:.2} {:.2}] found [{:.2} {:.2}] range {:.1} true {:.1}",
                    unit.rate_hz,
                    r.lower_s(),
                    t.lower_end_s - t.lower_start_s,
                    t.lower_start_s,
                    t.lower_end_s,
                    r.lower_start_s,
                    r.lower_end_s,
                    r.range_deg,
                    t.range_deg
                );
            }
            times.push(e);
            ranges.push(re);
        }
    }
    println!(
        "{:32} {:5} {:6.1}% {:8.3} {:8.3} {:8.2} {:8.2}",
        name,
        options.sets,
        100.0 * exact as f64 / options.sets as f64,
        quantile(&mut times, 0.5),
        quantile(&mut times, 0.95),
        quantile(&mut ranges, 0.5),
        quantile(&mut ranges, 0.95)
    );
}
