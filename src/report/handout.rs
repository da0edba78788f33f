//! The handout: a routine on paper for the patient, with its drawings and cautions.
//!
//! One self-contained page of HTML that prints on A4 or Letter; no script, no network. It names
//! nobody: at most the patient's code stands on it.

use jiff::civil::Date;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::style::faces;
use crate::drawing::{
    Care, Glide, HandView, STYLE as DRAWING_STYLE, care_drawing, glide_drawing, movement_drawing,
    sensor_drawing, stretch_drawing,
};
use crate::movement::{Activity, LoadShape, Side};
use crate::recording::PatientCode;
use crate::review::date_words;
use crate::routine::{Item, Routine};
use crate::session::guided::exercise::today;
use crate::session::guided::line::{CAUTIONS, FIRST_QUESTIONS};
use crate::session::readback::{ItemWords, ReadBack, read_back};

const STYLE: &str = include_str!("handout.css");

/// What it prints on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO A4, 210 by 297 mm.
    #[default]
    A4,
    /// US Letter, 8.5 by 11 inches.
    Letter,
}

/// What the handout is told beside the routine.
#[derive(Debug, Clone, PartialEq)]
pub struct HandoutOptions {
    /// The day on which it is printed: weights are offered as on that day.
    pub day: Date,
    /// Whose it is; `None` leaves a line to write on.
    pub patient: Option<PatientCode>,
    /// What it prints on.
    pub paper: Paper,
}

/// The handout as HTML.
pub fn handout(routine: &Routine, options: &HandoutOptions) -> String {
    let words = read_back(routine, options.day);
    let paper = match options.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let page = format!("@page {{ size: {paper}; margin: 14mm 14mm 15mm; }}\n");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (routine.title) }
                style { (PreEscaped(faces())) (PreEscaped(page)) (PreEscaped(STYLE)) (PreEscaped(DRAWING_STYLE)) }
            }
            body {
                (heading(routine, &words, options))
                (stop(routine, &words))
                (not_today())
                (sensor(routine))
                ol.items {
                    @for (item, own) in routine.items.iter().zip(&words.items) {
                        (exercise(item, own, words.no_weight.is_none()))
                    }
                }
                footer {
                    "This sheet says what your clinician prescribed. It treats nothing by itself and takes the place of nobody: where it and your clinician differ, your clinician is right."
                }
            }
        }
    }
    .into_string()
}

fn heading(routine: &Routine, words: &ReadBack, options: &HandoutOptions) -> Markup {
    html! {
        header {
            h1 { (routine.title) }
            p.for {
                "For: "
                @match &options.patient { Some(code) => b { (code) }, None => span.line {} }
                " Printed on " (date_words(options.day)) "."
                @if let Some(review_by) = routine.review_by {
                    " It holds until " (date_words(review_by)) "."
                }
            }
            p.course { @for sentence in &words.course { (sentence) " " } }
            @if let Some(own) = &routine.words { p.own { (own) } }
            @if let Some(no_weight) = &words.no_weight { p.noweight { (no_weight) } }
        }
    }
}

fn stop(routine: &Routine, words: &ReadBack) -> Markup {
    html! {
        section.stop {
            h2 { "Stop" }
            ul {
                @for limit in &words.limits { li { (limit) } }
                // Paper has no keys.
                @for caution in CAUTIONS { li { (caution.replace(", or press any key", "")) } }
            }
            p.ask {
                b { "Whom to ask: " }
                @match routine.contact.as_deref().map(str::trim).filter(|own| !own.is_empty()) {
                    Some(contact) => (contact),
                    None => span.line {},
                }
            }
        }
    }
}

fn not_today() -> Markup {
    html! {
        section.nottoday {
            h2 { "Do not begin, and ask your clinician, when any of these applies" }
            ul { @for question in FIRST_QUESTIONS { li { (question) } } }
        }
    }
}

fn sensor(routine: &Routine) -> Markup {
    let Some(side) = routine.hands().first().copied() else {
        return html! {};
    };
    if !routine.items.iter().any(Item::needs_sensor) {
        return html! {};
    }
    html! {
        section.sensor {
            div {
                h2 { "The sensor" }
                p {
                    "On the back of the hand, in line with the middle finger. The strap runs across the middle of the palm, clear of the wrist and of the heel of the hand; one finger fits under it. New tingling, a change of colour or swelling: take it off."
                }
            }
            figure { (PreEscaped(sensor_drawing(side, HandView::Back))) }
            figure { (PreEscaped(sensor_drawing(side, HandView::Palm))) }
        }
    }
}

fn exercise(item: &Item, words: &ItemWords, weights: bool) -> Markup {
    let drawings = drawings(item, weights);
    html! {
        li {
            div.words {
                h3 { (words.title) @if let Some(hand) = words.hand { " " span.hand { (hand) } } }
                p.dose {
                    b { (words.dose) }
                    @if let Some(load) = &words.load { ", " b { (load) } }
                    @if let Some(rest) = &words.rest { ", " (rest) }
                }
                @if let Some(tempo) = &words.tempo { p.tempo { "Pace: " b { (tempo) } } }
                @if !words.how.is_empty() { p { (words.how) @if !words.how.ends_with('.') { "." } } }
                @if let Some(reach) = &words.reach { p { "How far: " (reach) "." } }
                @if let Some(own) = &words.own_words { p.own { (own) } }
                p.caution { (words.caution) }
            }
            @if !drawings.is_empty() {
                div.drawings { @for drawing in &drawings { figure { (PreEscaped(drawing)) } } }
            }
        }
    }
}

/// One drawing for each hand that does it, or one of both.
fn drawings(item: &Item, weights: bool) -> Vec<String> {
    let sides = item.side().sides();
    let first = sides.first().copied().unwrap_or(Side::Right);
    match item {
        Item::Counted(item) => {
            let item = today(item, weights);
            let load =
                (item.load_kg != Some(0.0)).then(|| item.load_shape.unwrap_or(LoadShape::Centred));
            (sides.iter())
                .map(|side| movement_drawing(item.movement, *side, &item.posture(), load))
                .collect()
        }
        // Both directions of one hand: the other hand mirrors them.
        Item::RangeTest(item) => (item.sets().iter())
            .map(|set| movement_drawing(set.movement, first, &set.posture(), None))
            .collect(),
        Item::Stretch(item) => vec![stretch_drawing(item.stretch, first)],
        Item::Timed(item) => match item.what {
            Activity::TendonGlides => vec![glide_drawing(&Glide::SHORT, first)],
            Activity::Shaking => vec![care_drawing(Care::ShakeOut, first)],
            Activity::SelfMassage => vec![care_drawing(Care::SelfMassage, first)],
            Activity::Breathing => vec![care_drawing(Care::Breathing, first)],
            Activity::OwnWords => Vec::new(),
        },
    }
}
