//! A figure against its limits.

use super::{Limit, Mark, Row};

/// A figure whose size is judged.
pub(super) struct Judged {
    pub key: &'static str,
    pub name: &'static str,
    pub unit: &'static str,
    pub limit: Limit,
    /// What to do where it is over the limits.
    pub to_do: &'static str,
}

impl Judged {
    /// The row of a figure of that size; `missing` says why there is none.
    pub(super) fn row(&self, figure: Option<f64>, missing: &str) -> Row {
        self.row_of_size(figure, figure.map(f64::abs), missing)
    }

    /// The row of a figure that is judged by `size`.
    pub(super) fn row_of_size(&self, figure: Option<f64>, size: Option<f64>, missing: &str) -> Row {
        let mark = size.map_or(Mark::Unknown, |size| mark(size, self.limit));
        Row {
            key: self.key,
            name: self.name,
            figure,
            error: None,
            unit: self.unit,
            limit: if self.limit.look > 0.0 {
                format!(
                    "good up to {} {}, works up to {}",
                    self.limit.ok, self.unit, self.limit.look
                )
            } else {
                "none".to_owned()
            },
            mark,
            words: match mark {
                Mark::Ok => "Good.".to_owned(),
                Mark::Unknown => missing.to_owned(),
                Mark::Look | Mark::Bad => self.to_do.to_owned(),
            },
        }
    }
}

fn mark(size: f64, limit: Limit) -> Mark {
    if size <= limit.ok {
        Mark::Ok
    } else if size <= limit.look {
        Mark::Look
    } else {
        Mark::Bad
    }
}
