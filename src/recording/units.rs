//! Units that a foreign file may be in. They are declared, never guessed.

use std::f64::consts::PI;
use std::str::FromStr;

use crate::sample::GRAVITY_M_S2;

/// Writes down an enum of option words.
macro_rules! option_words {
    ($name:ident { $($word:literal => $variant:ident),* $(,)? }) => {
        impl $name {
            /// The words of the option, in order.
            pub const WORDS: &'static [&'static str] = &[$($word),*];

            /// The word used in options.
            pub fn name(self) -> &'static str {
                match self {
                    $($name::$variant => $word,)*
                }
            }
        }

        impl FromStr for $name {
            type Err = String;

            fn from_str(text: &str) -> Result<$name, String> {
                match text {
                    $($word => Ok($name::$variant),)*
                    _ => Err(format!("expected one of {}", $name::WORDS.join(", "))),
                }
            }
        }
    };
}

/// The unit of the accelerometer's columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum AccelUnit {
    /// Metres per second squared.
    #[default]
    MetresPerSecondSquared,
    /// Standard gravity, 9.80665 m/s².
    Gravity,
}

option_words!(AccelUnit { "m_s2" => MetresPerSecondSquared, "g" => Gravity });

/// The unit of the gyroscope's columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GyroUnit {
    /// Radians per second.
    #[default]
    RadiansPerSecond,
    /// Degrees per second.
    DegreesPerSecond,
}

option_words!(GyroUnit { "rad_s" => RadiansPerSecond, "deg_s" => DegreesPerSecond });

/// The unit of the time column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TimeUnit {
    /// Seconds.
    #[default]
    Seconds,
    /// Milliseconds.
    Milliseconds,
    /// Microseconds.
    Microseconds,
}

option_words!(TimeUnit { "s" => Seconds, "ms" => Milliseconds, "us" => Microseconds });

impl AccelUnit {
    /// m/s² of one unit.
    pub(super) fn factor(self) -> f64 {
        match self {
            AccelUnit::MetresPerSecondSquared => 1.0,
            AccelUnit::Gravity => GRAVITY_M_S2,
        }
    }
}

impl GyroUnit {
    /// rad/s of one unit.
    pub(super) fn factor(self) -> f64 {
        match self {
            GyroUnit::RadiansPerSecond => 1.0,
            GyroUnit::DegreesPerSecond => PI / 180.0,
        }
    }
}

impl TimeUnit {
    /// How many make a second.
    pub(super) fn in_a_second(self) -> f64 {
        match self {
            TimeUnit::Seconds => 1.0,
            TimeUnit::Milliseconds => 1e3,
            TimeUnit::Microseconds => 1e6,
        }
    }
}
