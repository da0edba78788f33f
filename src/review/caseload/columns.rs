//! Rows in columns, as wide as there is room for.

use crate::review::words::wrapped;

/// A row a line, the first one the headings; wider than `width` nothing is cut: the columns that no
/// longer fit stand under their row, each with its heading. Without a width every row is one line.
pub(super) fn lay_out(rows: &[Vec<String>], width: Option<usize>) -> String {
    let count = rows.first().map_or(0, Vec::len);
    let widths: Vec<usize> = (0..count)
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    let mut kept = count;
    if let Some(width) = width {
        let needed = |columns: usize| -> usize {
            widths
                .iter()
                .take(columns)
                .map(|own| own + 2)
                .sum::<usize>()
        };
        while kept > 1 && needed(kept) > width + 2 {
            kept -= 1;
        }
    }
    let mut out = String::new();
    for (nth, row) in rows.iter().enumerate() {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(&widths).take(kept) {
            line.push_str(&format!("{cell:width$}  "));
        }
        out.push_str(line.trim_end());
        out.push('\n');
        if nth == 0 {
            continue;
        }
        let headings = rows.first().into_iter().flatten();
        let mut under: Vec<String> = headings
            .zip(row)
            .skip(kept)
            .map(|(heading, cell)| match cell.as_str() {
                "" => String::new(),
                cell => format!("{heading}: {cell}"),
            })
            .collect();
        // The last column is the longest: it begins a line of its own.
        let last = under.pop().unwrap_or_default();
        for words in [under.join("; "), last] {
            if !words.is_empty() {
                wrapped(&mut out, "    ", &words, width.unwrap_or(usize::MAX));
            }
        }
    }
    out
}
