//! What changed of stretches and of what is done for a time.

use crate::routine::{Item, ItemSide, TimedDose};

/// "hand bent back right 2 x 15 s to 2 x 20 s"; items pair by what they are and whose.
pub(super) fn differences(before: &[Item], after: &[Item]) -> Vec<String> {
    let of = |items: &[Item]| -> Vec<Told> { items.iter().filter_map(told).collect() };
    let mut left = of(before);
    let mut words = Vec::new();
    for item in of(after) {
        match left.iter().position(|other| other.name == item.name) {
            Some(place) => {
                let old = left.remove(place);
                if old.dose != item.dose {
                    words.push(format!("{} {} to {}", item.name, old.dose, item.dose));
                }
            }
            None => words.push(format!("{} added", item.name)),
        }
    }
    words.extend(left.iter().map(|item| format!("{} left out", item.name)));
    words
}

struct Told {
    name: String,
    dose: String,
}

/// `None` of a counted item, which is told by its own words.
fn told(item: &Item) -> Option<Told> {
    let (title, dose) = if let Item::Stretch(item) = item {
        (
            item.stretch.title(),
            format!("{} x {} s", item.times, item.hold_s),
        )
    } else if let Item::Timed(item) = item {
        let dose = match item.dose {
            TimedDose::Seconds { seconds } => format!("{seconds} s"),
            TimedDose::Glides {
                repetitions,
                pause_s,
            } => format!("{repetitions} times, {pause_s} s each"),
        };
        (item.what.title(), dose)
    } else {
        return None;
    };
    Some(Told {
        name: format!("{} {}", title.to_lowercase(), side(item.side())),
        dose,
    })
}

fn side(side: ItemSide) -> &'static str {
    match side.sides() {
        [one] => one.name(),
        _ => "both",
    }
}
