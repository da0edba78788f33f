//! The segmenter alone, on the true angle: what it adds to the error of the angle.

use carpotempo::joint::AnglePoint;
use carpotempo::reps::curve::Grid;
use carpotempo::reps::excursion::{CountParams, find_all};
use carpotempo::reps::phases::refined;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::truth::true_repetitions;

use crate::Options;

pub fn quantile(values: &mut [f64], q: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    if values.is_empty() {
        return f64::NAN;
    }
    values[((values.len() - 1) as f64 * q).round() as usize]
}

pub fn run(options: &Options) {
    println!(
        "{:32} {:>5} {:>7} {:>8} {:>8} {:>8} {:>8}",
        "difficulty", "sets", "exact", "low med", "low p95", "rng med", "rng p95"
    );
    for d in Difficulty::ALL {
        row(options, &format!("{d:?}"), |_| vec![d]);
    }
    row(options, "Mixture", |random| {
        (0..random.whole(1, 3))
            .map(|_| Difficulty::ALL[random.whole(0, 16)])
            .collect()
    });
}

fn row(options: &Options, name: &str, choose: impl Fn(&mut Random) -> Vec<Difficulty>) {
    let (mut exact, mut times, mut ranges) = (0, vec![], vec![]);
    for set in 0..options.sets {
        let seed = options.seed.wrapping_mul(1000) + set as u64;
        let mut random = Random::new(seed);
        let difficulties = choose(&mut random);
        let travel = random.between(15.0, 160.0);
        let manner = SetManner::drawn(&mut random, &difficulties, travel);
        let timeline = manner.timeline(&mut random);
        let truth = true_repetitions(&timeline);
        let mut grid = Grid::new();
        let rate = 25.0 * 8f64.powf(random.unit());
        for i in 0..(timeline.duration_s * rate) as usize {
            let t_s = i as f64 / rate;
            let e = timeline.forearm_turn_rad(t_s) * 57.3;
            grid.push(AnglePoint {
                t_s,
                measured_deg: timeline.moved_angle_deg(t_s) + e[0],
                across_deg: [e[1], e[2]],
                isb: None,
            });
        }
        let curve = grid.curve();
        let found = find_all(&curve, &CountParams::default());
        if found.repetitions.len() == truth.len() {
            exact += 1;
        } else if options.verbose {
            println!(
                "  seed {seed} {difficulties:?} found {} true {} travel {travel:.0} rate {rate:.0} {manner:?}",
                found.repetitions.len(),
                truth.len()
            );
        }
        for t in &truth {
            let best = found.repetitions.iter().min_by(|a, b| {
                (curve.time_s(a.peak) - t.lift_end_s)
                    .abs()
                    .total_cmp(&(curve.time_s(b.peak) - t.lift_end_s).abs())
            });
            let Some(r) = best else { continue };
            if curve.time_s(r.peak) < t.lift_start_s || curve.time_s(r.peak) > t.lower_end_s {
                continue;
            }
            let [a, b] = refined(&curve, &r.lower, -1.0);
            let low = (b - a) * 0.01;
            let e = (low - (t.lower_end_s - t.lower_start_s)).abs();
            let top = (r.lift.start..=r.lower.end)
                .map(|i| curve.angle(i))
                .fold(f64::MIN, f64::max);
            let range = top - curve.angle(r.lift.start).min(curve.angle(r.lower.end));
            let re = (range - t.range_deg).abs();
            if options.verbose && (e > 0.15 || re > 2.0) {
                println!(
                    "  seed {seed} {difficulties:?} lower {low:.3} true {:.3} [{:.2} {:.2}] range {range:.1} true {:.1}",
                    t.lower_end_s - t.lower_start_s,
                    t.lower_start_s,
                    t.lower_end_s,
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
