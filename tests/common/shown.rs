//! The program while it shows a page: what it said, and where the page is.

use std::io::{BufRead, BufReader};
use std::process::{Child, ChildStdout, Command, Stdio};

use crate::client::cookie;

/// A program that shows a page; it ends with this.
pub struct Shown {
    pub child: Child,
    pub out: BufReader<ChildStdout>,
    pub said: String,
    pub port: u16,
    pub cookie: String,
}

impl Shown {
    /// Starts it and waits for the page's address.
    pub fn begin(command: &mut Command) -> Shown {
        let mut child = command
            .arg("--no-browser")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        let url = loop {
            let before = said.len();
            assert_ne!(out.read_line(&mut said).unwrap(), 0, "no address: {said}");
            if let Some(at) = said[before..].find("http://127.0.0.1:") {
                break said[before + at..].trim().to_owned();
            }
        };
        let port = url["http://127.0.0.1:".len()..].split('/').next().unwrap();
        let port = port.parse().unwrap();
        Shown {
            child,
            out,
            said,
            port,
            cookie: cookie(port, &url),
        }
    }
}

impl Drop for Shown {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
