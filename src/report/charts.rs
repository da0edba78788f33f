//! Which charts a report has, their names, and their sizes on the page.

use super::history_charts::{lowering_chart, range_chart, repetitions_chart};
use super::last::{LastSet, angle_chart, tempo_chart};
use super::{ReportError, ReportOptions};
use crate::chart::{
    AngleChart, Chart, ChartError, DoneChart, LoweringHistoryChart, Picture, RangeHistoryChart,
    Size, TempoChart, picture,
};
use crate::review::{HandLoad, Review, Series};

/// The folder of the single chart files within a report's folder.
pub const CHARTS_FOLDER: &str = "charts";

/// Two of these stand side by side on A4 and on Letter.
const HALF_WIDTH: Size = Size {
    width_px: 480,
    height_px: 360,
};

/// One takes the whole width.
const WHOLE_WIDTH: Size = Size {
    width_px: 880,
    height_px: 400,
};

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
pub(super) fn charts(
    review: &Review,
    last: &[LastSet],
    options: &ReportOptions,
) -> Vec<NamedChart> {
    let mut charts = Vec::new();
    for (index, group) in review.groups().into_iter().enumerate() {
        let Some(slug) = slug(group) else { continue };
        let mut add = |kind: &str, figure: Option<Figure>| {
            if let Some(figure) = figure {
                charts.push(NamedChart {
                    name: format!("{kind}-{slug}"),
                    place: Place::Group(index),
                    figure,
                });
            }
        };
        add("range", range_chart(group, options).map(Figure::Range));
        add(
            "lowering",
            lowering_chart(group, options).map(Figure::Lowering),
        );
        add(
            "repetitions",
            repetitions_chart(review, group, options).map(Figure::Repetitions),
        );
        add(
            "last-tempo",
            tempo_chart(review, group, options).map(Figure::Tempo),
        );
    }
    for set in last {
        let Some(movement) = set.movement else {
            continue;
        };
        let side = set.side.map_or("hand", |side| side.name());
        charts.push(NamedChart {
            name: format!("last-angle-{}-{side}", movement.name()),
            place: Place::Last,
            figure: Figure::Angle(angle_chart(set, movement, options)),
        });
    }
    unlike(&mut charts);
    charts
}

/// Movement and load as a part of a file's name; `None` where the movement is not named.
fn slug(group: &[Series]) -> Option<String> {
    let first = group.first()?;
    let load = match first.load {
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
