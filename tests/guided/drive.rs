//! Drives a guided session: samples in, presses as the screens ask for them, events and words out.

use carpotempo::movement::{Movement, Posture, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::Analysis;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::recording::{Event, EventKind, Scale, SetEndReason, SetStart};
use carpotempo::routine::{Routine, TempoBand};
use carpotempo::sample::Sample;
use carpotempo::session::Output;
use carpotempo::session::guided::press::{Felt, NightAnswer, Press};
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::{Guided, GuidedPlan};
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::session::{Manner, Person, Played, SetPlan, Step, play};
use carpotempo::source::simulator::unit::UnitErrors;

pub const RATE_HZ: f64 = 104.0;

/// Weights allowed, two exercises of the right hand and something without repetitions.
pub const ROUTINE: &str = r#"
title = "An invented routine"
sessions_a_week = 3
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2026-04-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "right"
sets = 1
repetitions = 4
load_kg = 0.5
rest_s = 20
tempo = "4-0-2-1"
posture = { elbow_deg = 90, forearm = "rested", rotation = "palm-down" }

[[items]]
kind = "counted"
movement = "wrist-flexion"
side = "right"
repetitions = 3
load_kg = 1
rest_s = 20
tempo = "4-0-2-1"

[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#;

pub fn routine(toml: &str) -> Routine {
    Routine::from_toml(toml).unwrap()
}

pub fn plan(toml: &str) -> GuidedPlan {
    plan_of(routine(toml))
}

pub fn plan_of(routine: Routine) -> GuidedPlan {
    GuidedPlan {
        simulated: true,
        ..GuidedPlan::new(routine, "2026-03-03".parse().unwrap())
    }
}

pub fn felt(pain: u8, tingling: u8, numbness: u8) -> Felt {
    Felt {
        pain: Scale::new(pain),
        tingling: Scale::new(tingling),
        numbness: Scale::new(numbness),
    }
}

/// A set as the body does it.
pub fn set(movement: Movement, posture: Posture, manner: SetManner) -> Step {
    Step::Set(Box::new(SetPlan {
        start: SetStart {
            movement: Some(movement),
            side: Some(Side::Right),
            posture: Some(posture),
            load_kg: Some(0.5),
            ..SetStart::default()
        },
        manner: Manner::Strokes(manner),
        end: SetEndReason::Reached,
        lost_s: None,
    }))
}

/// The sensor is put on and fitted as the session asks for it.
pub fn fitted() -> Vec<Step> {
    let movement = Movement::WristExtension;
    vec![
        Step::Wear(Side::Right),
        Step::Calibrate {
            movement,
            posture: movement.usual_posture(),
        },
        Step::Rest(4.0),
    ]
}

pub fn played(seed: u64, steps: &[Step]) -> Played {
    let mut random = Random::new(seed);
    let person = Person {
        forearm_m: 0.26,
        lever_m: 0.07,
        unit: UnitErrors::consumer(RATE_HZ, &mut random),
    };
    play(&person, steps, &mut random)
}

/// What a person without trouble answers.
pub fn untroubled(screen: &Screen) -> Option<Press> {
    match screen {
        Screen::Welcome { .. } => Some(Press::Begin),
        Screen::FirstQuestions { .. } => Some(Press::NoneApplies),
        Screen::Night => Some(Press::Night(NightAnswer::default())),
        Screen::Cautions { .. } | Screen::Place { .. } | Screen::Intro(_) | Screen::Rest { .. } => {
            Some(Press::Next)
        }
        Screen::Timed { left_s: None, .. } => Some(Press::Next),
        Screen::Timed { tingling: true, .. } => Some(Press::No),
        Screen::Symptoms { .. } => Some(Press::Symptoms {
            left: Some(felt(0, 0, 0)),
            right: Some(felt(1, 0, 0)),
        }),
        Screen::Hearing => Some(Press::Yes),
        Screen::Wearing { looser, .. } => Some(if *looser { Press::Next } else { Press::No }),
        Screen::Remark => Some(Press::Remark {
            text: "went well".to_owned(),
        }),
        _ => None,
    }
}

pub struct Drive {
    pub guided: Guided,
    /// Whether screens are followed with every sample; it takes most of the time.
    pub follows: bool,
    live: Live,
    pub events: Vec<Event>,
    pub said: Vec<String>,
    pub screens: Vec<String>,
    pub now_s: f64,
    pub over: bool,
    /// How the hand was held when an exercise was first shown.
    pub pose_at_intro: Option<nalgebra::UnitQuaternion<f64>>,
}

impl Drive {
    pub fn new(plan: GuidedPlan) -> Drive {
        Drive::at_rate(plan, RATE_HZ)
    }

    /// With a sensor of that rate.
    pub fn at_rate(plan: GuidedPlan, rate_hz: f64) -> Drive {
        Drive {
            guided: Guided::new(plan),
            follows: true,
            live: Live::new(LiveParams {
                rate_hz,
                kind: FilterKind::Vqf,
                band: TempoBand::default(),
                expected: Default::default(),
                whole: None,
            }),
            events: Vec::new(),
            said: Vec::new(),
            screens: Vec::new(),
            now_s: 0.0,
            over: false,
            pose_at_intro: None,
        }
    }

    pub fn take(&mut self, outputs: Vec<Output<carpotempo::session::guided::line::Line>>) {
        for output in outputs {
            match output {
                Output::Say(line) => self.said.push(line.words()),
                Output::Record(kind) => {
                    let event = Event {
                        t_s: self.now_s.next_up(),
                        kind,
                    };
                    self.live.event(event.clone());
                    self.events.push(event);
                }
                Output::Done => self.over = true,
            }
        }
        if !self.follows {
            return;
        }
        let name = name(&self.guided.view().screen);
        if self.screens.last() != Some(&name) {
            self.screens.push(name);
        }
    }

    pub fn press(&mut self, press: Press) {
        let outputs = self.guided.press(press);
        self.take(outputs);
    }

    /// Answers until nothing more is asked.
    pub fn answer(&mut self, answers: &dyn Fn(&Screen) -> Option<Press>) {
        for _ in 0..20 {
            let Some(press) = answers(&self.guided.view().screen) else {
                return;
            };
            self.press(press);
        }
    }

    pub fn sample(&mut self, sample: &Sample) {
        let step = self.live.sample(sample);
        self.now_s = sample.t_s;
        let outputs = self.guided.step(&step);
        self.take(outputs);
        if self.follows && matches!(self.guided.view().screen, Screen::Intro(_)) {
            self.pose_at_intro
                .get_or_insert(step.oriented.world_from_sensor);
        }
        let outputs = self.guided.time(sample.t_s);
        self.take(outputs);
    }

    /// Plays samples, answering as they pass.
    pub fn play(&mut self, samples: &[Sample], answers: &dyn Fn(&Screen) -> Option<Press>) {
        self.guided.connected();
        for sample in samples {
            self.sample(sample);
            self.answer(answers);
        }
    }

    /// Lets time pass without samples.
    pub fn wait(&mut self, seconds: f64, answers: &dyn Fn(&Screen) -> Option<Press>) {
        for _ in 0..(seconds * 10.0) as usize {
            self.now_s += 0.1;
            let outputs = self.guided.time(self.now_s);
            self.take(outputs);
            self.answer(answers);
        }
    }

    pub fn ends(&self) -> Vec<Option<SetEndReason>> {
        self.events
            .iter()
            .filter_map(|event| match &event.kind {
                EventKind::SetEnd(end) => Some(end.reason),
                _ => None,
            })
            .collect()
    }

    pub fn analysis(self) -> Analysis {
        self.live.finish()
    }
}

/// The screen's word, as the page gets it.
pub fn name(screen: &Screen) -> String {
    let value = serde_json::to_value(screen).unwrap();
    value["screen"].as_str().unwrap().to_owned()
}
