//! Simulated sets through the whole pipeline: consumer noise, any mounting, no calibration.

use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, News};
use carpotempo::pipeline::{Expectation, analyse, set_specs};
use carpotempo::reps::{Doubt, Repetition};
use carpotempo::routine::TempoBand;
use carpotempo::source::simulator::patient::Difficulty;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::truth::TrueRepetition;

use crate::Options;
use crate::sets::{Simulated, quantile, simulate};

/// Most repetitions of a set.
const LONGEST: usize = 15;

/// What a row of the table gathers.
#[derive(Default)]
struct Row {
    sets: usize,
    exact: usize,
    lower_s: Vec<f64>,
    range_deg: Vec<f64>,
    start_s: Vec<f64>,
    online_exact: usize,
    online_lower_s: Vec<f64>,
    online_range_deg: Vec<f64>,
    announced_s: Vec<f64>,
}

impl Row {
    fn print(&mut self, name: &str) {
        println!(
            "{name:16} {:5} {:6.1} {:7.3} {:7.3} {:7.2} {:7.2} {:7.3} | {:6.1} {:7.3} {:7.3} {:7.2} {:7.2} {:6.2}",
            self.sets,
            100.0 * self.exact as f64 / self.sets as f64,
            quantile(&self.lower_s, 0.5),
            quantile(&self.lower_s, 0.95),
            quantile(&self.range_deg, 0.5),
            quantile(&self.range_deg, 0.95),
            quantile(&self.start_s, 0.95),
            100.0 * self.online_exact as f64 / self.sets as f64,
            quantile(&self.online_lower_s, 0.5),
            quantile(&self.online_lower_s, 0.95),
            quantile(&self.online_range_deg, 0.5),
            quantile(&self.online_range_deg, 0.95),
            quantile(&self.announced_s, 0.5),
        );
    }

    fn add(&mut self, options: &Options, set: &Simulated) {
        let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
        let reps = &analysis.sets[0].reps;
        self.sets += 1;
        let exact = reps.len() == set.truth.len();
        self.exact += usize::from(exact);
        let (online, announced_s) = online(set);
        self.announced_s.extend(announced_s);
        let online_exact = online.len() == set.truth.len();
        self.online_exact += usize::from(online_exact);
        let online_off = set.truth.iter().any(|t| {
            partner(t, &online).is_some_and(|r| (r.lower_s() - true_lower_s(t)).abs() > 0.5)
        });
        if options.verbose && !(exact && online_exact && !online_off) {
            show(set, reps, &online);
        }
        for truth in &set.truth {
            if let Some(own) = partner(truth, reps) {
                self.lower_s
                    .push((own.lower_s() - true_lower_s(truth)).abs());
                self.range_deg.push((own.range_deg - truth.range_deg).abs());
                self.start_s
                    .push((own.lower_start_s - truth.lower_start_s).abs());
            }
            if let Some(own) = partner(truth, &online) {
                self.online_lower_s
                    .push((own.lower_s() - true_lower_s(truth)).abs());
                self.online_range_deg
                    .push((own.range_deg - truth.range_deg).abs());
            }
        }
    }
}

fn true_lower_s(truth: &TrueRepetition) -> f64 {
    truth.lower_end_s - truth.lower_start_s
}

/// The counted repetition that overlaps most, unless its times are doubtful by a gap.
fn partner<'a>(truth: &TrueRepetition, reps: &'a [Repetition]) -> Option<&'a Repetition> {
    let overlap_s = |r: &Repetition| {
        r.lower_end_s.min(truth.lower_end_s) - r.lift_start_s.max(truth.lift_start_s)
    };
    reps.iter()
        .max_by(|a, b| overlap_s(a).total_cmp(&overlap_s(b)))
        .filter(|r| overlap_s(r) > 0.0 && !r.doubts.contains(&Doubt::Gap))
}

/// Repetitions of the live pipeline, and how long after its end each one was announced.
fn online(set: &Simulated) -> (Vec<Repetition>, Vec<f64>) {
    let specs = set_specs(&set.recording, &Expectation::default()).unwrap();
    let mut live = Live::new(LiveParams {
        rate_hz: set.rate_hz,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: specs.into_iter().next(),
    });
    let mut announced_s = Vec::new();
    for sample in &set.recording.hand {
        for news in live.sample(sample).news {
            if let News::Counted(_, repetition) = news {
                announced_s.push(sample.t_s - repetition.lower_end_s);
            }
        }
    }
    let analysis = live.finish();
    let reps = analysis.sets.into_iter().flat_map(|set| set.reps).collect();
    (reps, announced_s)
}

