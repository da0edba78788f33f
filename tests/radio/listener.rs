//! A process of its own that listens through the library, for what no command shows: every
//! sample, and when it arrived.

use std::io::{BufRead, BufReader, BufWriter, Write};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use carpotempo::source::radio::{self, Ask, Wanted};
use carpotempo::source::signal::Told;
use serde_json::{Value, json};

use crate::bluez::Bus;

const PLAN: &str = "CARPOTEMPO_TEST_LISTENER";

/// What to listen for.
#[derive(Debug, Clone)]
pub struct Plan {
    pub name: Option<&'static str>,
    pub rate_tenth_hz: u16,
    /// 0: as the unit has it.
    pub packet_us: u32,
    pub seconds: f64,
    pub seek_s: u64,
    pub patience_s: u64,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan {
            name: None,
            rate_tenth_hz: 1000,
            packet_us: 1,
            seconds: 4.0,
            seek_s: 10,
            patience_s: 300,
        }
    }
}

/// Something that the listener was told.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// When it took it out of the channel.
    pub at: SystemTime,
    /// Seconds since the listener's start, as the source told.
    pub at_s: f64,
    /// The word: sample, connected, ...
    pub told: String,
    pub detail: Value,
}

/// All that was told, in order.
pub struct Account {
    pub all: Vec<Heard>,
    pub error: Option<String>,
}

impl Account {
    pub fn of(&self, word: &str) -> Vec<&Heard> {
        self.all.iter().filter(|heard| heard.told == word).collect()
    }

    /// The words in order, each run of samples as one.
    pub fn story(&self) -> Vec<&str> {
        let mut words: Vec<&str> = self.all.iter().map(|heard| heard.told.as_str()).collect();
        words.dedup();
        words
    }

    /// Number, time on the recording's time line, arrival in the source and in the listener.
    pub fn samples(&self) -> Vec<(u64, f64, f64, SystemTime)> {
        let mut scale_m_s2 = 0.0;
        let mut samples = Vec::new();
        for heard in &self.all {
            match heard.told.as_str() {
                "connected" => {
                    let range_g = heard.detail["accel_range_g"].as_f64().unwrap();
                    scale_m_s2 = range_g * 30_518e-9 * 9.80665;
                }
                "sample" => {
                    let part = |axis: usize| {
                        let force = heard.detail["accel"][axis].as_f64().unwrap();
                        (force / scale_m_s2).round() as u64
                    };
                    let number = part(0) | part(1) << 14;
                    let t_s = heard.detail["t_s"].as_f64().unwrap();
                    samples.push((number, t_s, heard.at_s, heard.at));
                }
                _ => {}
            }
        }
        samples
    }
}

pub struct Listener {
    child: Child,
}

/// Starts one on that bus.
pub fn listen(bus: &Bus, plan: &Plan) -> Listener {
    let mut command = bus.give(Command::new(std::env::current_exe().unwrap()));
    let text = json!({
        "name": plan.name,
        "rate_tenth_hz": plan.rate_tenth_hz,
        "packet_us": plan.packet_us,
        "seconds": plan.seconds,
        "seek_s": plan.seek_s,
        "patience_s": plan.patience_s,
    });
    let child = command
        .args(["--ignored", "--exact", "listener::listens", "--nocapture"])
        .env(PLAN, text.to_string())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    Listener { child }
}

impl Listener {
    /// Waits for its end; gives what it was told, and what it said on the error stream.
    pub fn heard(mut self) -> Account {
        let out = BufReader::new(self.child.stdout.take().unwrap());
        let mut told = Account {
            all: Vec::new(),
            error: None,
        };
        for line in out.lines() {
            let line = line.unwrap();
            let Some(text) = line.find("{\"at").map(|start| &line[start..]) else {
                continue;
            };
            let value: Value = serde_json::from_str(text).unwrap();
            let word = value["told"].as_str().unwrap().to_owned();
            if word == "error" {
                told.error = Some(value["detail"].as_str().unwrap().to_owned());
            }
            told.all.push(Heard {
                at: UNIX_EPOCH + Duration::from_nanos(value["at_ns"].as_u64().unwrap()),
                at_s: value["at_s"].as_f64().unwrap(),
                told: word,
                detail: value["detail"].clone(),
            });
        }
        let done = self.child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(!said.contains("panicked"), "{said}");
        assert!(done.status.success(), "{said}");
        told
    }
}

