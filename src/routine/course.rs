//! The order of work in one session.

use serde::{Deserialize, Serialize};

use super::{Item, ItemSide, Routine, schema};
use crate::movement::{Hands, Side};

/// In which order the hands take turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// One hand all rounds, then the other: one change of the strap.
    #[default]
    HandByHand,
    /// Both hands at each item before the next one; each item begins with the hand that wears the
    /// sensor.
    ItemByItem,
}

/// Which hands work in a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PartHands {
    /// This one.
    One(Side),
    /// Both at once, or none in particular.
    Both,
}

/// One piece of work: a set, a hold, or something done for a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Part {
    /// Number of the item in the routine, from 1.
    pub item: u32,
    /// Which hands work.
    pub hands: PartHands,
    /// The round, from 1.
    pub round: u32,
    /// The set of a counted item or the hold of a stretch, from 1 in each round.
    pub set: u32,
    /// Whether the sensor must be on the hand that works.
    pub needs_sensor: bool,
}

/// How often the sensor goes from one hand to the other; its first fitting is not a change.
pub fn strap_changes(parts: &[Part]) -> usize {
    let mut strapped = None;
    let mut change_count = 0;
    for side in parts.iter().filter_map(Part::strap) {
        change_count += usize::from(strapped.is_some_and(|before| before != side));
        strapped = Some(side);
    }
    change_count
}

impl Part {
    /// The hand that must wear the sensor; `None` where it does not matter.
    pub fn strap(&self) -> Option<Side> {
        match self.hands {
            PartHands::One(side) if self.needs_sensor => Some(side),
            _ => None,
        }
    }
}

impl Routine {
    /// The hands that any item is for, left first.
    pub fn hands(&self) -> Vec<Side> {
        [Side::Left, Side::Right]
            .into_iter()
            .filter(|side| {
                self.items
                    .iter()
                    .any(|item| item.hands() != Hands::None && item.side().sides().contains(side))
            })
            .collect()
    }

    /// The order of work in one session, for the hands that work today, the first one first.
    ///
    /// Hand by hand, what takes both hands at once or none comes once in each round of the first
    /// hand. What takes both hands always is left out where one of them does not work today. Rounds
    /// and sets beyond what the format allows are cut off.
    pub fn course(&self, hands: &[Side]) -> Vec<Part> {
        let mut parts = Vec::new();
        match self.order {
            Order::HandByHand => {
                let own = |side: Side| self.items.iter().any(|item| has_own(item, side));
                let mut passes: Vec<Option<Side>> = Vec::new();
                for side in hands.iter().copied().filter(|side| own(*side)) {
                    if !passes.contains(&Some(side)) {
                        passes.push(Some(side));
                    }
                }
                if passes.is_empty() {
                    passes.push(None);
                }
                for (pass, side) in passes.into_iter().enumerate() {
                    for round in self.round_numbers() {
                        for (number, item) in (1..).zip(&self.items) {
                            let turn = match shared(item, hands) {
                                Some(together) => together.filter(|_| pass == 0),
                                None => side.filter(|s| has_own(item, *s)).map(PartHands::One),
                            };
                            push_sets(&mut parts, number, item, turn, round);
                        }
                    }
                }
            }
            Order::ItemByItem => {
                let mut turns: Vec<Side> = Vec::new();
                for side in hands {
                    if !turns.contains(side) {
                        turns.push(*side);
                    }
                }
                for round in self.round_numbers() {
                    for (number, item) in (1..).zip(&self.items) {
                        if let Some(together) = shared(item, hands) {
                            push_sets(&mut parts, number, item, together, round);
                            continue;
                        }
                        let strapped = parts.iter().rev().find_map(Part::strap);
                        turns.sort_by_key(|side| strapped.is_some() && Some(*side) != strapped);
                        for side in turns.iter().filter(|side| has_own(item, **side)) {
                            let turn = Some(PartHands::One(*side));
                            push_sets(&mut parts, number, item, turn, round);
                        }
                    }
                }
            }
        }
        parts
    }

    fn round_numbers(&self) -> std::ops::RangeInclusive<u32> {
        1..=self.rounds.min(schema::MOST_ROUNDS)
    }
}

/// For an item that both hands do at once, or no hand: the hands that do it today, `None` where it
/// cannot be done. The outer `None`: each hand does it by itself.
fn shared(item: &Item, hands: &[Side]) -> Option<Option<PartHands>> {
    if item.side() != ItemSide::Both {
        return None;
    }
    let all = [Side::Left, Side::Right].map(|side| hands.contains(&side)) == [true, true];
    match item.hands() {
        Hands::OneAtATime => None,
        Hands::None => Some(Some(PartHands::Both)),
        Hands::BothAtOnce => Some(all.then_some(PartHands::Both)),
        Hands::OneOrBoth if all => Some(Some(PartHands::Both)),
        Hands::OneOrBoth => Some(hands.first().copied().map(PartHands::One)),
    }
}

/// Whether a hand does the item by itself.
fn has_own(item: &Item, side: Side) -> bool {
    let alone = item.side() != ItemSide::Both || item.hands() == Hands::OneAtATime;
    alone && item.side().sides().contains(&side)
}

