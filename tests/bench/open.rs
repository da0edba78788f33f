//! The open series of tests/open_series.
//!
//! Needs the exported series (tests/open_series/README.md) in the folder that the environment's
//! CARPOTEMPO_OPEN_SERIES names.

use crate::Options;
use crate::by_eye::tallies;

pub fn run(options: &Options) {
    let found = tallies(&mut |(eye, set)| {
        if options.verbose && set.reps.len() != eye.count {
            println!(
                "  {} {:5} by eye {} ({} to {}), found {}, cut by the end {}",
                eye.series,
                eye.exercise,
                eye.count,
                eye.low,
                eye.high,
                set.reps.len(),
                set.incomplete_count
            );
        }
    });
    let Some([hundred, all]) = found else {
        println!("open series: CARPOTEMPO_OPEN_SERIES is not set, left out");
        return;
    };
    println!("open series without PEN and ROW: {hundred} (goals 97, 100)");
    println!("open series, all: {all} (goals 92, 99)");
}
