//! A question before something is done to all that is kept of a patient: the code is typed.

use std::io::{BufRead, IsTerminal, Write};

use anyhow::anyhow;

use super::exit::WrongArguments;
use crate::recording::PatientCode;

/// Whether it may be done: `--yes` with the patient's code, else the code typed in the terminal.
///
/// # Errors
/// [`WrongArguments`] where another code was given, or nobody is there to be asked; another code was
/// typed.
pub fn agreed(what: &str, patient: &PatientCode, yes: Option<&PatientCode>) -> anyhow::Result<()> {
    match yes {
        Some(code) if code == patient => Ok(()),
        Some(code) => Err(WrongArguments(format!(
            "--yes {code} is not the patient meant, who is {patient}; nothing was done"
        ))
        .into()),
        None if std::io::stdin().is_terminal() => ask(
            what,
            patient,
            &mut std::io::stdin().lock(),
            &mut std::io::stderr().lock(),
        ),
        None => Err(WrongArguments(format!(
            "{what} This is asked first, and there is no terminal to ask in: give --yes {patient}"
        ))
        .into()),
    }
}

fn ask(
    what: &str,
    patient: &PatientCode,
    answer: &mut impl BufRead,
    screen: &mut impl Write,
) -> anyhow::Result<()> {
    write!(
        screen,
        "{what}\nType the code {patient} to go on, anything else to leave everything as it is: "
    )?;
    screen.flush()?;
    let mut typed = String::new();
    answer.read_line(&mut typed)?;
    if typed.trim() == patient.as_str() {
        Ok(())
    } else {
        Err(anyhow!(
            "the code {patient} was not typed; nothing was done"
        ))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    fn asked(typed: &str) -> (bool, String) {
        let mut screen = Vec::new();
        let patient: PatientCode = "P-0001".parse().unwrap();
        let agreed = ask(
            "All of it goes.",
            &patient,
            &mut typed.as_bytes(),
            &mut screen,
        );
        (agreed.is_ok(), String::from_utf8(screen).unwrap())
    }

    #[test]
    fn only_the_code_itself_is_a_yes() {
        let (agreed, screen) = asked("P-0001\n");
        assert!(agreed);
        assert!(
            screen.starts_with("All of it goes.\nType the code P-0001"),
            "{screen}"
        );
        for typed in [
            "",
            "\n",
            "y\n",
            "yes\n",
            "p-0001\n",
            "P-0002\n",
            "P-0001 P-0002\n",
        ] {
            assert!(!asked(typed).0, "{typed:?}");
        }
    }
}