/// The listener's own process; by itself it does nothing.
#[test]
#[ignore = "the other tests run it as a process of its own"]
fn listens() {
    let Ok(plan) = std::env::var(PLAN) else {
        return;
    };
    let plan: Value = serde_json::from_str(&plan).unwrap();
    let mut out = BufWriter::new(std::io::stdout().lock());
    writeln!(out).unwrap();
    let mut say = |at_s: f64, told: &str, detail: Value| {
        let at = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
        let at_ns = u64::try_from(at.as_nanos()).unwrap();
        let line = format!(
            r#"{{"at_ns":{at_ns},"at_s":{at_s:?},"told":{},"detail":{detail}}}"#,
            json!(told)
        );
        writeln!(out, "{line}").unwrap();
    };
    let origin = Instant::now();
    let packet_us = plan["packet_us"].as_u64().unwrap();
    let wanted = Wanted {
        name: plan["name"].as_str().map(str::to_owned),
        ask: Ask {
            rate_tenth_hz: plan["rate_tenth_hz"].as_u64().map(|rate| rate as u16),
            packet_us: (packet_us > 0).then_some(packet_us as u32),
            ..Ask::default()
        },
        seek: Duration::from_secs(plan["seek_s"].as_u64().unwrap()),
        patience: Duration::from_secs(plan["patience_s"].as_u64().unwrap()),
        ..Wanted::default()
    };
    let stream = match radio::open(wanted, origin) {
        Ok(stream) => stream,
        Err(error) => {
            say(0.0, "error", json!(error.to_string()));
            return;
        }
    };
    let end = Instant::now() + Duration::from_secs_f64(plan["seconds"].as_f64().unwrap());
    let mut stopping = false;
    loop {
        let now = Instant::now();
        if !stopping && now >= end {
            stopping = true;
            stream.stop();
        }
        let wait = if stopping {
            Duration::from_secs(10)
        } else {
            end - now
        };
        match stream.signals.recv_timeout(wait) {
            Ok(signal) => {
                let detail = match &signal.told {
                    Told::Connected(info) => json!(info),
                    Told::Clock(clock) => json!(clock),
                    Told::Sample(place, sample) => json!({
                        "place": place,
                        "t_s": sample.t_s,
                        "accel": sample.accel_m_s2.as_slice(),
                        "gyro": sample.gyro_rad_s.as_slice(),
                    }),
                    Told::Gap(gap) => json!(gap),
                    Told::Battery(battery) => json!(battery),
                    Told::Stalled(place) | Told::Lost(place) | Told::Back(place) => json!(place),
                    Told::Gone(_, words) | Told::Ended(words) => json!(words),
                };
                let word = match &signal.told {
                    Told::Connected(_) => "connected",
                    Told::Clock(_) => "clock",
                    Told::Sample(..) => "sample",
                    Told::Gap(_) => "gap",
                    Told::Battery(_) => "battery",
                    Told::Stalled(_) => "stalled",
                    Told::Lost(_) => "lost",
                    Told::Back(_) => "back",
                    Told::Gone(..) => "gone",
                    Told::Ended(_) => "ended",
                };
                say(signal.at_s, word, detail);
            }
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) if !stopping => {}
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                say(0.0, "error", json!("did not end"));
                return;
            }
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => {
                let at_s = origin.elapsed().as_secs_f64();
                say(at_s, "closed", json!(null));
                return;
            }
        }
    }
}
