//! Strange wear: hits and false alarms, refined and live, by story.

use std::collections::BTreeMap;

use carpotempo::joint::wear::{WearFinding, WearKind};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, News};
use carpotempo::pipeline::{Expectation, analyse};

use crate::Options;
use crate::sets::quantile;
use crate::strange::{Story, Strange, strange};

/// Sets of a story, and how many times as many ordinary ones.
const SETS: usize = 300;
const ORDINARY_TIMES: usize = 2;

/// What was found in a set.
struct Seen {
    refined: Vec<WearFinding>,
    live: Vec<WearFinding>,
    /// When each kind was first told live, seconds, and how many repetitions had been counted.
    told: Vec<(WearKind, f64, usize)>,
}

fn seen(set: &Strange) -> Seen {
    let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
    let params =
        LiveParams::of_recording(&set.recording, &Expectation::default(), FilterKind::Vqf).unwrap();
    let mut live = Live::new(params);
    for event in &set.recording.events {
        live.event(event.clone());
    }
    let mut told = Vec::new();
    for sample in &set.recording.hand {
        let step = live.sample(sample);
        for news in &step.news {
            if let News::Worn(finding) = news {
                told.push((finding.kind, step.t_s, step.reps_count));
            }
        }
    }
    let online = live.finish();
    Seen {
        refined: analysis.sets.into_iter().flat_map(|set| set.wear).collect(),
        live: online.sets.into_iter().flat_map(|set| set.wear).collect(),
        told,
    }
}

#[derive(Default)]
struct Row {
    sets: usize,
    decidable: usize,
    /// Named alone or as one of two, refined and live; of the decidable sets.
    hits: [usize; 2],
    /// Named alone.
    alone: [usize; 2],
    /// Another kind was told instead.
    others: [usize; 2],
    /// Of the sets that cannot be told: silent, and named rightly all the same.
    undecidable_hits: [usize; 2],
    /// From the mishap, or the start of the set, until it was told, seconds; repetitions by then.
    after_s: Vec<f64>,
    reps: Vec<f64>,
    kinds: BTreeMap<&'static str, usize>,
    /// Size of a slip less the true one, degrees, and from its time to the true one, seconds; refined.
    slips_deg: Vec<f64>,
    slips_s: Vec<f64>,
}

impl Row {
    fn add(&mut self, set: &Strange, seen: &Seen, verbose: bool) {
        self.sets += 1;
        self.decidable += usize::from(set.decidable);
        let kind = set.story.kind();
        let mut missed = false;
        for (which, found) in [&seen.refined, &seen.live].into_iter().enumerate() {
            let named = found
                .iter()
                .any(|f| Some(f.kind) == kind || (f.or.is_some() && f.or == kind));
            let alone = found.iter().any(|f| Some(f.kind) == kind && f.or.is_none());
            let other = found
                .iter()
                .any(|f| Some(f.kind) != kind && (f.or.is_none() || f.or != kind));
            if set.decidable {
                self.hits[which] += usize::from(named);
                self.alone[which] += usize::from(alone);
            } else {
                self.undecidable_hits[which] += usize::from(named);
            }
            self.others[which] += usize::from(other);
            missed |= other || (set.decidable && kind.is_some() && !named);
        }
        for slip in seen
            .refined
            .iter()
            .filter(|f| kind == Some(f.kind) && f.kind == WearKind::Slipped)
        {
            let size_deg = slip.evidence_deg.unwrap();
            self.slips_deg.push((size_deg - set.slip_deg).abs());
            self.slips_s.push(set.at_s - slip.since_s);
        }
        for finding in &seen.refined {
            *self.kinds.entry(finding.kind.name()).or_default() += 1;
        }
        if let Some((_, at_s, reps)) = seen.told.iter().find(|(told, ..)| Some(*told) == kind) {
            self.after_s.push(at_s - set.at_s.max(set.set_s));
            self.reps.push(*reps as f64);
        }
        if verbose && missed {
            println!(
                "  seed {} {:?} {} {:?} {:?} calibrated {} decidable {} rate {:.0} at {:.1} set {:.1}\n    refined {:?}\n    live {:?}",
                set.seed,
                set.story,
                set.movement.name(),
                set.posture.rotation,
                set.difficulties,
                set.calibrated,
                set.decidable,
                set.rate_hz,
                set.at_s,
                set.set_s,
                seen.refined,
                seen.live
            );
        }
    }

    fn print(&self, name: &str) {
        let percent = |part: usize, of: usize| 100.0 * part as f64 / of.max(1) as f64;
        let of = |counts: [usize; 2], all: usize| {
            format!(
                "{:5.1} {:5.1}",
                percent(counts[0], all),
                percent(counts[1], all)
            )
        };
        println!(
            "{name:12} {:5} {:6.1} | {} | {} | {} | {} | {:6.1} {:6.1} | {:4.0} {:4.0} | {:?}",
            self.sets,
            percent(self.sets - self.decidable, self.sets),
            of(self.hits, self.decidable),
            of(self.alone, self.decidable),
            of(self.others, self.sets),
            of(self.undecidable_hits, self.sets - self.decidable),
            quantile(&self.after_s, 0.5),
            quantile(&self.after_s, 0.95),
            quantile(&self.reps, 0.5),
            quantile(&self.reps, 0.95),
            self.kinds,
        );
        if !self.slips_deg.is_empty() {
            println!(
                "  its size is off by {:.1} and {:.1} deg, doubt begins {:.1} and {:.1} s before it (50 and 95 %)",
                quantile(&self.slips_deg, 0.5),
                quantile(&self.slips_deg, 0.95),
                quantile(&self.slips_s, 0.5),
                quantile(&self.slips_s, 0.95),
            );
        }
    }
}

pub fn run(options: &Options) {
    let sets = options.sets.unwrap_or(SETS);
    println!(
        "strange wear: %, refined then live. hit = named, alone or as one of two that cannot be told apart; of the sets in which it can be told. \
         told = from the mishap or the set's start until it is said live, s, and repetitions counted by then, 50 and 95 %"
    );
    println!(
        "{:12} {:>5} {:>6} | {:11} | {:11} | {:11} | {:11} | {:13} | {:9} |",
        "story",
        "sets",
        "cannot",
        "hit",
        "alone",
        "wrong kind",
        "hit if not",
        "told after s",
        "reps"
    );
    let stories = [
        Story::Ordinary,
        Story::Shifted,
        Story::FaceDown,
        Story::Turned,
        Story::OtherHand,
        Story::OnForearm,
        Story::Slips,
        Story::Lies,
        Story::LaidDown,
    ];
    for (number, story) in stories.into_iter().enumerate() {
        let count = match story {
            Story::Ordinary => ORDINARY_TIMES * sets,
            _ => sets,
        };
        let mut row = Row::default();
        for index in 0..count {
            let seed = options
                .seed
                .wrapping_mul(1_000_000)
                .wrapping_add(100_000 * number as u64 + index as u64);
            let set = strange(seed, story);
            row.add(&set, &seen(&set), options.verbose);
        }
        row.print(&format!("{story:?}"));
    }
}
