//! What axe-core (MPL-2.0) complains of on a page, by WCAG 2.2 AA (W3C) and its own best practice.

use serde_json::{Value, json};

use super::{Browser, absent};

impl Browser {
    /// Complaints about what is shown now; none, and said so, where `CARPOTEMPO_AXE` names no script.
    pub fn complaints(&self) -> Vec<String> {
        let Some(path) = std::env::var_os("CARPOTEMPO_AXE") else {
            absent("CARPOTEMPO_AXE names no axe.min.js, so axe-core is absent");
            return Vec::new();
        };
        if self.is("typeof window.axe") != json!("object") {
            self.run(&std::fs::read_to_string(&path).unwrap(), json!([]));
        }
        let found = self.run_async(
            "const done = arguments[0];
             const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
             window.axe.run(document, { runOnly: rules, resultTypes: ['violations'] }).then(
               ({ violations }) => done(violations.map((one) =>
                 `${one.id}: ${one.nodes.map((node) => `${node.target} ${node.failureSummary}`).join('; ')}`)),
               (error) => done([`axe-core failed: ${error}`]));",
            json!([]),
        );
        let said = |one: &Value| one.as_str().unwrap_or("?").to_owned();
        found.as_array().unwrap().iter().map(said).collect()
    }

    /// Dark colours from now on, or light ones.
    pub fn dark(&self, dark: bool) {
        let scheme = if dark { "dark" } else { "light" };
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        self.devtools(
            "Emulation.setEmulatedMedia",
            json!({ "features": features }),
        );
        self.at_rest();
    }

    /// Waits until no colour or place is on its way to another.
    pub fn at_rest(&self) {
        self.run_async(
            "const done = arguments[0];
             requestAnimationFrame(() => requestAnimationFrame(() => Promise.allSettled(
               document.getAnimations()
                 .filter((own) => own instanceof CSSTransition)
                 .map((own) => own.finished),
             ).then(() => done(null))));",
            json!([]),
        );
    }
}
