//! How a person says stop: a key, Ctrl-C, or the end of the program asked for.

use std::io::IsTerminal;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use anyhow::Context;

use crate::session::Press;

/// Listens for as long as it lives, and leaves the terminal as it was.
pub struct Keys {
    /// What was asked for.
    pub presses: Receiver<Press>,
    /// Whether stop was asked for.
    pub stopped: Arc<AtomicBool>,
    /// Whether keys are seen, not only signals.
    pub any_key: bool,
    /// The terminal's settings before.
    before: Option<String>,
}

impl Keys {
    /// Begins to listen.
    ///
    /// # Errors
    /// The system takes no handler.
    pub fn listen() -> anyhow::Result<Keys> {
        let (press, presses) = channel();
        let stopped = Arc::new(AtomicBool::new(false));
        let stop = Stop {
            press,
            stopped: Arc::clone(&stopped),
        };
        let interrupt = stop.clone();
        ctrlc::set_handler(move || {
            if interrupt.say() {
                // Asked twice: what is on its way to the disk may hang there.
                std::process::exit(130);
            }
        })
        .context("listening for Ctrl-C")?;
        let terminal = std::io::stdin().is_terminal()
            && (std::io::stderr().is_terminal() || std::io::stdout().is_terminal())
            && in_foreground();
        let mut keys = Keys {
            presses,
            stopped,
            any_key: false,
            before: None,
        };
        if terminal {
            keys.before = settings();
            keys.any_key = std::thread::Builder::new()
                .name("keys".to_owned())
                .spawn(move || wait_for_key(&stop))
                .is_ok();
        }
        Ok(keys)
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        // Whoever waits for a key has the terminal send it at once; that ends with the program.
        if let Some(before) = &self.before {
            let _ = Command::new("stty")
                .arg(before)
                .stdin(Stdio::inherit())
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .status();
        }
    }
}

#[derive(Clone)]
struct Stop {
    press: Sender<Press>,
    stopped: Arc<AtomicBool>,
}

impl Stop {
    /// Asks to stop. Returns whether that was asked for already.
    fn say(&self) -> bool {
        let _nobody_listens = self.press.send(Press::Stop);
        self.stopped.swap(true, Ordering::SeqCst)
    }
}

fn wait_for_key(stop: &Stop) {
    let terminal = if std::io::stderr().is_terminal() {
        console::Term::stderr()
    } else {
        console::Term::stdout()
    };
    // Ctrl-C is raised as the signal, and comes by the handler. An end of the input is no key.
    if terminal.read_key().is_ok() {
        stop.say();
    }
}

/// What a terminal of this system is set to, where the system has a word for that.
fn settings() -> Option<String> {
    let output = Command::new("stty")
        .arg("-g")
        .stdin(Stdio::inherit())
        .stderr(Stdio::null())
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    let text = text.trim();
    (output.status.success() && !text.is_empty()).then(|| text.to_owned())
}

/// Whether the terminal's keys are for this program: one in the background that asks for them is
/// stopped by the system. Where the system does not tell, they are.
fn in_foreground() -> bool {
    // Source: proc_pid_stat(5): after the name in parentheses state, ppid, pgrp, session, tty_nr,
    // tpgid.
    let Ok(text) = std::fs::read_to_string("/proc/self/stat") else {
        return true;
    };
    let Some((_, rest)) = text.rsplit_once(')') else {
        return true;
    };
    let fields: Vec<&str> = rest.split_whitespace().collect();
    match (fields.get(2), fields.get(5)) {
        (Some(own), Some(foreground)) => own == foreground,
        _ => true,
    }
}
