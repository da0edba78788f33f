//! Which charts a report has, their names, and their sizes on the page.

use super::ReportError;
use super::history_charts::{lowering_chart, range_chart, reach_chart, repetitions_chart};
use super::last::{LastSet, angle_chart, tempo_chart};
use super::marks::angle_note;
use crate::chart::{
    AngleChart, Chart, ChartError, DoneChart, LoweringHistoryChart, Picture, RangeHistoryChart,
    Size, TempoChart, picture,
};
use crate::pipeline::motion::Zero;
use crate::review::{HandLoad, Review, Series};

/// The folder of the single chart files within a report's folder.
pub const CHARTS_FOLDER: &str = "charts";

/// Two of these stand side by side on A4 and on Letter.
const HALF_WIDTH: Size = Size {
    width_px: 480,
    height_px: 300,
};

/// One takes the whole width; three stand on a sheet.
const WHOLE_WIDTH: Size = Size {
    width_px: 960,
    height_px: 300,
};

/// Where a chart is seen. On the page its section says what it is about; a file stands alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Seen {
    Page,
    Alone,
}

/// What the charts are told.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    pub(super) seen: Seen,
    pub(super) invented: bool,
}

impl Setting {
    /// The subtitle of a chart that shows a series: its posture and load where it stands alone.
    pub(super) fn subtitle(self, series: &Series) -> String {
        let words = format!("{}, {}", series.load.words(), series.posture_words);
        self.subtitled(&words)
    }

    /// The same for other words.
    pub(super) fn subtitled(self, words: &str) -> String {
        let words = match self.seen {
            Seen::Page => String::new(),
            Seen::Alone => sentence(words),
        };
        let invented = if self.invented { "Invented data." } else { "" };
        format!("{words} {invented}").trim().to_owned()
    }

    /// What stands under a chart of angles. The page says once what a calibrated angle means.
    pub(super) fn angle_notes(self, zero: Option<Zero>) -> Vec<String> {
        if self.seen == Seen::Page && zero == Some(Zero::Calibration) {
            return Vec::new();
        }
        vec![angle_note(zero)]
    }
}

/// Words as a sentence: a capital before, a full stop behind.
pub(super) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

pub(super) enum Figure {
    Range(RangeHistoryChart),
    Lowering(LoweringHistoryChart),
    Repetitions(DoneChart),
    Tempo(TempoChart),
    Angle(AngleChart),
}

/// Where a chart stands on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// With a group of [`Review::groups`].
    Group(usize),
    /// With the last session.
    Last,
}

pub(super) struct NamedChart {
    pub(super) name: String,
    pub(super) place: Place,
    figure: Figure,
}

/// All charts of a report, in the order of the page.
pub(super) fn charts(review: &Review, last: &[LastSet], setting: Setting) -> Vec<NamedChart> {
    let mut charts = Vec::new();
    for (index, group) in review.groups().into_iter().enumerate() {
        let Some(slug) = slug(group) else { continue };
        let mut add = |kind: &str, place: Place, figure: Option<Figure>| {
            if let Some(figure) = figure {
                charts.push(NamedChart {
                    name: format!("{kind}-{slug}"),
                    place,
                    figure,
                });
            }
        };
        let of_group = Place::Group(index);
        let range = range_chart(group, setting).map(Figure::Range);
        add("range", of_group, range);
        let reach = reach_chart(group, setting).map(Figure::Range);
        add("reach", of_group, reach);
        let lowering = lowering_chart(group, setting).map(Figure::Lowering);
        add("lowering", of_group, lowering);
        let repetitions = repetitions_chart(review, group, setting).map(Figure::Repetitions);
        add("repetitions", of_group, repetitions);
        let tempo = tempo_chart(review, group, setting).map(Figure::Tempo);
        add("last-tempo", Place::Last, tempo);
    }
    for set in last {
        let Some(movement) = set.movement else {
            continue;
        };
        let side = set.side.map_or("hand", |side| side.name());
        charts.push(NamedChart {
            name: format!("last-angle-{}-{side}", movement.name()),
            place: Place::Last,
            figure: Figure::Angle(angle_chart(set, movement, setting)),
        });
    }
    unlike(&mut charts);
    charts
}

/// Movement and load as a part of a file's name; `None` where the movement is not named.
fn slug(group: &[Series]) -> Option<String> {
    let first = group.first()?;
    let load = match first.load {
        HandLoad::RangeTest => "range-test",
        HandLoad::Empty => "empty",
        HandLoad::Loaded => "loaded",
        HandLoad::Unknown => "load-unknown",
    };
    Some(format!("{}-{load}", first.movement?.name()))
}

/// Numbers the charts that would have the same name, such as two postures of one movement.
fn unlike(charts: &mut [NamedChart]) {
    let names: Vec<String> = charts.iter().map(|chart| chart.name.clone()).collect();
    for (index, chart) in charts.iter_mut().enumerate() {
        let before = names.iter().take(index);
        let nth = before.filter(|name| **name == chart.name).count() + 1;
        if nth > 1 {
            chart.name = format!("{}-{nth}", chart.name);
        }
    }
}

impl NamedChart {
    /// Its files, seen from the report's folder.
    pub(super) fn files(&self) -> [String; 2] {
        ["svg", "png"].map(|kind| format!("{CHARTS_FOLDER}/{}.{kind}", self.name))
    }

    /// The drawing for the page.
    pub(super) fn inline(&self) -> Result<String, ReportError> {
        self.picture(Some(match self.place {
            Place::Group(_) => HALF_WIDTH,
            Place::Last => WHOLE_WIDTH,
        }))
        .and_then(|picture| picture.svg())
        .map_err(|source| self.error(source))
    }

    /// The drawings as files: name and content.
    pub(super) fn singles(&self) -> Result<[(String, Vec<u8>); 2], ReportError> {
        let [svg_name, png_name] = self.files();
        let write = || {
            let picture = self.picture(None)?;
            let svg = picture.svg()?;
            Ok([(svg_name, svg.into_bytes()), (png_name, picture.png()?)])
        };
        write().map_err(|source| self.error(source))
    }

    fn error(&self, source: ChartError) -> ReportError {
        ReportError::Chart {
            name: self.name.clone(),
            source,
        }
    }

    fn picture(&self, size: Option<Size>) -> Result<Picture, ChartError> {
        fn drawn<C: Chart>(chart: &C, size: Option<Size>) -> Result<Picture, ChartError> {
            picture(chart, size.unwrap_or_else(|| chart.size()))
        }
        match &self.figure {
            Figure::Range(chart) => drawn(chart, size),
            Figure::Lowering(chart) => drawn(chart, size),
            Figure::Repetitions(chart) => drawn(chart, size),
            Figure::Tempo(chart) => drawn(chart, size),
            Figure::Angle(chart) => drawn(chart, size),
        }
    }
}
