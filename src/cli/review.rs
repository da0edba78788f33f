//! `carpotempo review`.

use clap::Args;

/// Arguments.
#[derive(Debug, Args)]
pub struct ReviewArguments {}

/// Runs the command.
pub fn run(_arguments: &ReviewArguments) -> anyhow::Result<()> {
    Ok(())
}