fn show(set: &Simulated, reps: &[Repetition], online: &[Repetition]) {
    let text = |start_s: f64, end_s: f64, range_deg: f64| {
        format!("{start_s:.1}-{end_s:.1}:{range_deg:.0}")
    };
    let counted = |reps: &[Repetition]| {
        let words: Vec<String> = reps
            .iter()
            .map(|r| text(r.lift_start_s, r.lower_end_s, r.range_deg))
            .collect();
        words.join(" ")
    };
    let truth: Vec<String> = set
        .truth
        .iter()
        .map(|t| text(t.lift_start_s, t.lower_end_s, t.range_deg))
        .collect();
    println!(
        "  seed {} {:?} rate {:.0}\n    true    {:2} {}\n    refined {:2} {}\n    online  {:2} {}",
        set.seed,
        set.difficulties,
        set.rate_hz,
        truth.len(),
        truth.join(" "),
        reps.len(),
        counted(reps),
        online.len(),
        counted(online),
    );
}

pub fn run(options: &Options) {
    println!(
        "simulated sets: refined, then online; |error| of the lowering time (s), the range (deg), the lowering's start (s)"
    );
    println!(
        "{:16} {:>5} {:>6} {:>7} {:>7} {:>7} {:>7} {:>7} | {:>6} {:>7} {:>7} {:>7} {:>7} {:>6}",
        "difficulty",
        "sets",
        "exact%",
        "low 50",
        "low 95",
        "rng 50",
        "rng 95",
        "start95",
        "exact%",
        "low 50",
        "low 95",
        "rng 50",
        "rng 95",
        "said"
    );
    let asked = |name: &str| options.only.as_ref().is_none_or(|only| only == name);
    let mut all = Row::default();
    let mut without_sway = Row::default();
    let mut row = |name: &str, sets: usize, choose: &dyn Fn(&mut Random) -> Vec<Difficulty>| {
        if !asked(name) {
            return;
        }
        let mut row = Row::default();
        for index in 0..sets {
            let seed = options.seed.wrapping_mul(100_000) + index as u64;
            // Another stream than the set itself is drawn from.
            let difficulties = choose(&mut Random::new(!seed));
            let set = simulate(seed, LONGEST, &difficulties);
            row.add(options, &set);
        }
        row.print(name);
        all.sets += row.sets;
        all.exact += row.exact;
        all.online_exact += row.online_exact;
        if name != "Sway" && name != "Mixture" {
            without_sway.lower_s.append(&mut row.lower_s);
            without_sway.range_deg.append(&mut row.range_deg);
        }
    };
    row("none", options.sets, &|_| vec![]);
    for difficulty in Difficulty::ALL {
        row(&format!("{difficulty:?}"), options.sets, &|_| {
            vec![difficulty]
        });
    }
    let any = |random: &mut Random| Difficulty::ALL[random.whole(0, Difficulty::ALL.len() - 1)];
    row("Mixture", 4 * options.sets, &|random| {
        let mut own: Vec<Difficulty> = (0..random.whole(2, 3)).map(|_| any(random)).collect();
        own.sort();
        own.dedup();
        own
    });
    row("MixtureNoSway", 4 * options.sets, &|random| {
        let mut own: Vec<Difficulty> = (0..random.whole(2, 3)).map(|_| any(random)).collect();
        own.retain(|difficulty| *difficulty != Difficulty::Sway);
        own.sort();
        own.dedup();
        own
    });
    println!(
        "all: {} sets, count exact {:.2} % refined, {:.2} % online; without sway: lowering 50 % {:.3} s, 95 % {:.3} s; range 50 % {:.2} deg, 95 % {:.2} deg",
        all.sets,
        100.0 * all.exact as f64 / all.sets as f64,
        100.0 * all.online_exact as f64 / all.sets as f64,
        quantile(&without_sway.lower_s, 0.5),
        quantile(&without_sway.lower_s, 0.95),
        quantile(&without_sway.range_deg, 0.5),
        quantile(&without_sway.range_deg, 0.95),
    );
}
