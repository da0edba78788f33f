//! `carpotempo demo`.

use clap::Args;

/// Arguments.
#[derive(Debug, Args)]
pub struct DemoArguments {}

/// Runs the command.
pub fn run(_arguments: &DemoArguments) -> anyhow::Result<()> {
    Ok(())
}
