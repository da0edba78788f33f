//! The caseload as lines for a terminal.

use std::fmt::Write as _;

use super::columns::lay_out;
use super::{Caseload, CaseloadLine};
use crate::review::words::{count_of, date_words, plural, wrapped};

/// The headings of [`caseload_cells`].
pub const CASELOAD_HEADINGS: [&str; 11] = [
    "patient", "last", "done", "pain", "tingling", "numb", "woken", "stops", "range", "sensor",
    "why look",
];

/// The words of the foot are no wider, columns.
const FOOT_WIDTH: usize = 80;

/// Every patient in one line. What is not known stands as "?", which the foot explains.
pub fn caseload_terminal(caseload: &Caseload) -> String {
    caseload_within(caseload, None)
}

/// The same where lines have so many columns: what does not fit stands under its line.
pub fn caseload_within(caseload: &Caseload, width: Option<usize>) -> String {
    let mut out = String::new();
    let named = caseload
        .lines
        .iter()
        .filter(|line| !line.reasons.is_empty());
    let invented = caseload.lines.iter().any(|line| line.simulated);
    if invented {
        out.push_str("* Invented data: played by a simulator. Nobody\u{2019}s record.\n");
    }
    let _ = writeln!(
        out,
        "{} on {}, {} with something to look at; two weeks each.\n",
        plural(caseload.lines.len(), "patient"),
        date_words(caseload.on),
        named.count()
    );
    let mut rows: Vec<Vec<String>> = vec![CASELOAD_HEADINGS.map(str::to_owned).to_vec()];
    rows.extend(
        caseload
            .lines
            .iter()
            .map(|line| caseload_cells(caseload, line)),
    );
    out.push_str(&lay_out(&rows, width));
    foot(&mut out, caseload);
    out
}

/// What the cells mean.
pub const CASELOAD_NOTE: &str = "done: sessions of those asked; pain, tingling, numb: worst of 10, that of \
     the two weeks before > that of these;\nwoken: nights of those answered; range: movements with \
     more or less since the last visit, beyond error or within;\n?: not known. Facts, no advice.";

fn foot(out: &mut String, caseload: &Caseload) {
    out.push('\n');
    for line in CASELOAD_NOTE.lines() {
        wrapped(out, "", line, FOOT_WIDTH);
    }
    for warning in &caseload.warnings {
        wrapped(out, "Left out: ", warning, FOOT_WIDTH);
    }
    let (stale, missing) = (caseload.stale_count, caseload.missing_count);
    if stale + missing > 0 {
        let _ = write!(
            out,
            "Not in these figures: {} without a summary, {stale} with a stale one.",
            plural(missing as usize, "session")
        );
        match &caseload.refresh {
            Some(command) => {
                let _ = writeln!(out, " To read them:\n  {command}");
            }
            None => out.push('\n'),
        }
    }
    wrapped(out, "", caseload.claim_note, FOOT_WIDTH);
}

fn unknown() -> String {
    "?".to_owned()
}

/// A patient's line as cells under [`CASELOAD_HEADINGS`]; "?" is not known.
pub fn caseload_cells(caseload: &Caseload, line: &CaseloadLine) -> Vec<String> {
    let one_year = line
        .last_session
        .is_some_and(|d| d.year() == caseload.on.year());
    let form = if one_year { "%-d %b" } else { "%-d %b %Y" };
    let mut cells = vec![
        format!("{}{}", line.patient, if line.simulated { " *" } else { "" }),
        line.last_session
            .map_or_else(unknown, |date| date.strftime(form).to_string()),
        line.asked_count.map_or_else(
            || format!("{} of ?", line.done_count),
            |asked| format!("{} of {asked:.0}", line.done_count),
        ),
    ];
    for trend in line.symptoms {
        cells.push(match (trend.worst_before, trend.worst) {
            (_, None) => unknown(),
            (None, Some(worst)) => worst.to_string(),
            (Some(before), Some(worst)) => format!("{before}>{worst}"),
        });
    }
    cells.push(if line.nights.answered_count == 0 {
        unknown()
    } else {
        count_of(line.nights.woken_count, Some(line.nights.answered_count))
    });
    cells.push(line.stop_count.to_string());
    cells.push(range(line));
    cells.push(sensor(line));
    let why: Vec<&str> = line.reasons.iter().map(|r| r.short.as_str()).collect();
    cells.push(why.join("; "));
    cells
}

fn range(line: &CaseloadLine) -> String {
    let more = |found: &&super::RangeChange| found.change.change_deg > 0.0;
    let beyond = &line.range.beyond;
    let more = beyond.iter().filter(more).count();
    let parts = [
        (more, "more"),
        (beyond.len() - more, "less"),
        (line.range.within_count as usize, "within"),
    ];
    let words: Vec<String> = parts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    if words.is_empty() {
        unknown()
    } else {
        words.join(", ")
    }
}

fn sensor(line: &CaseloadLine) -> String {
    let Some(sensor) = line.sensor else {
        return unknown();
    };
    let mut words = Vec::new();
    if sensor.link_lost_count > 0 {
        words.push(format!("lost {}", sensor.link_lost_count));
    }
    if sensor.gap_count > 0 {
        words.push(plural(sensor.gap_count as usize, "gap"));
    }
    words.extend(
        sensor
            .lowest_battery_percent
            .map(|percent| format!("{percent} %")),
    );
    if words.is_empty() {
        "no trouble".to_owned()
    } else {
        words.join(", ")
    }
}
