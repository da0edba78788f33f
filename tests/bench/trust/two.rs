//! Two sensors: the true joint angle while the forearm moves.

use crate::Options;

pub fn run(options: &Options) {
    let _ = (options.seed, options.sets, options.verbose);
}
