//! `carpotempo replay`.

use clap::Args;

/// Arguments.
#[derive(Debug, Args)]
pub struct ReplayArguments {}

/// Runs the command.
pub fn run(_arguments: &ReplayArguments) -> anyhow::Result<()> {
    Ok(())
}