fn push_sets(
    parts: &mut Vec<Part>,
    number: u32,
    item: &Item,
    hands: Option<PartHands>,
    round: u32,
) {
    let Some(hands) = hands else {
        return;
    };
    for set in 1..=item.sets().min(schema::MOST_SETS) {
        parts.push(Part {
            item: number,
            hands,
            round,
            set,
            needs_sensor: item.needs_sensor(),
        });
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use Side::{Left, Right};

    const STRETCH: &str = "[[items]]\nkind = \"stretch\"\nstretch = \"bend-back\"\nside = \"both\"\nhold_s = 15\ntimes = 2\n";
    const PALMS: &str = "[[items]]\nkind = \"stretch\"\nstretch = \"palms-together\"\nside = \"both\"\nhold_s = 10\n";
    const CURL: &str = "[[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"both\"\nsets = 2\nrepetitions = 8\n";
    const RIGHT_CURL: &str = "[[items]]\nkind = \"counted\"\nmovement = \"wrist-extension\"\nside = \"right\"\nrepetitions = 8\n";
    const SHAKING: &str = "[[items]]\nkind = \"timed\"\nwhat = \"shaking\"\nseconds = 20\n";
    const BREATHING: &str = "[[items]]\nkind = \"timed\"\nwhat = \"breathing\"\nseconds = 30\n";

    fn routine(keys: &str, items: &[&str]) -> Routine {
        Routine::from_toml(&format!("title = \"T\"\n{keys}\n{}", items.concat())).unwrap()
    }

    /// The parts as short words: item, hand, round, set.
    fn words(parts: &[Part]) -> Vec<String> {
        parts
            .iter()
            .map(|part| {
                let hand = match part.hands {
                    PartHands::One(Left) => "L",
                    PartHands::One(Right) => "R",
                    PartHands::Both => "B",
                };
                format!("{}{hand}{}.{}", part.item, part.round, part.set)
            })
            .collect()
    }

    #[test]
    fn hand_by_hand_is_one_hand_all_rounds_then_the_other() {
        let routine = routine("rounds = 2", &[CURL, RIGHT_CURL, SHAKING]);
        let parts = routine.course(&routine.hands());
        assert_eq!(
            words(&parts),
            [
                "1L1.1", "1L1.2", "3B1.1", "1L2.1", "1L2.2", "3B2.1", // the left hand
                "1R1.1", "1R1.2", "2R1.1", "1R2.1", "1R2.2", "2R2.1", // the right hand
            ]
        );
        assert_eq!(strap_changes(&parts), 1);
        let right_first = routine.course(&[Right, Left]);
        assert_eq!(
            words(&right_first),
            [
                "1R1.1", "1R1.2", "2R1.1", "3B1.1", "1R2.1", "1R2.2", "2R2.1", "3B2.1", //
                "1L1.1", "1L1.2", "1L2.1", "1L2.2",
            ]
        );
        assert_eq!(strap_changes(&right_first), 1);
    }

    #[test]
    fn item_by_item_begins_with_the_hand_that_wears_the_sensor() {
        let routine = routine(
            "rounds = 2\norder = \"item-by-item\"",
            &[CURL, STRETCH, RIGHT_CURL],
        );
        let parts = routine.course(&routine.hands());
        assert_eq!(
            words(&parts),
            [
                "1L1.1", "1L1.2", "1R1.1", "1R1.2", "2R1.1", "2R1.2", "2L1.1", "2L1.2", "3R1.1",
                "1R2.1", "1R2.2", "1L2.1", "1L2.2", "2L2.1", "2L2.2", "2R2.1", "2R2.2", "3R2.1",
            ]
        );
        // Left to right, right to left in the second round, and back for the last item.
        assert_eq!(strap_changes(&parts), 3);
    }

    #[test]
    fn what_takes_both_hands_comes_once_a_round_and_not_with_one_hand() {
        let routine = routine("rounds = 2", &[PALMS, SHAKING, BREATHING, RIGHT_CURL]);
        assert_eq!(
            words(&routine.course(&[Left, Right])),
            [
                "1B1.1", "2B1.1", "3B1.1", "4R1.1", "1B2.1", "2B2.1", "3B2.1", "4R2.1"
            ]
        );
        assert_eq!(
            words(&routine.course(&[Left])),
            ["2L1.1", "3B1.1", "2L2.1", "3B2.1"]
        );
        assert_eq!(words(&routine.course(&[])), ["3B1.1", "3B2.1"]);
    }

    #[test]
    fn no_item_of_a_hand_is_lost_or_done_twice() {
        for order in ["hand-by-hand", "item-by-item"] {
            let keys = format!("rounds = 3\norder = \"{order}\"");
            let routine = routine(
                &keys,
                &[STRETCH, PALMS, CURL, RIGHT_CURL, SHAKING, BREATHING],
            );
            for hands in [
                vec![Left, Right],
                vec![Right, Left],
                vec![Right, Left, Right],
            ] {
                let parts = routine.course(&hands);
                let mut once = parts.clone();
                once.sort_by_key(|part| {
                    (
                        part.item,
                        part.round,
                        part.set,
                        part.hands == PartHands::One(Left),
                    )
                });
                once.dedup();
                assert_eq!(once.len(), parts.len(), "{order}: a part is there twice");
                // 2 holds and 2 sets for each hand, one of each of the rest, in 3 rounds.
                assert_eq!(parts.len(), 3 * (4 + 1 + 4 + 1 + 1 + 1), "{order}");
                assert!(parts.is_sorted_by_key(|part| match order {
                    "hand-by-hand" => 0,
                    _ => part.round,
                }));
            }
        }
    }

    #[test]
    fn stretches_and_glides_need_no_strap() {
        let routine = routine("order = \"item-by-item\"", &[STRETCH, PALMS, SHAKING]);
        let parts = routine.course(&[Left, Right]);
        assert_eq!(parts.len(), 6);
        assert_eq!(strap_changes(&parts), 0);
        assert_eq!(strap_changes(&[]), 0);
    }
}
