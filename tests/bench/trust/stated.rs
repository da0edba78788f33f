//! Stated errors: how often the 95 % interval holds the truth.

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::pipeline::{Expectation, analyse, set_specs};
use carpotempo::recording::{Recording, SetEndReason, SetStart};
use carpotempo::reps::Repetition;
use carpotempo::routine::TempoBand;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::session::{Manner, Person, SetPlan, Step, play};
use carpotempo::source::simulator::truth::TrueRepetition;
use carpotempo::source::simulator::unit::UnitErrors;

use crate::Options;
use crate::sets::{MOVEMENTS, quantile, recording, simulate};
use crate::two::two_units::{Kind, ORDINARY, simulate as units};

/// What is stated of a repetition.
const FIGURES: [&str; 4] = ["range", "lift", "hold", "lower"];

/// Half-width and true error of one figure, by set.
type Stated = Vec<Vec<[f64; 2]>>;

/// What a row of the table gathers, by figure.
#[derive(Default)]
struct Row {
    stated: [Stated; 4],
    unknown_count: usize,
    reps_count: usize,
}

impl Row {
    fn add(&mut self, reps: &[Repetition], truth: &[TrueRepetition]) {
        let mut own: [Vec<[f64; 2]>; 4] = Default::default();
        for truth in truth {
            let Some(rep) = partner(truth, reps) else {
                continue;
            };
            self.reps_count += 1;
            self.unknown_count += usize::from(rep.range_error_deg.is_none());
            let true_lift_s = truth.lift_end_s - truth.lift_start_s;
            let true_hold_s = truth.lower_start_s - truth.lift_end_s;
            let true_lower_s = truth.lower_end_s - truth.lower_start_s;
            let pairs = [
                (rep.range_error_deg, rep.range_deg - truth.range_deg),
                (rep.lift_error_s, rep.lift_s() - true_lift_s),
                (rep.hold_error_s, rep.hold_s() - true_hold_s),
                (rep.lower_error_s, rep.lower_s() - true_lower_s),
            ];
            for (figure, (half_width, error)) in own.iter_mut().zip(pairs) {
                figure.extend(half_width.map(|half_width| [half_width, error.abs()]));
            }
        }
        for (all, own) in self.stated.iter_mut().zip(own) {
            all.push(own);
        }
    }

    fn print(&self, name: &str) {
        for (figure, stated) in FIGURES.iter().zip(&self.stated) {
            let held = |set: &Vec<[f64; 2]>| set.iter().filter(|[h, e]| e <= h).count() as f64;
            let reps: f64 = stated.iter().map(|set| set.len() as f64).sum();
            let share = stated.iter().map(held).sum::<f64>() / reps;
            // Repetitions of one set err together: the standard error is that of sets.
            let spread: f64 = stated
                .iter()
                .map(|set| (held(set) - share * set.len() as f64).powi(2))
                .sum();
            let all: Vec<[f64; 2]> = stated.iter().flatten().copied().collect();
            let of = |index: usize| all.iter().map(|pair| pair[index]).collect::<Vec<f64>>();
            println!(
                "{name:22} {figure:6} {:5} sets {:6.0} reps  held {:5.1} % (95 % limits +-{:.1})  stated 50 % {:.3}, 95 % {:.3}; true error 50 % {:.3}, 95 % {:.3}; unknown {:.1} %",
                stated.iter().filter(|set| !set.is_empty()).count(),
                reps,
                100.0 * share,
                196.0 * spread.sqrt() / reps,
                quantile(&of(0), 0.5),
                quantile(&of(0), 0.95),
                quantile(&of(1), 0.5),
                quantile(&of(1), 0.95),
                100.0 * self.unknown_count as f64 / self.reps_count as f64,
            );
        }
    }
}

/// The counted repetition that is meant by the true one: each holds the middle of the other.
fn partner<'a>(truth: &TrueRepetition, reps: &'a [Repetition]) -> Option<&'a Repetition> {
    let middle_s = 0.5 * (truth.lift_start_s + truth.lower_end_s);
    reps.iter().find(|rep| {
        let own_s = 0.5 * (rep.lift_start_s + rep.lower_end_s);
        (rep.lift_start_s..rep.lower_end_s).contains(&middle_s)
            && (truth.lift_start_s..truth.lower_end_s).contains(&own_s)
    })
}

fn online(recording: &Recording, rate_hz: f64) -> Vec<Repetition> {
    let specs = set_specs(recording, &Expectation::default()).unwrap();
    let mut live = Live::new(LiveParams {
        rate_hz,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: specs.into_iter().next(),
    });
    for sample in &recording.hand {
        live.sample(sample);
    }
    let sets = live.finish().sets;
    sets.into_iter().flat_map(|set| set.reps).collect()
}

/// Up to three difficulties, drawn; none that leaves nothing to state an error of.
fn drawn(random: &mut Random, kinds: &[Difficulty]) -> Vec<Difficulty> {
    let mut own: Vec<Difficulty> = (0..random.whole(0, 3))
        .map(|_| kinds[random.whole(0, kinds.len() - 1)])
        .collect();
    own.sort();
    own.dedup();
    own
}

