//! Stated errors: how often the 95 % interval holds the truth.

use crate::Options;

pub fn run(options: &Options) {
    let _ = (options.seed, options.sets, options.verbose);
}
