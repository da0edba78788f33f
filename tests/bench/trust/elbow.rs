//! One sensor: how large a share the elbow has, and whether it is marked.

use carpotempo::pipeline::{Expectation, analyse};
use carpotempo::reps::elbow::ElbowShare;
use carpotempo::source::simulator::random::Random;
use rayon::prelude::*;

use crate::Options;
use crate::helped::{Asked, Help, Helped, helped, read_online};
use crate::sets::quantile;

/// Times of the lift, seconds.
const LIFTS_S: [f64; 6] = [0.7, 1.0, 1.5, 2.0, 3.0, 4.0];
/// Shares of the elbow, percent.
const SHARES_PERCENT: [usize; 9] = [0, 10, 20, 30, 40, 50, 60, 70, 80];

struct Outcome {
    asked: Asked,
    set: Helped,
    true_ratio: f64,
    share: ElbowShare,
    /// Whether each repetition is marked.
    moved: Vec<bool>,
}

pub fn run(options: &Options) {
    let sets = options.sets.unwrap_or(500);
    println!(
        "one sensor, an elbow that helps: {sets} sets for each share, consumer unit, 50 to 200 Hz"
    );
    let asked = asked(options.seed, sets);
    let outcomes: Vec<Outcome> = asked.par_iter().filter_map(outcome).collect();
    println!(
        "{} of {} sets left out of all figures: no repetition was counted, or the unit was taken to be worn elsewhere",
        asked.len() - outcomes.len(),
        asked.len()
    );
    curve(&outcomes);
    goals(&outcomes);
    errors(&outcomes);
    if options.verbose {
        worst(&outcomes);
    }
}

fn asked(seed: u64, sets: usize) -> Vec<Asked> {
    let mut random = Random::new(seed);
    let mut all = Vec::new();
    for percent in SHARES_PERCENT {
        for index in 0..sets {
            all.push(Asked {
                seed: random.whole(0, 1 << 40) as u64,
                share_ratio: percent as f64 / 100.0,
                lift_s: LIFTS_S[index % LIFTS_S.len()],
                help: [Help::Steady, Help::Steady, Help::Shifted, Help::Late][random.whole(0, 3)],
                unrest: random.chance(0.5),
                calibrated: random.chance(0.5),
            });
        }
    }
    all
}

/// One set in four is read as it comes, the others as a whole.
fn is_online(asked: &Asked) -> bool {
    asked.seed.is_multiple_of(4)
}

fn outcome(asked: &Asked) -> Option<Outcome> {
    let set = helped(asked);
    let expected = Expectation {
        movement: Some(set.body.movement),
        ..Expectation::default()
    };
    let analysis = if is_online(asked) {
        read_online(&set.recording, &expected)
    } else {
        analyse(&set.recording, &expected).unwrap()
    };
    let result = analysis.sets.first()?;
    let count = set.true_ratios.len() as f64;
    Some(Outcome {
        asked: *asked,
        true_ratio: set.true_ratios.iter().sum::<f64>() / count,
        share: result.elbow?,
        moved: result.reps.iter().map(|r| r.forearm_moved()).collect(),
        set,
    })
}

impl Outcome {
    fn told(&self) -> bool {
        self.share.cannot_tell.is_none()
    }

    fn marked(&self) -> bool {
        self.share.forearm_moved
    }

    fn percent(&self) -> usize {
        (100.0 * self.asked.share_ratio).round() as usize
    }
}

/// Share of the outcomes, percent; `-` of none.
fn share<'a>(
    of: impl Iterator<Item = &'a Outcome> + Clone,
    holds: impl Fn(&Outcome) -> bool,
) -> String {
    let count = of.clone().count();
    if count == 0 {
        return "-".to_owned();
    }
    format!(
        "{:.1}",
        100.0 * of.filter(|o| holds(o)).count() as f64 / count as f64
    )
}

fn curve(outcomes: &[Outcome]) {
    println!(
        "\nmarked, % of the sets that are told (cannot tell, % of all), by share and lift time"
    );
    print!("share %");
    for lift_s in LIFTS_S {
        print!("{:>15}", format!("{lift_s} s"));
    }
    println!();
    for percent in SHARES_PERCENT {
        print!("{percent:>7}");
        for lift_s in LIFTS_S {
            let cell = outcomes
                .iter()
                .filter(|o| o.percent() == percent && o.asked.lift_s == lift_s);
            let marked = share(cell.clone().filter(|o| o.told()), Outcome::marked);
            print!(
                "{:>15}",
                format!("{marked} ({})", share(cell, |o| !o.told()))
            );
        }
        println!();
    }
}

