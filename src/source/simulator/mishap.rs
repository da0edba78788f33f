//! What goes amiss in a set of the invented person who follows a guided session.
//!
//! Ours: each happens once, in the middle of the repetition after so many of its set, so that a
//! test need not know when a set begins.

use std::str::FromStr;

/// Something that goes amiss, once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mishap {
    /// Repetitions of the set that are done before it.
    pub after_count: u32,
    /// What it is.
    pub kind: MishapKind,
}

/// What goes amiss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MishapKind {
    /// The hand stops still at the top, and stays there until it is told something.
    Still,
    /// The hand puts the weight down from the top and rests.
    Down,
    /// The link is lost for so long, seconds.
    Lost {
        /// For how long.
        lasting_s: f64,
    },
    /// The sensor slips on the hand by so much, degrees, within half a second.
    Slips {
        /// By how much.
        turn_deg: f64,
    },
}

/// `still@2`, `down@0`, `lost8@1`, `slip30@3`: what, for lost links how many seconds and for slips how
/// many degrees, after how many repetitions.
impl FromStr for Mishap {
    type Err = String;

    fn from_str(text: &str) -> Result<Mishap, String> {
        let wrong = || "expected as in still@2, down@0, lost8@1 or slip30@3".to_owned();
        let (what, after) = text.split_once('@').ok_or_else(wrong)?;
        let kind = match what {
            "still" => MishapKind::Still,
            "down" => MishapKind::Down,
            _ if what.starts_with("slip") => {
                let turn_deg = what.strip_prefix("slip").and_then(|deg| deg.parse().ok());
                MishapKind::Slips {
                    turn_deg: turn_deg
                        .filter(|deg| (1.0..=60.0).contains(deg))
                        .ok_or_else(wrong)?,
                }
            }
            _ => {
                let lasting_s = what.strip_prefix("lost").and_then(|s| s.parse().ok());
                MishapKind::Lost {
                    lasting_s: lasting_s
                        .filter(|s| (0.0..=600.0).contains(s))
                        .ok_or_else(wrong)?,
                }
            }
        };
        let after_count = after.parse().map_err(|_| wrong())?;
        Ok(Mishap { after_count, kind })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn a_mishap_is_read_or_refused() {
        let lost = MishapKind::Lost { lasting_s: 8.5 };
        for (text, after_count, kind) in [
            ("still@2", 2, MishapKind::Still),
            ("down@0", 0, MishapKind::Down),
            ("lost8.5@1", 1, lost),
            ("slip30@3", 3, MishapKind::Slips { turn_deg: 30.0 }),
        ] {
            assert_eq!(text.parse(), Ok(Mishap { after_count, kind }), "{text}");
        }
        for text in [
            "", "still", "still@", "lost@1", "lost-1@1", "slip@1", "slip90@1", "fly@2", "@",
        ] {
            assert!(text.parse::<Mishap>().is_err(), "{text}");
        }
    }
}
