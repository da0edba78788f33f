//! One sitting: what a live source tells is recorded and pushed through the pipeline, the session's
//! machine says what to do and what to announce, and a sink shows it.
//!
//! Ours. The one loop of live use. Samples and events go to the recording and to the pipeline in
//! the same order with the same values, so that a replay of the recording gives the same analysis
//! to the bit. For that an event must not be earlier than a sample that was pushed before it: it
//! is stamped with this computer's clock, but never at or before the last sample, nor before the
//! last event. A sample's own clock may run ahead of this computer's by what its estimate of the
//! offset is off, mostly by nothing at all.
//!
//! With a second unit on the forearm, each sample is written and pushed as it comes, whosever it is,
//! and none is held back: the order of the rows is the order of the pushes, and a replay keeps it.
//! So the hand's samples wait for nobody, and what the forearm's are good for is the pipeline's to
//! say, by order and times alone.
//!
//! A disk that takes nothing does not end a sitting: the count goes on, rows wait in memory, and
//! what is the matter is shown.

mod clock;
mod keeping;
mod lid;
mod samples;
mod shown;

pub use clock::Clock;
pub use shown::{Now, Outcome, Shown};

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant, SystemTime};

use crate::orientation::FilterKind;
use crate::pipeline::live::{Live, Step};
use crate::recording::{Event, EventKind, SessionHead, Writer};
use crate::sample::{Place, Sample};
use crate::session::{Link, Machine, Output, Second};
use crate::source::signal::{Signal, Told};
use keeping::Keeping;
use lid::Lid;

/// A key is seen, and the clock looked at, at least this often.
const TURN: Duration = Duration::from_millis(20);
/// What a source still holds when it is asked to end comes within this time.
const LAST_WORDS: Duration = Duration::from_millis(500);
/// Nothing is shown of silences up to this, seconds.
const SILENT_S: f64 = 1.0;

/// What a sitting begins with.
#[derive(Debug)]
pub struct SittingPlan {
    /// What the recording begins with.
    pub head: SessionHead,
    /// What is told of the recording first, when the sensor is there, or before the first answer of
    /// a session that keeps those alone.
    pub opening: Vec<EventKind>,
    /// Which filter.
    pub kind: FilterKind,
    /// This computer's clock.
    pub clock: Clock,
}

/// Sits a session through. The recording's folder was made by `writer`; it is discarded where no
/// sensor was ever connected and nothing was said that the session keeps alone. At the end `stop` asks the source to give what it still holds and to
/// end; it returns whether that is worth waiting for.
pub fn sit<M: Machine>(
    plan: &SittingPlan,
    machine: M,
    writer: Writer,
    signals: &Receiver<Signal>,
    presses: &Receiver<M::Press>,
    stop: &dyn Fn() -> bool,
    show: &mut dyn FnMut(Shown<'_, M>),
) -> Outcome {
    let mut sitting = Sitting {
        plan,
        machine,
        keeping: Keeping::new(writer),
        live: None,
        show,
        early_forearm: Vec::new(),
        connected: false,
        hand_connected: false,
        opened: false,
        early: Vec::new(),
        lid: Lid::default(),
        asleep: false,
        turned_s: 0.0,
        over: false,
        last_sample_s: f64::NEG_INFINITY,
        last_event_s: f64::NEG_INFINITY,
        heard_s: None,
        samples_count: 0,
        step: None,
        source_ended: None,
    };
    for say in sitting.machine.opening() {
        (sitting.show)(Shown::Say(&say));
    }
    while !sitting.over {
        match signals.recv_timeout(TURN) {
            Ok(signal) => {
                sitting.signal(signal);
                // What came meanwhile is taken at one go; a flood must not starve the keys.
                for _ in 0..64 {
                    match signals.try_recv() {
                        Ok(signal) if !sitting.over => sitting.signal(signal),
                        _ => break,
                    }
                }
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) if sitting.source_ended.is_none() => {
                sitting.ended(None);
            }
            Err(RecvTimeoutError::Disconnected) => std::thread::sleep(TURN),
        }
        sitting.turn(presses);
    }
    sitting.rest(signals, stop());
    sitting.finish()
}

struct Sitting<'a, M: Machine> {
    plan: &'a SittingPlan,
    machine: M,
    keeping: Keeping,
    live: Option<Live>,
    show: &'a mut dyn FnMut(Shown<'_, M>),
    /// Samples of the forearm from before the pipeline was there.
    early_forearm: Vec<Sample>,
    /// A unit was connected, and the hand's.
    connected: bool,
    hand_connected: bool,
    /// The opening is recorded.
    opened: bool,
    /// Events from before the pipeline was there.
    early: Vec<Event>,
    lid: Lid,
    /// The computer was asleep, and no sample came since.
    asleep: bool,
    /// When the last turn was.
    turned_s: f64,
    over: bool,
    last_sample_s: f64,
    last_event_s: f64,
    /// When the last sample came, by this computer's clock.
    heard_s: Option<f64>,
    samples_count: usize,
    step: Option<Step>,
    source_ended: Option<String>,
}

