//! The page's own files, embedded in the program.

use crate::drawing::STYLE;

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const PICTURE: &str = "image/svg+xml";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// The file of the guided session's page at that path, exactly: its kind and its text.
pub fn guided(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/" => (HTML, include_str!("assets/index.html")),
        "/common.css" => (CSS, include_str!("assets/common.css")),
        "/app.css" => (CSS, include_str!("assets/app.css")),
        "/app.js" => (SCRIPT, include_str!("assets/app.js")),
        "/asked.js" => (SCRIPT, include_str!("assets/asked.js")),
        "/awake.js" => (SCRIPT, include_str!("assets/awake.js")),
        "/bars.js" => (SCRIPT, include_str!("assets/bars.js")),
        "/caption.js" => (SCRIPT, include_str!("assets/caption.js")),
        "/clinic.js" => (SCRIPT, include_str!("assets/clinic.js")),
        "/dom.js" => (SCRIPT, include_str!("assets/dom.js")),
        "/hill.js" => (SCRIPT, include_str!("assets/hill.js")),
        "/pieces.js" => (SCRIPT, include_str!("assets/pieces.js")),
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

/// The file of the clinic's page at that path, exactly.
pub fn clinic(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/" => (HTML, include_str!("assets/clinic/index.html")),
        "/clinic/page.css" => (CSS, include_str!("assets/clinic/page.css")),
        "/clinic/page.js" => (SCRIPT, include_str!("assets/clinic/page.js")),
        "/clinic/people.js" => (SCRIPT, include_str!("assets/clinic/people.js")),
        "/clinic/desk.js" => (SCRIPT, include_str!("assets/clinic/desk.js")),
        "/clinic/out.js" => (SCRIPT, include_str!("assets/clinic/out.js")),
        "/clinic/table.js" => (SCRIPT, include_str!("assets/clinic/table.js")),
        "/clinic/reading.js" => (SCRIPT, include_str!("assets/clinic/reading.js")),
        "/clinic/field.js" => (SCRIPT, include_str!("assets/clinic/field.js")),
        "/clinic/ask.js" => (SCRIPT, include_str!("assets/clinic/ask.js")),
        "/clinic/words.js" => (SCRIPT, include_str!("assets/clinic/words.js")),
        "/common.css" | "/dom.js" | "/icon.svg" | "/drawing.css" => return guided(path),
        _ => return None,
    })
}

/// The file of judging by eye at that path, exactly; its page has no other address.
pub fn drill(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/drill" => (HTML, include_str!("assets/drill/index.html")),
        "/drill/page.css" => (CSS, include_str!("assets/drill/page.css")),
        "/drill/page.js" => (SCRIPT, include_str!("assets/drill/page.js")),
        "/drill/words.js" => (SCRIPT, include_str!("assets/drill/words.js")),
        "/replay/page.css" | "/replay/hand.js" | "/replay/player.js" => return replay(path),
        "/common.css" | "/dom.js" | "/icon.svg" | "/drawing.css" => return guided(path),
        _ => return None,
    })
}

/// The file of marking by hand at that path, exactly; the rest of it is the replay's.
pub fn mark(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/" => (HTML, include_str!("assets/mark/index.html")),
        "/mark/page.css" => (CSS, include_str!("assets/mark/page.css")),
        "/mark/page.js" => (SCRIPT, include_str!("assets/mark/page.js")),
        "/mark/compared.js" => (SCRIPT, include_str!("assets/mark/compared.js")),
        "/mark/flags.js" => (SCRIPT, include_str!("assets/mark/flags.js")),
        "/mark/marks.js" => (SCRIPT, include_str!("assets/mark/marks.js")),
        "/mark/saving.js" => (SCRIPT, include_str!("assets/mark/saving.js")),
        "/mark/table.js" => (SCRIPT, include_str!("assets/mark/table.js")),
        "/mark/words.js" => (SCRIPT, include_str!("assets/mark/words.js")),
        _ => return None,
    })
}

/// The file of the replay's page at that path, exactly.
pub fn replay(path: &str) -> Option<(&'static str, &'static str)> {
    Some(match path {
        "/" => (HTML, include_str!("assets/replay/index.html")),
        "/replay/page.css" => (CSS, include_str!("assets/replay/page.css")),
        "/replay/page.js" => (SCRIPT, include_str!("assets/replay/page.js")),
        "/replay/curve.js" => (SCRIPT, include_str!("assets/replay/curve.js")),
        "/replay/figures.js" => (SCRIPT, include_str!("assets/replay/figures.js")),
        "/replay/hand.js" => (SCRIPT, include_str!("assets/replay/hand.js")),
        "/replay/player.js" => (SCRIPT, include_str!("assets/replay/player.js")),
        "/replay/now.js" => (SCRIPT, include_str!("assets/replay/now.js")),
        "/replay/strip.js" => (SCRIPT, include_str!("assets/replay/strip.js")),
        "/replay/track.js" => (SCRIPT, include_str!("assets/replay/track.js")),
        "/replay/words.js" => (SCRIPT, include_str!("assets/replay/words.js")),
        "/common.css" | "/dom.js" | "/icon.svg" | "/drawing.css" => return guided(path),
        _ => return None,
    })
}
