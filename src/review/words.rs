//! Figures in words: the word and a positive number, missing as "unknown".

use jiff::civil::Date;

use super::symptoms::SymptomRow;
use crate::movement::{ForearmDirection, ForearmRotation, ForearmSupport, Posture, Side};

/// "42 degrees", "1 degree": whole, without a sign.
pub fn degrees(value_deg: f64) -> String {
    let number = format!("{:.0}", value_deg.abs());
    let plural = if number == "1" { "" } else { "s" };
    format!("{number} degree{plural}")
}

/// "3.6 s".
pub fn seconds(value_s: f64) -> String {
    format!("{:.1} s", value_s.abs())
}

/// "0.5 kg", at most two decimals.
pub fn kilograms(value_kg: f64) -> String {
    let rounded = (value_kg * 100.0).round() / 100.0;
    format!("{rounded} kg")
}

/// "24 of 30", "24 of unknown".
pub fn count_of(done: u32, of: Option<u32>) -> String {
    of.map_or_else(
        || format!("{done} of unknown"),
        |of| format!("{done} of {of}"),
    )
}

/// "35 %", or "unknown" where nothing was judged.
pub fn share_words(part: u32, of: u32) -> String {
    if of == 0 {
        "unknown".to_owned()
    } else {
        format!("{:.0} %", 100.0 * f64::from(part) / f64::from(of))
    }
}

/// "1 session", "3 sessions".
pub fn plural(count: usize, word: &str) -> String {
    format!("{count} {word}{}", if count == 1 { "" } else { "s" })
}

/// "3 Mar 2026".
pub fn date_words(date: Date) -> String {
    date.strftime("%-d %b %Y").to_string()
}

/// "3 Mar"; "3 Mar 2025" where that is not the year of `beside`, the last day of what is told.
pub fn day_words(date: Date, beside: Option<Date>) -> String {
    if beside.is_some_and(|beside| beside.year() == date.year()) {
        date.strftime("%-d %b").to_string()
    } else {
        date_words(date)
    }
}

/// "3 to 30 Mar 2026", "28 Feb to 3 Mar 2026", "3 Mar 2026".
pub fn period_words(first: Date, last: Date) -> String {
    let start = if first == last {
        return date_words(last);
    } else if (first.year(), first.month()) == (last.year(), last.month()) {
        first.strftime("%-d").to_string()
    } else if first.year() == last.year() {
        first.strftime("%-d %b").to_string()
    } else {
        date_words(first)
    };
    format!("{start} to {}", date_words(last))
}

/// The hand as a heading.
pub fn hand_title(side: Option<Side>) -> &'static str {
    match side {
        Some(Side::Left) => "Left",
        Some(Side::Right) => "Right",
        None => "Hand not named",
    }
}

/// "palm down, forearm rested, elbow 90 degrees".
pub fn posture_words(posture: Option<&Posture>) -> String {
    let Some(posture) = posture else {
        return "posture not noted".to_owned();
    };
    let rotation = match posture.rotation {
        ForearmRotation::PalmDown => "palm down",
        ForearmRotation::ThumbUp => "thumb up",
        ForearmRotation::PalmUp => "palm up",
        ForearmRotation::LittleFingerUp => "little finger up",
    };
    let support = match posture.forearm {
        ForearmSupport::Rested => "forearm rested",
        ForearmSupport::Free => "forearm free",
    };
    let direction = match posture.direction {
        ForearmDirection::Level => "",
        ForearmDirection::Hanging => ", arm hanging",
        ForearmDirection::Upright => ", forearm upright",
    };
    let elbow = posture.elbow_deg.map_or_else(String::new, |deg| {
        if deg == 0.0 {
            ", elbow straight".to_owned()
        } else {
            format!(", elbow {}", degrees(deg))
        }
    });
    format!("{rotation}, {support}{direction}{elbow}")
}

/// All answers of a session; those of 0 throughout come last and together.
pub fn answers_words(rows: &[SymptomRow]) -> Vec<String> {
    let (zero, some): (Vec<&SymptomRow>, Vec<&SymptomRow>) =
        rows.iter().partition(|row| row.worst() == Some(0));
    let mut words: Vec<String> = some.into_iter().map(symptom_words).collect();
    if !zero.is_empty() {
        let names: Vec<String> = zero.into_iter().map(symptom_name).collect();
        words.push(format!("always 0: {}", names.join(", ")));
    }
    words
}

/// "tingling right".
fn symptom_name(row: &SymptomRow) -> String {
    let side = row.side.map_or("", Side::name);
    format!("{} {side}", row.kind.name()).trim_end().to_owned()
}

/// "tingling right: 0 before, 3 during".
pub fn symptom_words(row: &SymptomRow) -> String {
    let times = [
        (row.before, "before"),
        (row.during, "during"),
        (row.after, "after"),
        (row.next_morning, "next morning"),
        (row.time_unknown, "at a time not told"),
    ];
    let answers: Vec<String> = times
        .iter()
        .filter_map(|(value, when)| Some(format!("{} {when}", (*value)?)))
        .collect();
    format!("{}: {}", symptom_name(row), answers.join(", "))
}

/// Lines of at most so many characters; those after the first stand under the words.
pub(super) fn wrapped(out: &mut String, lead: &str, text: &str, width: usize) {
    let indent = " ".repeat(lead.chars().count());
    let mut line = lead.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > width {
            out.push_str(&line);
            out.push('\n');
            line.clone_from(&indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(&line);
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn periods_cross_months_and_years() {
        let words = |a, b| period_words(a, b);
        assert_eq!(words(date(2026, 3, 3), date(2026, 3, 3)), "3 Mar 2026");
        assert_eq!(
            words(date(2026, 3, 3), date(2026, 3, 30)),
            "3 to 30 Mar 2026"
        );
        assert_eq!(
            words(date(2024, 2, 29), date(2024, 3, 1)),
            "29 Feb to 1 Mar 2024"
        );
        assert_eq!(
            words(date(2025, 12, 31), date(2026, 1, 1)),
            "31 Dec 2025 to 1 Jan 2026"
        );
    }

    #[test]
    fn numbers_have_no_sign_and_missing_ones_are_unknown() {
        assert_eq!(degrees(-12.4), "12 degrees");
        assert_eq!(degrees(-0.2), "0 degrees");
        assert_eq!(degrees(1.3), "1 degree");
        assert_eq!(count_of(3, None), "3 of unknown");
        assert_eq!(share_words(0, 0), "unknown");
        assert_eq!(kilograms(0.453_592_37), "0.45 kg");
    }
}
