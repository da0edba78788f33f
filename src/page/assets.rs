//! The page's own files, embedded in the program.

use crate::drawing::STYLE;

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const PICTURE: &str = "image/svg+xml";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// The file at that path, exactly: its kind and its text.
pub fn asset(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/" => (HTML, include_str!("assets/index.html")),
        "/app.css" => (CSS, include_str!("assets/app.css")),
        "/app.js" => (SCRIPT, include_str!("assets/app.js")),
        "/dom.js" => (SCRIPT, include_str!("assets/dom.js")),
        "/hill.js" => (SCRIPT, include_str!("assets/hill.js")),
        "/scale.js" => (SCRIPT, include_str!("assets/scale.js")),
        "/screens.js" => (SCRIPT, include_str!("assets/screens.js")),
        "/voice.js" => (SCRIPT, include_str!("assets/voice.js")),
        "/words.js" => (SCRIPT, include_str!("assets/words.js")),
        "/working.css" => (CSS, include_str!("assets/working.css")),
        "/working.js" => (SCRIPT, include_str!("assets/working.js")),
        "/icon.svg" => (PICTURE, include_str!("assets/icon.svg")),
        "/drawing.css" => (CSS, STYLE),
        _ => return None,
    })
}
