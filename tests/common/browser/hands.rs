//! What hands do: keys, clicks, touches.

use serde_json::{Value, json};

use super::Browser;

/// Keys that write nothing (W3C WebDriver, 17.4.2).
pub const TAB: &str = "\u{e004}";
pub const ENTER: &str = "\u{e007}";
pub const ESCAPE: &str = "\u{e00c}";
pub const SPACE: &str = " ";
pub const RIGHT: &str = "\u{e014}";

/// How the standard names an element (W3C WebDriver, 12).
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";

impl Browser {
    fn element(&self, by: &str, what: &str) -> String {
        let found = self.post("/element", json!({ "using": by, "value": what }));
        found[ELEMENT].as_str().unwrap().to_owned()
    }

    /// Clicks the first that a CSS selector finds, as a mouse does: it has to be in view, and nothing
    /// over it.
    pub fn click(&self, selector: &str) {
        let element = self.element("css selector", selector);
        self.post(&format!("/element/{element}/click"), json!({}));
    }

    /// Clicks the button with these words.
    pub fn press(&self, words: &str) {
        let path = format!("//button[normalize-space()=\"{words}\"]");
        let element = self.element("xpath", &path);
        self.post(&format!("/element/{element}/click"), json!({}));
    }

    fn act(&self, actions: Value) {
        self.post("/actions", json!({ "actions": [actions] }));
    }

    /// Presses keys, one after the other.
    pub fn keys(&self, keys: &str) {
        let strokes: Vec<Value> = keys
            .chars()
            .flat_map(|key| ["keyDown", "keyUp"].map(|kind| json!({ "type": kind, "value": key })))
            .collect();
        self.act(json!({ "type": "key", "id": "keyboard", "actions": strokes }));
    }

    fn pointer(&self, kind: &str, x_px: i32, y_px: i32) {
        self.act(json!({
            "type": "pointer", "id": kind, "parameters": { "pointerType": kind },
            "actions": [
                { "type": "pointerMove", "duration": 0, "x": x_px, "y": y_px },
                { "type": "pointerDown", "button": 0 },
                { "type": "pointerUp", "button": 0 },
            ],
        }));
    }

    /// Clicks at a place of the window, CSS pixels.
    pub fn click_at(&self, x_px: i32, y_px: i32) {
        self.pointer("mouse", x_px, y_px);
    }

    /// Touches a place of the window, CSS pixels.
    pub fn touch_at(&self, x_px: i32, y_px: i32) {
        self.pointer("touch", x_px, y_px);
    }
}
