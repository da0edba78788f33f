//! Two sensors: the true joint angle while the forearm moves.

use carpotempo::pipeline::{Expectation, analyse_in_detail};
use rayon::prelude::*;

use crate::Options;
use crate::sets::quantile;

#[path = "../../common/two_units.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
pub mod two_units;

use two_units::{Kind, ORDINARY, TwoUnits, one_unit, online, simulate};

/// What one set gave.
struct Figures {
    exact: bool,
    ranges_deg: Vec<f64>,
    rmse_deg: f64,
    live_exact: bool,
    live_ranges_deg: Vec<f64>,
    live_rmse_deg: f64,
    alone_deg: Vec<f64>,
    offset_s: Option<f64>,
    travel_deg: f64,
    worn: bool,
    live_worn: bool,
    said: String,
}

pub fn run(options: &Options) {
    println!(
        "two units: range error median and 95 %, angle RMSE median and largest (degrees), live after the first bar, then one unit's\nranges, the clocks' error, and sets that are called worn strangely though none is; forearm moving\n{:24} {:>5} {:>6} {:>6} {:>6} {:>6} {:>6} | {:>6} {:>6} {:>6} {:>6} {:>6} | {:>6} {:>6} | {:>9} {:>6} | {:>5} {:>5}",
        "",
        "sets",
        "exact%",
        "med",
        "95",
        "rmse",
        "max",
        "exact%",
        "med",
        "95",
        "rmse",
        "max",
        "one",
        "95",
        "clock 95",
        "travel",
        "worn%",
        "live%"
    );
    let uncalibrated = Kind {
        calibrated: false,
        ..ORDINARY
    };
    let rows = [
        ("calibrated", 60, ORDINARY),
        ("not calibrated", 60, uncalibrated),
        (
            "clocks apart",
            60,
            Kind {
                clocks_apart: true,
                ..ORDINARY
            },
        ),
        (
            "wrist that plays",
            60,
            Kind {
                plays: true,
                ..ORDINARY
            },
        ),
        (
            "never still",
            60,
            Kind {
                restless: true,
                ..uncalibrated
            },
        ),
        (
            "not calibrated, apart",
            60,
            Kind {
                clocks_apart: true,
                ..uncalibrated
            },
        ),
        (
            "ten minutes",
            6,
            Kind {
                lasting_s: 600.0,
                ..ORDINARY
            },
        ),
        (
            "ten minutes, plays",
            6,
            Kind {
                lasting_s: 600.0,
                plays: true,
                ..ORDINARY
            },
        ),
    ];
    for (row, (name, sets, kind)) in rows.into_iter().enumerate() {
        let count = options
            .sets
            .map_or(sets, |asked| asked.min(if sets < 10 { 20 } else { asked }));
        let first = options.seed.wrapping_mul(1000) + 100_000 * row as u64;
        let all: Vec<Figures> = (0..count as u64)
            .into_par_iter()
            .map(|n| figures(&simulate(first + n, kind)))
            .collect();
        print_row(name, &all);
        if options.verbose {
            for one in all.iter().filter(|one| {
                quantile(&one.ranges_deg, 0.9) > 2.5
                    || one.rmse_deg > 2.0
                    || one.live_rmse_deg > 3.0
            }) {
                println!("   {}", one.said);
            }
        }
    }
}

fn figures(set: &TwoUnits) -> Figures {
    let detail = analyse_in_detail(&set.recording, &Expectation::default()).unwrap();
    let reps = &detail.analysis.sets[0].reps;
    let (steps, live) = online(&set.recording);
    let live_angles: Vec<(f64, f64)> = steps
        .iter()
        .filter_map(|step| Some((step.t_s, step.measured_deg?)))
        .collect();
    let alone = analyse_in_detail(&one_unit(&set.recording), &Expectation::default()).unwrap();
    let live_reps = &live.sets[0].reps;
    let part = detail.analysis.sets[0].forearm.clone().unwrap();
    let rmse_deg = set.off_deg(&set.angles(&detail));
    let live_rmse_deg = set.off_deg(&live_angles);
    let ranges_deg = set.ranges_off_deg(reps);
    Figures {
        exact: reps.len() == set.truth.len(),
        rmse_deg,
        live_exact: live_reps.len() == set.truth.len(),
        live_ranges_deg: set.ranges_off_deg(live_reps),
        live_rmse_deg,
        alone_deg: set.ranges_off_deg(&alone.analysis.sets[0].reps),
        offset_s: part.clock_offset_s.map(|s| (s - set.offset_s).abs()),
        travel_deg: set.travel_deg,
        worn: !detail.analysis.sets[0].wear.is_empty(),
        live_worn: !live.sets[0].wear.is_empty(),
        said: format!(
            "seed {} {:?} {:?} {} of {} reps, live {}; range 90 % {:.2}, rmse {rmse_deg:.2}, live {live_rmse_deg:.2}; {part:?}; {:?}",
            set.seed,
            set.movement,
            set.side,
            reps.len(),
            set.truth.len(),
            live_reps.len(),
            quantile(&ranges_deg, 0.9),
            detail.analysis.warnings
        ),
        ranges_deg,
    }
}

fn print_row(name: &str, all: &[Figures]) {
    let share = |is: fn(&Figures) -> bool| {
        100.0 * all.iter().filter(|one| is(one)).count() as f64 / all.len() as f64
    };
    let gathered = |of: fn(&Figures) -> &Vec<f64>| -> Vec<f64> {
        all.iter().flat_map(|one| of(one).clone()).collect()
    };
    let ranges = gathered(|one| &one.ranges_deg);
    let live_ranges = gathered(|one| &one.live_ranges_deg);
    let alone = gathered(|one| &one.alone_deg);
    let rmse: Vec<f64> = all.iter().map(|one| one.rmse_deg).collect();
    let live_rmse: Vec<f64> = all.iter().map(|one| one.live_rmse_deg).collect();
    let offsets: Vec<f64> = all.iter().filter_map(|one| one.offset_s).collect();
    let travels: Vec<f64> = all.iter().map(|one| one.travel_deg).collect();
    println!(
        "{name:24} {:5} {:6.1} {:6.2} {:6.2} {:6.2} {:6.2} | {:6.1} {:6.2} {:6.2} {:6.2} {:6.2} | {:6.2} {:6.2} | {:5.3} {:3.0}% {:6.0} | {:5.1} {:5.1}",
        all.len(),
        share(|one| one.exact),
        quantile(&ranges, 0.5),
        quantile(&ranges, 0.95),
        quantile(&rmse, 0.5),
        quantile(&rmse, 1.0),
        share(|one| one.live_exact),
        quantile(&live_ranges, 0.5),
        quantile(&live_ranges, 0.95),
        quantile(&live_rmse, 0.5),
        quantile(&live_rmse, 1.0),
        quantile(&alone, 0.5),
        quantile(&alone, 0.95),
        quantile(&offsets, 0.95),
        100.0 * offsets.len() as f64 / all.len() as f64,
        quantile(&travels, 0.5),
        share(|one| one.worn),
        share(|one| one.live_worn),
    );
}
