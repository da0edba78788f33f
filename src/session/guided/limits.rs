//! What an answer about symptoms allows, by the routine's limits.
//!
//! Ours, on common practice, no source: symptoms come before strength. Nothing here judges what a
//! symptom means; it compares numbers with the routine's and says who is to be asked.

use super::press::Felt;
use crate::recording::Scale;
use crate::routine::Limits;

/// Pain, tingling and numbness of both hands.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Hands {
    /// The left hand's.
    pub left: Felt,
    /// The right hand's.
    pub right: Felt,
}

impl Hands {
    fn each(&self) -> [Felt; 2] {
        [self.left, self.right]
    }

    /// Whether any finger is numb.
    pub fn numb(&self) -> bool {
        self.each()
            .iter()
            .any(|felt| number(felt.numbness).is_some_and(|numbness| numbness > 0))
    }
}

fn number(answer: Option<Scale>) -> Option<u8> {
    answer.map(Scale::value)
}

/// Whether the day may begin: pain of neither hand is above the limit.
pub fn may_begin(limits: &Limits, before: &Hands) -> bool {
    let within = |felt: &Felt| number(felt.pain).is_none_or(|pain| pain <= limits.pain_max);
    before.each().iter().all(within)
}

/// Whether what one hand feels now is within the limits, against what it felt at the day's start.
/// What was not asked then is taken for 0: a rise that cannot be told is a rise.
pub fn within(limits: &Limits, before: &Felt, now: &Felt) -> bool {
    let rise = |now: Option<Scale>, before: Option<Scale>| {
        let now = number(now).unwrap_or(0);
        now.saturating_sub(number(before).unwrap_or(0))
    };
    number(now.pain).is_none_or(|pain| pain <= limits.pain_max)
        && rise(now.pain, before.pain) <= limits.pain_rise_max
        && rise(now.tingling, before.tingling) <= limits.tingling_rise_max
        && rise(now.numbness, before.numbness) <= limits.numbness_rise_max
}

#[cfg(test)]
mod tests {
    use super::*;

    fn felt(pain: u8, tingling: u8, numbness: u8) -> Felt {
        Felt {
            pain: Scale::new(pain),
            tingling: Scale::new(tingling),
            numbness: Scale::new(numbness),
        }
    }

    #[test]
    fn the_day_begins_up_to_the_limit_in_the_worse_hand() {
        let limits = Limits::default();
        let hands = |pain| Hands {
            left: felt(0, 4, 4),
            right: felt(pain, 0, 0),
        };
        assert!(may_begin(&limits, &hands(3)));
        assert!(!may_begin(&limits, &hands(4)));
        assert!(may_begin(&limits, &Hands::default()), "nothing answered");
    }

    #[test]
    fn pain_may_rise_by_two_and_tingling_not_at_all() {
        let limits = Limits::default();
        let start = felt(1, 2, 0);
        assert!(within(&limits, &start, &felt(3, 2, 0)));
        assert!(!within(&limits, &start, &felt(4, 2, 0)), "above the limit");
        assert!(
            !within(&limits, &felt(0, 0, 0), &felt(3, 0, 0)),
            "a rise of three"
        );
        assert!(!within(&limits, &start, &felt(1, 3, 0)));
        assert!(!within(&limits, &start, &felt(1, 2, 1)));
        assert!(
            !within(&limits, &Felt::default(), &felt(0, 1, 0)),
            "never asked"
        );
    }
}
