//! Exit status and the one message of a failure.

use std::process::ExitCode;

use thiserror::Error;

/// Arguments that parse but do not fit: exit status 2.
#[derive(Debug, Error)]
#[error("{0}")]
pub struct WrongArguments(pub String);

/// Writes to standard output.
///
/// # Errors
/// Those of writing; a reader that went away is one of them, and [`status`] forgives it.
pub fn say(text: &str) -> anyhow::Result<()> {
    use std::io::Write;

    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Prints what went wrong, once, and tells the exit status.
pub fn status(result: anyhow::Result<()>) -> ExitCode {
    let Err(error) = result else {
        return ExitCode::SUCCESS;
    };
    // A reader that closed the pipe has seen enough.
    let broken_pipe = error
        .chain()
        .filter_map(|cause| cause.downcast_ref::<std::io::Error>())
        .any(|cause| cause.kind() == std::io::ErrorKind::BrokenPipe);
    if broken_pipe {
        return ExitCode::SUCCESS;
    }
    eprintln!("carpotempo: {error:#}");
    if error.is::<WrongArguments>() {
        ExitCode::from(2)
    } else {
        ExitCode::from(1)
    }
}