fn goals(outcomes: &[Outcome]) {
    let told = |keep: fn(&Outcome) -> bool| outcomes.iter().filter(move |o| o.told() && keep(o));
    println!(
        "\nmarked: share of 50 % or more {} % (goal 95), of 40 % {} % (85); no share {} % (at most 2), with sway and tremor {} %",
        share(told(|o| o.percent() >= 50), Outcome::marked),
        share(told(|o| o.percent() == 40), Outcome::marked),
        share(told(|o| o.percent() == 0), Outcome::marked),
        share(
            told(|o| o.percent() == 0 && o.asked.unrest),
            Outcome::marked
        )
    );
    let quick = outcomes.iter().filter(|o| o.asked.lift_s <= 2.0);
    println!(
        "cannot tell: {} % of sets with lifts of 2 s or less (at most 15), {} % of slower ones",
        share(quick, |o| !o.told()),
        share(outcomes.iter().filter(|o| o.asked.lift_s > 2.0), |o| !o
            .told())
    );
    println!(
        "read as it comes: 50 % or more {} %, no share {} %, cannot tell at 2 s or less {} %",
        share(
            told(|o| o.percent() >= 50 && is_online(&o.asked)),
            Outcome::marked
        ),
        share(
            told(|o| o.percent() == 0 && is_online(&o.asked)),
            Outcome::marked
        ),
        share(
            outcomes
                .iter()
                .filter(|o| o.asked.lift_s <= 2.0 && is_online(&o.asked)),
            |o| !o.told()
        )
    );
    let single = |keep: fn(&Outcome) -> bool| {
        let (mut marked, mut all) = (0, 0);
        for outcome in told(keep) {
            marked += outcome.moved.iter().filter(|m| **m).count();
            all += outcome.moved.len();
        }
        100.0 * marked as f64 / all as f64
    };
    println!(
        "single repetitions marked: {:.1} % at 50 % or more, {:.1} % at none",
        single(|o| o.percent() >= 50),
        single(|o| o.percent() == 0)
    );
}

fn errors(outcomes: &[Outcome]) {
    println!("\nshare told less the true one, and how often the stated 95 % interval holds it");
    println!(
        "{:>22} {:>6} {:>8} {:>8} {:>8} {:>9}",
        "", "sets", "mean", "spread", "stated", "holds %"
    );
    let row = |name: String, keep: &dyn Fn(&Outcome) -> bool| {
        let own: Vec<&Outcome> = outcomes.iter().filter(|o| o.told() && keep(o)).collect();
        let errors: Vec<f64> = own.iter().map(|o| o.error()).collect();
        let stated: Vec<f64> = own.iter().map(|o| o.stated()).collect();
        let mean = errors.iter().sum::<f64>() / errors.len() as f64;
        let square = errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / errors.len() as f64;
        println!(
            "{name:>22} {:>6} {mean:>8.3} {:>8.3} {:>8.3} {:>9}",
            own.len(),
            square.sqrt(),
            quantile(&stated, 0.5),
            share(own.iter().copied(), |o| o.error().abs()
                <= 1.96 * o.stated())
        );
    };
    row("all".to_owned(), &|_| true);
    for lift_s in LIFTS_S {
        row(format!("lift {lift_s} s"), &|o| o.asked.lift_s == lift_s);
    }
    for percent in SHARES_PERCENT {
        row(format!("share {percent} %"), &|o| o.percent() == percent);
    }
    row("calibrated".to_owned(), &|o| o.asked.calibrated);
    row("not calibrated".to_owned(), &|o| !o.asked.calibrated);
    row("read as it comes".to_owned(), &|o| is_online(&o.asked));
    row("sway and tremor".to_owned(), &|o| o.asked.unrest);
    row("neither".to_owned(), &|o| !o.asked.unrest);
    for help in [Help::Steady, Help::Shifted, Help::Late] {
        row(format!("{help:?}"), &|o| {
            o.asked.help == help && o.percent() > 0
        });
    }
}

impl Outcome {
    fn error(&self) -> f64 {
        self.share
            .share_ratio
            .map_or(f64::NAN, |share| share - self.true_ratio)
    }

    /// The stated standard error.
    fn stated(&self) -> f64 {
        let ends = self.share.high_ratio.zip(self.share.low_ratio);
        ends.map_or(f64::NAN, |(high, low)| (high - low) / (2.0 * 1.96))
    }
}

fn worst(outcomes: &[Outcome]) {
    let mut told: Vec<&Outcome> = outcomes.iter().filter(|o| o.told()).collect();
    told.sort_by(|a, b| b.error().abs().total_cmp(&a.error().abs()));
    println!();
    for o in told.iter().take(25) {
        println!(
            "{} true {:.2} told {:.2} +- {:.2} | {:?} {:?} lift {} s {:?} {} {} | {} of {} at {:.0} Hz",
            o.asked.seed,
            o.true_ratio,
            o.share.share_ratio.unwrap(),
            o.stated(),
            o.set.body.movement,
            (o.set.body.posture.direction, o.set.body.posture.rotation),
            o.asked.lift_s,
            o.asked.help,
            if o.asked.unrest { "sways" } else { "quiet" },
            if o.asked.calibrated {
                "calibrated"
            } else {
                "plain"
            },
            o.moved.len(),
            o.set.true_ratios.len(),
            o.set.rate_hz
        );
    }
}
