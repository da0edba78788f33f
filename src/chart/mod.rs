//! Drawings: one drawing function gives SVG and PNG.
