//! A session that is fed steps by hand, so that each repetition is as a test wants it.

use carpotempo::orientation::Oriented;
use carpotempo::pipeline::live::{News, Phase, Step};
use carpotempo::recording::EventKind;
use carpotempo::reps::{Doubt, Repetition};
use carpotempo::routine::Verdict;
use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::{Guided, GuidedPlan, Output};
use nalgebra::{UnitQuaternion, Vector3};

use super::drive::{Drive, fitted, played, untroubled};

/// A session at work, and all that came of what it was fed.
#[derive(Clone)]
pub struct Fed {
    pub guided: Guided,
    pub pose: UnitQuaternion<f64>,
    pub now_s: f64,
    pub lines: Vec<Line>,
    pub events: Vec<EventKind>,
}

impl Fed {
    /// Up to the first exercise, the sensor fitted.
    pub fn at_work(plan: GuidedPlan) -> Fed {
        let mut drive = Drive::new(plan);
        drive.answer(&untroubled);
        let played = played(11, &fitted());
        drive.play(&played.samples, &|screen| match screen {
            Screen::Intro(_) => None,
            other => untroubled(other),
        });
        assert!(matches!(drive.guided.view().screen, Screen::Intro(_)));
        Fed {
            pose: drive.pose_at_intro.unwrap(),
            now_s: drive.now_s,
            guided: drive.guided,
            lines: Vec::new(),
            events: Vec::new(),
        }
    }

    /// Up to the first exercise, the sensor not fitted: the movement hurts.
    pub fn unfitted(plan: GuidedPlan) -> Fed {
        let mut drive = Drive::new(plan);
        drive.answer(&untroubled);
        drive.guided.connected();
        drive.answer(&untroubled);
        for press in [Press::Pause, Press::No, Press::GoOn] {
            drive.press(press);
        }
        assert!(matches!(drive.guided.view().screen, Screen::Intro(_)));
        Fed {
            pose: UnitQuaternion::identity(),
            now_s: drive.now_s,
            guided: drive.guided,
            lines: Vec::new(),
            events: Vec::new(),
        }
    }

    /// The hand turned by so much for so long, its axis not yet known.
    pub fn unseen(&mut self, angle_deg: f64, seconds: f64) {
        for _ in 0..(seconds * 50.0) as usize {
            self.now_s += 0.02;
            let mut step = step(&self.pose, self.now_s, 0.0, true);
            let turned =
                UnitQuaternion::from_axis_angle(&Vector3::x_axis(), angle_deg.to_radians());
            let pose = turned * self.pose;
            step.oriented.world_from_sensor = pose;
            step.oriented.accel_in_sensor_m_s2 = pose.inverse() * Vector3::z() * 9.81;
            step.measured_deg = None;
            self.step(&step);
        }
    }

    fn take(&mut self, outputs: Vec<Output>) {
        for output in outputs {
            match output {
                Output::Say(line) => self.lines.push(line),
                Output::Record(kind) => self.events.push(kind),
                Output::Done => {}
            }
        }
    }

    pub fn screen(&self) -> Screen {
        self.guided.view().screen
    }

    pub fn press(&mut self, press: Press) {
        let outputs = self.guided.press(press);
        self.take(outputs);
    }

    pub fn wait(&mut self, seconds: f64) {
        for _ in 0..(seconds * 10.0).round() as usize {
            self.now_s += 0.1;
            let outputs = self.guided.time(self.now_s);
            self.take(outputs);
        }
    }

    pub fn asleep(&mut self, slept_s: f64) {
        let outputs = self.guided.asleep(slept_s);
        self.take(outputs);
    }

    pub fn step(&mut self, step: &Step) {
        let outputs = self.guided.step(step);
        self.take(outputs);
    }

    /// The hand at this angle for so long.
    pub fn hand(&mut self, phase: Phase, angle_deg: f64, still: bool, seconds: f64) {
        for _ in 0..(seconds * 50.0) as usize {
            self.now_s += 0.02;
            let mut step = step(&self.pose, self.now_s, angle_deg, still);
            step.phase = phase;
            self.step(&step);
        }
    }

    /// From what is shown to a set that awaits its first lift.
    pub fn ready(&mut self) {
        self.press(Press::Next);
        self.hand(Phase::Rest, 0.0, true, 7.0);
    }

    /// A repetition ends.
    pub fn counted(&mut self, range_deg: f64, hurried: bool) {
        self.lowered_in(3.0, range_deg, hurried);
    }

    /// The same with a lowering of so many seconds.
    pub fn lowered_in(&mut self, lower_s: f64, range_deg: f64, hurried: bool) {
        self.now_s += 0.02;
        let mut step = step(&self.pose, self.now_s, 0.0, false);
        let mut repetition = repetition(self.now_s, range_deg, hurried);
        repetition.lower_start_s = repetition.lower_end_s - lower_s;
        step.news.push(News::Counted(1, Box::new(repetition)));
        self.step(&step);
    }

    /// A repetition ends in which the forearm did a large share.
    pub fn counted_with_the_forearm(&mut self, range_deg: f64) {
        self.now_s += 0.02;
        let mut step = step(&self.pose, self.now_s, 0.0, false);
        let mut repetition = repetition(self.now_s, range_deg, false);
        repetition.doubt(Doubt::ForearmMoved);
        step.news.push(News::Counted(1, Box::new(repetition)));
        self.step(&step);
    }

    /// What was said since this was asked last.
    pub fn said(&mut self) -> Vec<String> {
        self.lines.drain(..).map(|line| line.words()).collect()
    }
}

pub fn step(pose: &UnitQuaternion<f64>, t_s: f64, angle_deg: f64, still: bool) -> Step {
    // Far angles stand for an arm that went elsewhere.
    let away = if angle_deg > 55.0 { 1.4 } else { 0.0 };
    let elsewhere = UnitQuaternion::from_euler_angles(away, away, 0.0);
    Step {
        t_s,
        oriented: Oriented {
            t_s,
            world_from_sensor: elsewhere * pose,
            gyro_in_sensor_rad_s: Vector3::zeros(),
            accel_in_sensor_m_s2: Vector3::z() * 9.81,
        },
        measured_deg: Some(angle_deg),
        phase: Phase::Rest,
        reps_count: 0,
        still,
        lifeless_s: 0.0,
        news: Vec::new(),
    }
}

pub fn repetition(t_s: f64, range_deg: f64, hurried: bool) -> Repetition {
    Repetition {
        lift_start_s: t_s - 5.0,
        lift_end_s: t_s - 4.0,
        lower_start_s: t_s - 3.0,
        lower_end_s: t_s,
        range_deg,
        range_error_deg: None,
        lift_error_s: None,
        hold_error_s: None,
        lower_error_s: None,
        peak_deg: range_deg,
        start_deg: 0.0,
        peak_speed_deg_s: 10.0,
        mean_speed_deg_s: None,
        lift_peak_speed_deg_s: 10.0,
        off_axis_deg: 0.0,
        lift_sparc_ratio: None,
        lower_sparc_ratio: None,
        lift_ldlj_ratio: None,
        lower_ldlj_ratio: None,
        verdict: Some(if hurried {
            Verdict::Hurried
        } else {
            Verdict::InBand
        }),
        doubts: Vec::new(),
    }
}
