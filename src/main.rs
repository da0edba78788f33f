//! The carpotempo program.

fn main() {}