/// One calibrated set of an invented session, and its truth; fitted by that movement, else its own.
fn calibrated(
    seed: u64,
    kinds: &[Difficulty],
    manner_of: fn(SetManner) -> Manner,
    fitted_by: Option<Movement>,
) -> (Recording, Vec<TrueRepetition>) {
    let mut random = Random::new(seed);
    let difficulties = drawn(&mut random, kinds);
    let movement = MOVEMENTS[random.whole(0, MOVEMENTS.len() - 1)];
    let travel_deg = random.between(20.0, 75.0);
    let manner = SetManner::drawn(&mut random, &difficulties, travel_deg);
    let side = if random.chance(0.5) {
        Side::Left
    } else {
        Side::Right
    };
    let rate_hz = random.between(50.0, 200.0);
    let person = Person {
        forearm_m: 0.26,
        lever_m: 0.07,
        unit: UnitErrors::consumer(rate_hz, &mut random),
    };
    let fitted_by = fitted_by.unwrap_or(movement);
    let steps = [
        Step::Wear(side),
        Step::Calibrate {
            movement: fitted_by,
            posture: fitted_by.usual_posture(),
        },
        Step::Set(Box::new(SetPlan {
            start: SetStart {
                movement: Some(movement),
                side: Some(side),
                posture: Some(movement.usual_posture()),
                load_kg: Some(1.0),
                ..SetStart::default()
            },
            manner: manner_of(manner),
            end: SetEndReason::Reached,
            lost_s: None,
        })),
    ];
    let played = play(&person, &steps, &mut random);
    let mut recording = recording(played.samples);
    recording.events = played.events;
    recording.events.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
    let truth = played.truth.into_iter().flat_map(|set| set.reps).collect();
    (recording, truth)
}

/// Sets of two units whose forearm moves, refined.
fn two_units(options: &Options) {
    let sets = options.sets.unwrap_or(300).div_ceil(3) as u64;
    let kinds = [
        ("two units", ORDINARY),
        (
            "two, wrist that plays",
            Kind {
                plays: true,
                ..ORDINARY
            },
        ),
    ];
    for (block, (name, kind)) in kinds.into_iter().enumerate() {
        let mut row = Row::default();
        for index in 0..sets {
            let seed = options.seed * 1_000_000 + (8 + block as u64) * 100_000 + index;
            let set = units(seed, kind);
            let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
            row.add(&analysis.sets[0].reps, &set.truth);
        }
        row.print(name);
    }
}

pub fn run(options: &Options) {
    let sets = options.sets.unwrap_or(300) as u64;
    let all: Vec<Difficulty> = Difficulty::ALL
        .into_iter()
        .filter(|d| !matches!(d, Difficulty::Nothing))
        .collect();
    let steady: Vec<Difficulty> = all
        .iter()
        .copied()
        .filter(|d| !matches!(d, Difficulty::Sway | Difficulty::Gap))
        .collect();
    let seeds = |block: u64| (0..sets).map(move |i| options.seed * 1_000_000 + block * 100_000 + i);
    let mut whole = Row::default();
    let rows: [(&str, &[Difficulty], Option<Difficulty>); 3] = [
        ("steady arm", &steady, None),
        ("swaying arm", &steady, Some(Difficulty::Sway)),
        ("gap of 2.5 s", &steady, Some(Difficulty::Gap)),
    ];
    for (block, (name, kinds, always)) in rows.into_iter().enumerate() {
        let [mut refined, mut live, mut live_first]: [Row; 3] = Default::default();
        for seed in seeds(block as u64) {
            let mut own = drawn(&mut Random::new(!seed), kinds);
            own.extend(always);
            let set = simulate(seed, 15, &own);
            let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
            let reps = &analysis.sets[0].reps;
            refined.add(reps, &set.truth);
            whole.add(reps, &set.truth);
            let reps = online(&set.recording, set.rate_hz);
            live.add(&reps, &set.truth);
            let first = reps.get(..reps.len().min(2)).unwrap_or(&[]);
            live_first.add(first, &set.truth);
        }
        refined.print(name);
        live.print(&format!("{name}, live"));
        live_first.print(&format!("{name}, first two"));
    }
    // Oblique, and fitted as a guided session does it, whatever the movement.
    let guided = Some(Movement::WristExtension);
    for (block, name, manner_of, fitted_by) in [
        (
            7,
            "calibrated",
            Manner::Strokes as fn(SetManner) -> Manner,
            None,
        ),
        (6, "calibrated, oblique", Manner::Oblique, guided),
    ] {
        let mut refined = Row::default();
        for seed in seeds(block) {
            let (recording, truth) = calibrated(seed, &all, manner_of, fitted_by);
            let analysis = analyse(&recording, &Expectation::default()).unwrap();
            let reps: Vec<Repetition> =
                analysis.sets.into_iter().flat_map(|set| set.reps).collect();
            refined.add(&reps, &truth);
            whole.add(&reps, &truth);
        }
        refined.print(name);
    }
    two_units(options);
    whole.print("all of these, refined");
}
