//! One sensor: how large a share the elbow has, and whether it is marked.

use crate::Options;

pub fn run(options: &Options) {
    let _ = (options.seed, options.sets, options.verbose);
}
