//! Opens the page in the person's browser.

use std::process::{Command, Stdio};
use std::sync::mpsc::channel;

use anyhow::Context;

use super::exit::say;

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

/// Opens a page that is served, or only prints its address, and waits until Ctrl-C.
pub fn until_the_end(url: &str, opens: bool, before: &str) -> anyhow::Result<()> {
    let (end, ended) = channel();
    ctrlc::set_handler(move || {
        let _nobody_waits = end.send(());
    })
    .context("listening for Ctrl-C")?;
    let how = if opens && open(url) {
        "The page opens in the browser. If it does not, open this address, all of it:"
    } else {
        "Open this address in the browser, all of it:"
    };
    say(&format!("{before}{how}\n  {url}\nCtrl-C ends it.\n"))?;
    // An error is the handler gone, which is the end too.
    let _asked = ended.recv();
    Ok(())
}
