//! Guided sets, acted by invented people, through the live pipeline and the session: false pauses,
//! starts, counts, and how soon a true stop pauses.

use std::collections::BTreeMap;

use carpotempo::recording::SetEndReason;
use rayon::prelude::*;

use crate::Options;
use crate::acted::{Acted, Story};
use crate::outcome::Outcome;
use crate::sets::quantile;

/// The lift has begun to be seen so long after the first true repetition's end at the latest,
/// seconds: what begins later is late.
const LATE_S: f64 = 0.8;

struct Run {
    acted: Acted,
    outcome: Outcome,
}

fn runs(seed: u64, count: usize, story: Story) -> Vec<Run> {
    let one = |index: usize| {
        let acted = Acted::play(seed.wrapping_mul(100_000) + index as u64, story);
        let outcome = Outcome::of(&acted);
        Run {
            acted: Acted {
                samples: Vec::new(),
                ..acted
            },
            outcome,
        }
    };
    (0..count).into_par_iter().map(one).collect()
}

fn show(run: &Run, what: &str) {
    let Run { acted, outcome } = run;
    let item = acted.item();
    let truth: Vec<String> = acted
        .truth
        .iter()
        .map(|t| {
            format!(
                "{:.1}-{:.1}/{:.1}-{:.1}:{:.0}",
                t.lift_start_s, t.lift_end_s, t.lower_start_s, t.lower_end_s, t.range_deg
            )
        })
        .collect();
    println!(
        "  {what}: seed {} {:?} {} {} tempo {} load {:?} rate {:.0} {:?} stopped {:.1?} decoy {:.1?}\n    {outcome:.1?}\n    truth {} {}",
        acted.seed,
        acted.story,
        item.movement.name(),
        item.side.sides()[0].name(),
        item.tempo.map_or("-".to_owned(), |tempo| tempo.code()),
        item.load_kg,
        acted.rate_hz,
        acted.difficulties,
        acted.stopped_s,
        acted.decoy_s,
        acted.truth.len(),
        truth.join(" "),
    );
}

fn percent(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

/// The set began in time for its first repetition; `None` where it never began.
fn late(run: &Run) -> Option<bool> {
    let begun_s = run.outcome.begun_s.last()?;
    let first = run.acted.truth.first()?;
    Some(*begun_s > first.lower_end_s + LATE_S)
}

/// Whether the set was seen to begin before its first lift and before anything else that is played:
/// on the way to the posture.
fn begun_on_the_way(run: &Run) -> bool {
    let first = run.acted.truth.first().map(|first| first.lift_start_s);
    let until_s = run.acted.decoy_s.map(|[from_s, _]| from_s).or(first);
    let begun_s = run.outcome.begun_s.first();
    begun_s
        .zip(until_s)
        .is_some_and(|(begun_s, until_s)| *begun_s < until_s)
}

fn ordinary(options: &Options) {
    let count = options.sets.max(1) * 20;
    let runs = runs(options.seed, count, Story::Ordinary);
    let mut pauses: BTreeMap<String, usize> = BTreeMap::new();
    let (mut not_begun, mut begun_late, mut exact, mut by_form, mut open) = (0, 0, 0, 0, 0);
    let mut begins_s = Vec::new();
    for run in &runs {
        let (acted, outcome) = (&run.acted, &run.outcome);
        let mut wrong = Vec::new();
        if let Some((why, at_s)) = outcome.paused {
            let after = acted
                .truth
                .last()
                .is_some_and(|last| at_s > last.lower_end_s);
            let when = if after {
                ", after the last repetition"
            } else {
                ""
            };
            *pauses.entry(format!("{why:?}{when}")).or_default() += 1;
            wrong.push("paused");
        }
        match late(run) {
            None => {
                not_begun += 1;
                wrong.push("not begun");
            }
            Some(true) => {
                begun_late += 1;
                wrong.push("late");
            }
            Some(false) => {}
        }
        if let (Some(begun_s), Some(first)) = (outcome.begun_s.first(), acted.truth.first()) {
            begins_s.push(begun_s - first.lift_start_s);
        }
        match outcome.ended {
            Some(SetEndReason::Tired) => by_form += 1,
            Some(SetEndReason::Reached) => {}
            _ => open += 1,
        }
        let agrees = outcome.counted as usize == acted.truth.len()
            || outcome.ended == Some(SetEndReason::Tired);
        exact += usize::from(agrees);
        if !agrees {
            wrong.push("count");
        }
        if options.verbose && !wrong.is_empty() {
            show(run, &wrong.join(", "));
        }
    }
    let paused: usize = pauses.values().sum();
    println!(
        "ordinary guided sets: {count}; false pauses {paused} = {:.2} % (goal 2 %) {pauses:?}",
        percent(paused, count)
    );
    println!(
        "  began late {begun_late}, not at all {not_begun}; seen to begin after the lift began: median {:.2} s, 95 % {:.2} s",
        quantile(&begins_s, 0.5),
        quantile(&begins_s, 0.95)
    );
    println!(
        "  seen to begin on the way to the posture, before any lift: {}",
        runs.iter().filter(|run| begun_on_the_way(run)).count()
    );
    println!(
        "  count as in truth {:.2} %; ended by the form rule {by_form}, neither ended nor paused {}",
        percent(exact, count),
        open - paused
    );
}

fn stops(options: &Options, story: Story) {
    let count = options.sets * 3;
    let runs = runs(options.seed + 1, count, story);
    let mut after_s = Vec::new();
    let (mut early, mut missed) = (0, 0);
    for run in &runs {
        let Some(stopped_s) = run.acted.stopped_s else {
            continue;
        };
        match run.outcome.paused {
            Some((_, at_s)) if at_s >= stopped_s => after_s.push(at_s - stopped_s),
            Some(_) => {
                early += 1;
                if options.verbose {
                    show(run, "early");
                }
            }
            None => {
                missed += 1;
                if options.verbose {
                    show(run, "missed");
                }
            }
        }
    }
    println!(
        "true stops, {story:?}: {count}; pauses after median {:.2} s, 95 % {:.2} s, longest {:.2} s; missed {missed}, paused before it {early}",
        quantile(&after_s, 0.5),
        quantile(&after_s, 0.95),
        quantile(&after_s, 1.0)
    );
}

fn decoys(options: &Options, story: Story) {
    let count = options.sets * 3;
    let runs = runs(options.seed + 2, count, story);
    let (mut started, mut spoilt) = (0, 0);
    for run in &runs {
        let (Some([from_s, _]), Some(first)) = (run.acted.decoy_s, run.acted.truth.first()) else {
            continue;
        };
        let begins = |at_s: &f64| (from_s..first.lift_start_s).contains(at_s);
        let wrong = if run.outcome.begun_s.iter().any(begins) {
            started += 1;
            "started by a decoy"
        } else if run.outcome.ended != Some(SetEndReason::Reached) {
            spoilt += 1;
            "the set after it"
        } else {
            continue;
        };
        if options.verbose {
            show(run, wrong);
        }
    }
    println!(
        "before the set, {story:?}: {count}; started a set {started} (begun before it, on the way to the posture: {}); the set after it did not reach its dose in {spoilt}",
        runs.iter().filter(|run| begun_on_the_way(run)).count()
    );
}

pub fn run(options: &Options) {
    ordinary(options);
    for story in Story::STOPS {
        stops(options, story);
    }
    for story in Story::DECOYS {
        decoys(options, story);
    }
}
