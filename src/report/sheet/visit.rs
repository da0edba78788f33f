//! A visit to the clinic, on the sheet and in the appendix.

use maud::{Markup, html};

use super::super::cells::{reached_words, session_links, unknown};
use crate::review::{Goniometer, Review, Visit, day_words, degrees};

/// A visit: goniometer and sensor side by side, and what else was noted.
pub(in crate::report) fn visit_words(review: &Review, visit: &Visit, most: usize) -> Markup {
    let noted: Vec<String> = visit
        .noted
        .iter()
        .map(|noted| format!("{}: {}", noted.about, noted.words))
        .collect();
    let more = visit.goniometer.len().saturating_sub(most);
    html! {
        @if !visit.goniometer.is_empty() {
            table.visit {
                thead { tr { th { "Range" } th { "Goniometer" } th { "Sensor, nearest session" } } }
                tbody { @for range in visit.goniometer.iter().take(most) { (goniometer_row(review, range)) } }
            }
            @if more > 0 { p.small { (more) " more in the appendix." } }
        }
        p.small.clamp {
            @if noted.is_empty() { "Nothing else noted." } @else { (noted.join(". ")) "." }
            " " (session_links(review, &[visit.session]))
        }
    }
}

fn goniometer_row(review: &Review, range: &Goniometer) -> Markup {
    let side = range.side.map_or("hand not named", |side| side.name());
    html! {
        tr {
            th scope="row" { (range.movement.title()) ", " (side) }
            td {
                (degrees(range.goniometer_deg))
                @if range.goniometer_deg < 0.0 { " short of zero" }
            }
            td {
                @match &range.sensor {
                    Some(sensor) => {
                        "arc " (degrees(sensor.median_deg)) ", "
                        @if let Some(reached_deg) = sensor.reached_deg {
                            "to " (reached_words(range.movement, reached_deg)) " from neutral, "
                        }
                        (sensor.load.words()) ", "
                        (day_words(sensor.date, review.adherence.last_date)) " "
                        (session_links(review, &[sensor.session]))
                    }
                    None => (unknown()),
                }
            }
        }
    }
}
