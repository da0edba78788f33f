//! One sensor or two, held still: are they fit for use?

mod countdown;
mod words;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::RecvTimeoutError;
use std::time::{Duration, Instant};

use anyhow::{Context, anyhow};
use serde_json::json;

use countdown::Countdown;

use super::list::place;
use super::places;
use crate::cli::exit::{self, WrongArguments};
use crate::source::radio::{self, Near, Stream, Wanted};
use crate::source::signal::{Signal, Told};
use crate::source::unit::check::{Arrived, Mark, Observed, Verdict, verdict};
use crate::source::unit::profile::Description;
use crate::source::unit::set_to::SetTo;

const TIME: Duration = Duration::from_secs(15);
const LEAST: Duration = Duration::from_secs(5);
/// How long sensors are looked for that were not named.
const NEAR: Duration = Duration::from_secs(3);
/// How long a check waits for a link that broke.
const PATIENCE: Duration = Duration::from_secs(10);
/// How long it waits for the first sample.
const FIRST: Duration = Duration::from_secs(5);
const TICK: Duration = Duration::from_millis(100);

pub(super) fn run(names: &[String], time: Option<Duration>, json: bool) -> anyhow::Result<()> {
    let time = time.unwrap_or(TIME);
    if time < LEAST {
        let least_s = LEAST.as_secs();
        let words = format!("a check takes at least {least_s} seconds: --for {least_s} or more");
        return Err(WrongArguments(words).into());
    }
    if let [one, two] = names
        && one.trim().eq_ignore_ascii_case(two.trim())
    {
        let words = format!("{one} is named twice: name another beside it, or it alone");
        return Err(WrongArguments(words).into());
    }
    let stopped = Arc::new(AtomicBool::new(false));
    let by_key = Arc::clone(&stopped);
    ctrlc::set_handler(move || by_key.store(true, Ordering::Relaxed))
        .context("listening for Ctrl-C")?;
    let go_on = || !stopped.load(Ordering::Relaxed);

    let streams = opened(names, go_on)?;
    let shown: Vec<&str> = streams.iter().map(|one| one.unit.shown_name()).collect();
    let it = if shown.len() == 1 { "it" } else { "them" };
    eprintln!(
        "Connected. Put {} on a table and leave {it} alone for {:.0} s.",
        shown.join(" and "),
        time.as_secs_f64()
    );
    let checked = listened(streams, time, go_on)?;
    if json {
        exit::say(&format!("{}\n", object(&checked, names.len() == 1)))?;
    } else {
        exit::say(&text(&checked))?;
    }
    let unfit: Vec<String> = checked
        .iter()
        .filter(|one| matches!(one.verdict.mark, Mark::Unknown | Mark::Bad))
        .map(|one| format!("{}: {}", one.unit.shown_name(), one.verdict.words))
        .collect();
    if unfit.is_empty() {
        return Ok(());
    }
    Err(anyhow!("{}", unfit.join(" ")))
}

/// The units of those names, else the one or two that are near, each connected.
fn opened(names: &[String], go_on: impl Fn() -> bool) -> anyhow::Result<Vec<Stream>> {
    let mut names = names.to_vec();
    if names.is_empty() {
        eprintln!("Looking for sensors ...");
        let near = radio::near(NEAR)?;
        if near.is_empty() {
            let sought_s = NEAR.as_secs_f64();
            return Err(radio::RadioError::NoneFound { sought_s }.into());
        }
        if near.len() > 2 {
            let all: Vec<&str> = near.iter().map(Near::shown_name).collect();
            return Err(anyhow!(
                "{} sensors are near: {}: name the one or the two to check",
                all.len(),
                all.join(", ")
            ));
        }
        names = near.into_iter().map(|one| one.address).collect();
    }
    let mut streams = Vec::new();
    for name in names {
        eprintln!("Looking for {name} ...");
        let wanted = Wanted {
            name: Some(name),
            patience: PATIENCE,
            ..Wanted::default()
        };
        streams.push(radio::open_while(wanted, Instant::now(), &go_on)?);
    }
    Ok(streams)
}

/// A unit that was listened to, and what is thought of it.
struct Checked {
    unit: Near,
    description: Description,
    heard: Heard,
    verdict: Verdict,
}

/// Listens to all at a time.
fn listened(
    streams: Vec<Stream>,
    time: Duration,
    go_on: impl Fn() -> bool + Sync,
) -> anyhow::Result<Vec<Checked>> {
    let several = streams.len() > 1;
    std::thread::scope(|scope| {
        let go_on = &go_on;
        let listening: Vec<_> = streams
            .into_iter()
            .enumerate()
            .map(|(at, stream)| {
                scope.spawn(move || {
                    let name = several.then(|| stream.unit.shown_name().to_owned());
                    let heard = listen(&stream, time, go_on, Countdown::new(at == 0, name))?;
                    Ok(judged(&stream, heard))
                })
            })
            .collect();
        listening
            .into_iter()
            .map(|one| {
                one.join()
                    .unwrap_or_else(|_| Err(anyhow!("the check broke")))
            })
            .collect()
    })
}

fn judged(stream: &Stream, heard: Heard) -> Checked {
    let description = stream.description();
    let verdict = verdict(&Observed {
        description: &description,
        arrived: &heard.arrived,
        figures: stream.figures(),
        battery_percent: heard.battery_percent,
        firmware: heard.firmware.as_deref(),
    });
    let unit = Near {
        set_to: SetTo::of(&description),
        ..stream.unit.clone()
    };
    Checked {
        unit,
        description,
        heard,
        verdict,
    }
}

fn all_near(checked: &[Checked]) -> Vec<Near> {
    checked.iter().map(|one| one.unit.clone()).collect()
}

/// One unit that was named is an object of its own.
fn object(checked: &[Checked], alone: bool) -> serde_json::Value {
    let mut sensors: Vec<_> = checked
        .iter()
        .map(|one| {
            json!({
                "name": one.unit.name,
                "address": one.unit.address,
                "place": place(one.unit.set_to),
                "rssi_dbm": one.unit.rssi_dbm,
                "battery_percent": one.heard.battery_percent,
                "firmware": one.heard.firmware,
                "link_lost_count": one.heard.lost_count,
                "verdict": one.verdict,
            })
        })
        .collect();
    if alone && sensors.len() == 1 {
        return sensors.remove(0);
    }
    json!({ "sensors": sensors, "places": places::objects(&all_near(checked)) })
}

fn text(checked: &[Checked]) -> String {
    let tables = checked
        .iter()
        .map(|one| words::text(&one.unit, &one.verdict, &one.description, &one.heard));
    let remarks = places::words(&all_near(checked)).into_iter();
    let parts: Vec<String> = tables.chain(remarks.map(|words| words + "\n")).collect();
    parts.join("\n")
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
            Told::Ended(words) | Told::Gone(_, words) => {
                return Err(anyhow!("the check broke off: {words}"));
            }
            Told::Clock(_) | Told::Gap(_) | Told::Back(_) => {}
        }
        Ok(())
    }
}

/// Listens for that long from the first sample on, counting down where somebody looks.
fn listen(
    stream: &Stream,
    time: Duration,
    go_on: impl Fn() -> bool,
    mut count: Countdown,
) -> anyhow::Result<Heard> {
    let mut heard = Heard::default();
    let mut end = Instant::now() + FIRST;
    let mut stopping = false;
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