impl<M: Machine> Sitting<'_, M> {
    fn signal(&mut self, signal: Signal) {
        let Signal { at_s, told } = signal;
        self.plan.clock.seen(at_s);
        match told {
            Told::Sample(place, sample) => self.sample(at_s, place, sample),
            Told::Connected(info) => self.connected(at_s, info),
            Told::Ended(words) => self.ended(Some(words)),
            Told::Gone(place, words) => {
                (self.show)(Shown::UnitGone(&words));
                self.link(at_s, place, Link::Gone);
            }
            told => {
                if let Told::Battery(battery) = &told
                    && let Some(percent) = battery.percent
                {
                    match battery.place {
                        Some(Place::Forearm) => self.second(at_s, Second::Battery(percent)),
                        Some(Place::Hand) | None => self.machine.battery(percent),
                    }
                }
                if let Some(kind) = told.event() {
                    self.record(at_s, kind);
                }
                match told {
                    Told::Lost(place) => self.link(at_s, place, Link::Lost),
                    Told::Stalled(place) => self.link(at_s, place, Link::Stalled),
                    Told::Back(place) => self.link(at_s, place, Link::Back),
                    _ => {}
                }
            }
        }
    }

    fn link(&mut self, at_s: f64, place: Place, link: Link) {
        if place == Place::Forearm {
            return self.second(at_s, Second::Link(link));
        }
        let outputs = self.machine.link(link);
        self.carry_out(at_s, outputs);
    }

    fn second(&mut self, at_s: f64, second: Second) {
        let outputs = self.machine.second(second);
        self.carry_out(at_s, outputs);
    }

    /// Keeps an event and lets it take effect: at `at_s`, but after all that was pushed before; in
    /// whole microseconds where that allows it.
    fn record(&mut self, at_s: f64, kind: EventKind) {
        let micro = |t_s: f64| (t_s * 1e6).round() / 1e6;
        let next_s = [
            micro(self.last_sample_s + 1e-6),
            self.last_sample_s.next_up(),
        ]
        .into_iter()
        .find(|next_s| *next_s > self.last_sample_s)
        .unwrap_or(self.last_sample_s);
        let t_s = micro(at_s).max(next_s).max(self.last_event_s);
        self.last_event_s = t_s;
        let event = Event { t_s, kind };
        self.keeping.event(&event, self.show);
        match &mut self.live {
            Some(live) => live.event(event),
            None => self.early.push(event),
        }
    }

    /// Records what is told of the recording first.
    fn open(&mut self, at_s: f64) {
        if !std::mem::replace(&mut self.opened, true) {
            for kind in self.plan.opening.clone() {
                self.record(at_s, kind);
            }
        }
    }

    fn carry_out(&mut self, at_s: f64, outputs: Vec<Output<M::Say>>) {
        for output in outputs {
            match output {
                Output::Say(say) => (self.show)(Shown::Say(&say)),
                Output::Record(kind) => {
                    if self.machine.stands_alone() {
                        self.open(at_s);
                    }
                    self.record(at_s, kind);
                }
                Output::Done => self.over = true,
            }
        }
    }

    fn ended(&mut self, words: Option<String>) {
        let words = words.unwrap_or_else(|| "the sensor's source has ended".to_owned());
        (self.show)(Shown::SourceEnded(&words));
        self.source_ended = Some(words);
        let outputs = self.machine.link(Link::Gone);
        self.carry_out(self.plan.clock.now_s(), outputs);
    }

    /// What is due whether samples come or not.
    fn turn(&mut self, presses: &Receiver<M::Press>) {
        let now_s = self.plan.clock.now_s();
        if matches!(self.plan.clock, Clock::Computer { .. }) {
            self.look_at_lid(now_s, SystemTime::now());
        }
        while let Ok(press) = presses.try_recv() {
            let outputs = self.machine.press(press);
            self.carry_out(now_s, outputs);
        }
        let outputs = self.machine.time(now_s);
        self.carry_out(now_s, outputs);
        self.keeping.tick(self.show);
        let silent_s = self
            .heard_s
            .map(|heard_s| now_s - heard_s)
            .filter(|silent_s| *silent_s > SILENT_S);
        let now = Now {
            now_s,
            machine: &self.machine,
            step: self.step.clone(),
            heard_s: self.heard_s,
            silent_s,
        };
        (self.show)(Shown::Now(&now));
    }

    /// What came in the meantime, and what the source gives before it ends, is kept too.
    fn rest(&mut self, signals: &Receiver<Signal>, waits: bool) {
        let until = Instant::now() + LAST_WORDS;
        let ended_s = self.plan.clock.now_s();
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let wait = if waits { left } else { Duration::ZERO };
            match signals.recv_timeout(wait) {
                Ok(Signal {
                    told: Told::Ended(_),
                    ..
                }) => break,
                Ok(signal) if !waits && signal.at_s > ended_s => break,
                Ok(signal) if !left.is_zero() => self.signal(signal),
                _ => break,
            }
            self.keeping.tick(self.show);
        }
    }

    fn finish(self) -> Outcome {
        let kept = self.connected || self.opened;
        let trouble = if kept {
            self.keeping.finish()
        } else {
            self.keeping.discard();
            None
        };
        Outcome {
            analysis: self.live.map(Live::finish).unwrap_or_default(),
            connected: self.connected,
            kept,
            samples_count: self.samples_count,
            trouble,
            source_ended: self.source_ended,
        }
    }
}
