//! Strange wear: hits and false alarms.

use crate::Options;

pub fn run(options: &Options) {
    let _ = (options.seed, options.sets, options.verbose);
}
