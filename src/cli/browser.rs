//! Opens the page in the person's browser.

use std::process::{Command, Stdio};

/// Opens an address. Returns whether somebody took it; whether a window comes of it is not known.
pub fn open(url: &str) -> bool {
    let mut command = if cfg!(target_os = "macos") {
        Command::new("open")
    } else if cfg!(windows) {
        let mut command = Command::new("cmd");
        // The empty word is the window's title, which would else be the address.
        command.args(["/C", "start", ""]);
        command
    } else {
        Command::new("xdg-open")
    };
    command
        .arg(url)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .is_ok()
}
