//! A client of few lines: what it sends is written out in each test.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use carpotempo::page::Page;
use carpotempo::routine::Routine;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::View;
use carpotempo::session::guided::{Guided, GuidedPlan};

/// An event comes within this time, or the test fails.
const PATIENCE: Duration = Duration::from_secs(60);

/// A page that is served, and what was pressed on it.
pub struct Served {
    pub page: Page,
    pub presses: Receiver<Press>,
    pub port: u16,
    pub cookie: String,
}

pub fn served() -> Served {
    let (press, presses) = channel();
    let page = Page::serve(0, move |own| press.send(own).unwrap()).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    Served {
        page,
        presses,
        port,
        cookie,
    }
}

/// The first screen of an invented routine.
pub fn view() -> View {
    let toml = "title = \"T\"\n[[items]]\nkind = \"timed\"\nwhat = \"breathing\"\nseconds = 20\n";
    let routine = Routine::from_toml(toml).unwrap();
    Guided::new(GuidedPlan {
        first_time: true,
        simulated: true,
        ..GuidedPlan::new(routine, "2026-03-03".parse().unwrap())
    })
    .view()
}

#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (own, value) = line.split_once(':')?;
            own.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }
}

/// Opens the address that a program printed; gives the cookie.
pub fn cookie(port: u16, url: &str) -> String {
    let key = url.split_once("/?key=").unwrap().1.trim();
    let answer = ask(
        port,
        &format!("GET /?key={key} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"),
        "",
    );
    assert_eq!(answer.status, 303, "{answer:?}");
    let cookie = answer.header("set-cookie").unwrap();
    cookie.split(';').next().unwrap().to_owned()
}

pub fn connect(port: u16) -> TcpStream {
    let stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    let patience = Some(Duration::from_secs(30));
    stream.set_read_timeout(patience).unwrap();
    stream
}

/// Sends a head (without its empty line) and a body, and reads the answer.
pub fn ask(port: u16, head: &str, body: &str) -> Answer {
    ask_with(port, head, body.as_bytes())
}

/// The same with a body that is no text.
pub fn ask_with(port: u16, head: &str, body: &[u8]) -> Answer {
    let mut stream = connect(port);
    let head = format!("{head}Connection: close\r\n\r\n");
    // A server that has heard enough may close before all is sent.
    let _ = stream.write_all(&[head.as_bytes(), body].concat());
    let mut bytes = Vec::new();
    let _ = stream.read_to_end(&mut bytes);
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let status = head.split(' ').nth(1).and_then(|word| word.parse().ok());
    Answer {
        status: status.unwrap_or_else(|| panic!("no answer: {text:?}")),
        head: head.to_owned(),
        body: body.to_owned(),
    }
}

/// A request as the page itself makes it.
pub fn own(port: u16, cookie: &str, method: &str, path: &str) -> String {
    format!("{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n")
}

pub fn get(port: u16, cookie: &str, path: &str) -> Answer {
    ask(port, &own(port, cookie, "GET", path), "")
}

pub fn press(port: u16, cookie: &str, json: &str) -> Answer {
    post(port, cookie, "/press", json)
}

/// Presses the button that saves for the clinic.
pub fn save(port: u16, cookie: &str, json: &str) -> Answer {
    post(port, cookie, "/save", json)
}

/// Sends JSON.
pub fn post(port: u16, cookie: &str, path: &str, json: &str) -> Answer {
    let head = own(port, cookie, "POST", path);
    let length = json.len();
    ask(
        port,
        &format!("{head}Content-Type: application/json\r\nContent-Length: {length}\r\n"),
        json,
    )
}

/// A window's stream of events.
pub struct Events(BufReader<TcpStream>);

impl Events {
    pub fn open(port: u16, cookie: &str) -> Events {
        let mut stream = connect(port);
        let head = own(port, cookie, "GET", "/events");
        stream.write_all(format!("{head}\r\n").as_bytes()).unwrap();
        Events(BufReader::new(stream))
    }

    /// The next event's name and what it carries; `None` at the end. Fails where nothing comes but
    /// signs of life.
    pub fn next(&mut self) -> Option<(String, serde_json::Value)> {
        let mut name = String::new();
        let begun = Instant::now();
        loop {
            assert!(begun.elapsed() < PATIENCE, "no event in {PATIENCE:?}");
            let mut line = String::new();
            if self.0.read_line(&mut line).ok()? == 0 {
                return None;
            }
            if let Some(own) = line.strip_prefix("event:") {
                name = own.trim().to_owned();
            } else if let Some(own) = line.strip_prefix("data:") {
                return Some((name, serde_json::from_str(own).unwrap()));
            }
        }
    }

    /// The next event of that name.
    pub fn next_of(&mut self, name: &str) -> serde_json::Value {
        loop {
            let (own, value) = self.next().expect("the stream has ended");
            if own == name {
                return value;
            }
        }
    }

    pub fn close(self) {
        let _ = self.0.into_inner().shutdown(Shutdown::Both);
    }
}
