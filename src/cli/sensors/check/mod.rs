//! One sensor, held still: is it fit for use?

mod words;

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use anyhow::{Context, anyhow};
use serde_json::json;

use crate::cli::exit::{self, WrongArguments};
use crate::source::radio::{self, Stream, Wanted};
use crate::source::signal::{Signal, Told};
use crate::source::unit::check::{Arrived, Mark, Observed, verdict};

const TIME: Duration = Duration::from_secs(15);
const LEAST: Duration = Duration::from_secs(5);
/// How long a check waits for a link that broke.
const PATIENCE: Duration = Duration::from_secs(10);
/// How long it waits for the first sample.
const FIRST: Duration = Duration::from_secs(5);
const TICK: Duration = Duration::from_millis(100);

pub(super) fn run(name: &str, time: Option<Duration>, json: bool) -> anyhow::Result<()> {
    let time = time.unwrap_or(TIME);
    if time < LEAST {
        let least_s = LEAST.as_secs();
        let words = format!("a check takes at least {least_s} seconds: --for {least_s} or more");
        return Err(WrongArguments(words).into());
    }
    let stopped = Arc::new(AtomicBool::new(false));
    let by_key = Arc::clone(&stopped);
    ctrlc::set_handler(move || by_key.store(true, Ordering::Relaxed))
        .context("listening for Ctrl-C")?;
    let go_on = || !stopped.load(Ordering::Relaxed);

    eprintln!("Looking for {name} ...");
    let wanted = Wanted {
        name: Some(name.to_owned()),
        patience: PATIENCE,
        ..Wanted::default()
    };
    let stream = radio::open_while(wanted, Instant::now(), go_on)?;
    let shown = stream.unit.shown_name().to_owned();
    eprintln!(
        "Connected. Put {shown} on a table and leave it alone for {:.0} s.",
        time.as_secs_f64()
    );
    let heard = listen(&stream, time, go_on)?;
    let description = stream.description();
    let verdict = verdict(&Observed {
        description: &description,
        arrived: &heard.arrived,
        figures: stream.figures(),
        battery_percent: heard.battery_percent,
        firmware: heard.firmware.as_deref(),
    });
    let unit = stream.unit.clone();
    drop(stream);
    if json {
        let object = json!({
            "name": unit.name,
            "address": unit.address,
            "rssi_dbm": unit.rssi_dbm,
            "battery_percent": heard.battery_percent,
            "firmware": heard.firmware,
            "link_lost_count": heard.lost_count,
            "verdict": verdict,
        });
        exit::say(&format!("{object}\n"))?;
    } else {
        exit::say(&words::text(&shown, &verdict, &description, &heard))?;
    }
    match verdict.mark {
        Mark::Ok | Mark::Look => Ok(()),
        Mark::Unknown | Mark::Bad => Err(anyhow!("{shown}: {}", verdict.words)),
    }
}

/// What was heard of the unit.
#[derive(Default)]
struct Heard {
    arrived: Vec<Arrived>,
    battery_percent: Option<u8>,
    firmware: Option<String>,
    lost_count: u32,
    /// Since when nothing comes, where that is so.
    away: Option<Instant>,
}

impl Heard {
    fn take(&mut self, signal: Signal) -> anyhow::Result<()> {
        match signal.told {
            Told::Connected(info) => self.firmware = info.firmware,
            Told::Battery(battery) => self.battery_percent = battery.percent,
            Told::Sample(_, sample) => self.arrived.push(Arrived {
                arrival_s: signal.at_s,
                sample,
            }),
            Told::Lost(_) => {
                self.lost_count += 1;
                self.away.get_or_insert_with(Instant::now);
            }
            Told::Stalled(_) => {
                self.away.get_or_insert_with(Instant::now);
            }
            Told::Ended(words) | Told::Gone(_, words) => return Err(anyhow!("the check broke off: {words}")),
            Told::Clock(_) | Told::Gap(_) | Told::Back(_) => {}
        }
        Ok(())
    }
}

/// Listens for that long from the first sample on, counting down where somebody looks.
fn listen(stream: &Stream, time: Duration, go_on: impl Fn() -> bool) -> anyhow::Result<Heard> {
    let mut heard = Heard::default();
    let mut end = Instant::now() + FIRST;
    let mut stopping = false;
    let mut count = Countdown::new();
    loop {
        match stream.signals.recv_timeout(TICK) {
            Ok(signal) => {
                match signal.told {
                    Told::Lost(_) => count.say("The link broke: trying again ..."),
                    Told::Stalled(_) => count.say("Nothing comes: waiting ..."),
                    Told::Back(_) => {
                        count.say("It is back.");
                        // The time away does not count.
                        end += heard
                            .away
                            .take()
                            .map_or(Duration::ZERO, |since| since.elapsed());
                    }
                    _ => {}
                }
                let had = heard.arrived.len();
                heard.take(signal)?;
                if had == 0 && !heard.arrived.is_empty() {
                    end = Instant::now() + time;
                }
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        if !go_on() {
            count.clear();
            return Err(anyhow!("stopped before the check was done"));
        }
        let left = end.saturating_duration_since(Instant::now());
        // A link that broke is waited for: the source itself gives it up.
        if left.is_zero() && !stopping && (heard.away.is_none() || heard.arrived.is_empty()) {
            stopping = true;
            stream.stop();
        }
        if !stopping && !heard.arrived.is_empty() && heard.away.is_none() {
            count.show(left);
        }
    }
    count.clear();
    Ok(heard)
}

/// Seconds left, on one line of a terminal; nothing elsewhere.
struct Countdown {
    is_seen: bool,
    shown_s: Option<u64>,
}

impl Countdown {
    fn new() -> Countdown {
        Countdown {
            is_seen: std::io::stderr().is_terminal(),
            shown_s: None,
        }
    }

    fn show(&mut self, left: Duration) {
        let left_s = left.as_secs_f64().ceil() as u64;
        if self.is_seen && self.shown_s != Some(left_s) {
            self.shown_s = Some(left_s);
            self.write(&format!("\r\x1b[KHold still: {left_s} s"));
        }
    }

    fn say(&mut self, words: &str) {
        self.clear();
        eprintln!("{words}");
    }

    fn clear(&mut self) {
        if self.shown_s.take().is_some() {
            self.write("\r\x1b[K");
        }
    }

    fn write(&self, text: &str) {
        let mut out = std::io::stderr().lock();
        // A terminal that is gone needs no countdown.
        let _seen = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }
}
