//! How the simulated recordings were made: played by the simulator from a fixed seed.

use std::fmt::Write as _;
use std::path::Path;

use carpotempo::movement::{LoadShape, Movement, Side};
use carpotempo::recording::{SessionHead, SetEndReason, SetStart};
use carpotempo::sample::GRAVITY_M_S2;
use carpotempo::source::simulator::circles::CircleManner;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::session::{
    Manner, Person, Played, SetPlan, Step, play, simulated,
};
use carpotempo::source::simulator::unit::UnitErrors;

/// What one recording shows.
pub struct Shown {
    /// Its name, without ending.
    pub name: &'static str,
    pub movement: Movement,
    pub side: Side,
    /// Prescribed tempo.
    pub tempo: Option<&'static str>,
    pub load_kg: Option<f64>,
    pub form: Form,
    rate_hz: f64,
    seed: u64,
}

/// How it is written.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A session folder with calibration and events.
    Folder,
    /// Our own seven columns and units.
    Plain,
    /// Somebody else's: semicolons, decimal commas, milliseconds, g and deg/s, own column names,
    /// Windows line ends, a byte-order mark.
    Foreign,
}

pub const ALL: [Shown; 5] = [
    Shown {
        name: "extension-calibrated",
        movement: Movement::WristExtension,
        side: Side::Right,
        tempo: Some("4-0-2-1"),
        load_kg: Some(0.5),
        form: Form::Folder,
        rate_hz: 52.0,
        seed: 101,
    },
    Shown {
        name: "flexion-foreign",
        movement: Movement::WristFlexion,
        side: Side::Right,
        tempo: Some("3-0-2-1"),
        load_kg: None,
        form: Form::Foreign,
        rate_hz: 50.0,
        seed: 102,
    },
    Shown {
        name: "flexion-hurried",
        movement: Movement::WristFlexion,
        side: Side::Left,
        tempo: Some("4-0-2-1"),
        load_kg: None,
        form: Form::Plain,
        rate_hz: 52.0,
        seed: 103,
    },
    Shown {
        name: "supination",
        movement: Movement::Supination,
        side: Side::Left,
        tempo: None,
        load_kg: None,
        form: Form::Plain,
        rate_hz: 52.0,
        seed: 104,
    },
    Shown {
        name: "arm-circles",
        movement: Movement::ArmCircles,
        side: Side::Right,
        tempo: None,
        load_kg: None,
        form: Form::Plain,
        rate_hz: 104.0,
        seed: 105,
    },
];

impl Shown {
    fn manner(&self) -> Manner {
        let strokes = match self.name {
            "extension-calibrated" => SetManner {
                lower_s: 4.2,
                rest_s: 0.6,
                start_deg: -12.0,
                ..SetManner::ordinary(6, 52.0)
            },
            "flexion-foreign" => SetManner {
                lower_s: 3.1,
                rest_s: 0.8,
                ..SetManner::ordinary(6, 58.0)
            },
            "flexion-hurried" => SetManner {
                lower_s: 3.8,
                hold_s: 0.3,
                rest_s: 0.4,
                last_travel_ratio: 0.55,
                last_time_ratio: 0.45,
                ..SetManner::ordinary(10, 62.0)
            },
            "supination" => SetManner {
                lift_s: 3.0,
                hold_s: 2.0,
                lower_s: 1.4,
                ..SetManner::ordinary(6, 78.0)
            },
            _ => {
                return Manner::Circles(CircleManner {
                    turns: 8,
                    turn_s: 2.2,
                    half_angle_deg: 28.0,
                    still_s: 2.0,
                });
            }
        };
        Manner::Strokes(strokes)
    }

    /// Plays it.
    pub fn played(&self) -> Played {
        let mut random = Random::new(self.seed);
        let person = Person {
            forearm_m: 0.26,
            lever_m: 0.07,
            unit: UnitErrors::consumer(self.rate_hz, &mut random),
        };
        let start = SetStart {
            movement: Some(self.movement),
            side: Some(self.side),
            load_kg: self.load_kg,
            load_shape: self.load_kg.map(|_| LoadShape::Centred),
            posture: Some(self.movement.usual_posture()),
            tempo: self.tempo.map(|code| code.parse().unwrap()),
            target_reps: (self.form == Form::Folder).then_some(6),
            item: None,
            range_test: false,
        };
        let set = Step::Set(Box::new(SetPlan {
            start,
            manner: self.manner(),
            end: SetEndReason::Reached,
            lost_s: None,
        }));
        let mut steps = vec![Step::Wear(self.side)];
        if self.form == Form::Folder {
            steps.push(Step::Say(simulated(self.name)));
            steps.push(Step::Calibrate {
                movement: self.movement,
                posture: self.movement.usual_posture(),
            });
        }
        steps.push(set);
        play(&person, &steps, &mut random)
    }

    /// Its path within the folder of recordings.
    pub fn path(&self) -> String {
        match self.form {
            Form::Folder => self.name.to_owned(),
            Form::Plain | Form::Foreign => format!("{}.csv", self.name),
        }
    }

    /// The path of its truth.
    pub fn truth_path(&self) -> String {
        format!("{}.truth.csv", self.name)
    }

    /// Writes it and its truth into a folder.
    pub fn make(&self, folder: &Path) {
        let played = self.played();
        let path = folder.join(self.path());
        match self.form {
            Form::Folder => {
                let started_at: jiff::Timestamp = "2026-02-02T17:30:00Z".parse().unwrap();
                let offset = jiff::tz::TimeZone::fixed(jiff::tz::offset(1));
                let head = SessionHead {
                    started_at: started_at.to_zoned_datetime(offset),
                    patient: "P-0001".parse().unwrap(),
                    routine: None,
                };
                played.record(&path, &head).unwrap();
            }
            Form::Plain => std::fs::write(path, plain(&played)).unwrap(),
            Form::Foreign => std::fs::write(path, foreign(&played)).unwrap(),
        }
        std::fs::write(folder.join(self.truth_path()), played.truth_csv()).unwrap();
    }
}

fn plain(played: &Played) -> String {
    let mut text = String::from("t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n");
    for s in &played.samples {
        let (a, g) = (s.accel_m_s2, s.gyro_rad_s);
        let numbers = [s.t_s, a.x, a.y, a.z, g.x, g.y, g.z].map(|number| number.to_string());
        text.push_str(&numbers.join(","));
        text.push('\n');
    }
    text
}

fn foreign(played: &Played) -> String {
    let mut text =
        String::from("\u{feff}Nr;Zeit_ms;Bx_g;By_g;Bz_g;Wx_deg_s;Wy_deg_s;Wz_deg_s;Temp_C\r\n");
    for (index, s) in played.samples.iter().enumerate() {
        let a = s.accel_m_s2 / GRAVITY_M_S2;
        let g = s.gyro_rad_s.map(f64::to_degrees);
        let _ = write!(text, "{};{:.3}", index + 1, 1e3 * s.t_s);
        for number in [a.x, a.y, a.z] {
            let _ = write!(text, ";{number:.5}");
        }
        for number in [g.x, g.y, g.z] {
            let _ = write!(text, ";{number:.3}");
        }
        text.push_str(";31,5\r\n");
    }
    text.replace('.', ",")
}
