//! A person in front of the page: sees what is on the screen, and clicks, touches and types.

use std::cell::RefCell;
use std::path::Path;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::browser::Browser;
use super::led::Program;
use super::looks::look;

/// A press that comes sooner after a screen is taken for the second half of a double click.
const READS: Duration = Duration::from_millis(420);
/// A screen that stays longer without anything on it changing has got stuck.
const STUCK: Duration = Duration::from_secs(60);

/// What of a screen is another screen, and not the same one with other numbers.
const FACE: &str = "JSON.stringify([document.body.dataset.screen, document.querySelector('h1')?.textContent, \
    document.querySelector('#ask')?.open, document.querySelectorAll('main button').length, \
    document.querySelector('#place, .state')?.dataset.link])";

/// The person, the browser and the program.
pub struct Patient {
    pub browser: Browser,
    pub program: Program,
    /// Screens that were met.
    pub screens: RefCell<Vec<String>>,
}

impl Patient {
    /// The program with that routine and the first screen; `None`, and said so, without a browser.
    pub fn sits_down(folder: &Path, routine: &str, more: &[&str]) -> Option<Patient> {
        let program = Program::begin(folder, routine, more);
        let browser = Browser::open()?;
        let patient = Patient {
            browser,
            program,
            screens: RefCell::default(),
        };
        patient.opens(&patient.browser);
        Some(patient)
    }

    /// Opens the printed address.
    pub fn opens(&self, browser: &Browser) {
        browser.size(1024, 768);
        let noted = json!({ "source": include_str!("noted.js") });
        browser.devtools("Page.addScriptToEvaluateOnNewDocument", noted);
        browser.requests();
        browser.go(&self.program.url);
        browser.until("document.body.dataset.screen");
    }

    pub fn screen(&self) -> String {
        let name = self.browser.is("document.body.dataset.screen");
        name.as_str().unwrap_or_default().to_owned()
    }

    /// What is read on the screen.
    pub fn text(&self) -> String {
        let text = self.browser.is("document.body.innerText");
        text.as_str().unwrap_or_default().to_owned()
    }

    /// Waits until that screen is there.
    pub fn meets(&self, screen: &str) {
        self.browser
            .until(&format!("document.body.dataset.screen === '{screen}'"));
        self.notes(screen);
        std::thread::sleep(READS);
    }

    fn notes(&self, screen: &str) {
        let mut screens = self.screens.borrow_mut();
        if screens.last().is_none_or(|last| last != screen) {
            screens.push(screen.to_owned());
        }
    }

    /// Clicks a button with these words.
    pub fn press(&self, words: &str) {
        self.browser.press(words);
    }

    /// Waits until it is read that.
    pub fn reads(&self, words: &str) {
        let words = json!(words);
        self.browser
            .until(&format!("document.body.innerText.includes({words})"));
    }

    /// The number of repetitions that is shown.
    pub fn count(&self) -> u32 {
        let count = self
            .browser
            .is("document.querySelector('.count')?.textContent");
        count.as_str().and_then(|one| one.parse().ok()).unwrap_or(0)
    }

    /// Waits until the hand is in the middle of a repetition, after so many.
    pub fn is_in_mid_set(&self, after: u32) {
        self.goes_on_until("working");
        self.browser.until(&format!(
            "document.querySelector('.count')?.textContent === '{after}' && \
             ['up', 'down'].includes(document.querySelector('.word')?.textContent)"
        ));
    }

    /// Answers as a person without trouble until that screen is there.
    pub fn goes_on_until(&self, screen: &str) {
        self.walks(screen, &|_| false);
    }

    /// Answers each screen, first by `otherwise` where that does it, until that screen is there.
    pub fn walks(&self, until: &str, otherwise: &dyn Fn(&str) -> bool) {
        let mut answered = Value::Null;
        let mut since = Instant::now();
        loop {
            let face = self.browser.is(FACE);
            if face == answered {
                assert!(since.elapsed() < STUCK, "stuck: {}", self.text());
                std::thread::sleep(Duration::from_millis(50));
                continue;
            }
            std::thread::sleep(READS);
            let screen = self.screen();
            if self.browser.is(FACE) != face {
                continue;
            }
            self.notes(&screen);
            if screen == until {
                return;
            }
            look(&self.browser);
            if self.browser.is(FACE) != face {
                // It has gone on meanwhile.
                continue;
            }
            answered = face;
            since = Instant::now();
            if !otherwise(&screen) {
                self.answers(&screen);
            }
        }
    }

    /// What a person without trouble answers.
    fn answers(&self, screen: &str) {
        let has = |selector: &str| {
            let asked = format!("document.querySelector({}) !== null", json!(selector));
            self.browser.is(&asked) == json!(true)
        };
        match screen {
            "welcome" => self.browser.click("main button.main"),
            "first-questions" => self.press("No, none of these"),
            "cautions" => self.press("I have read this"),
            "symptoms" => {
                self.press("None of the three: all 0");
                self.press("Next");
            }
            "night" if has(".questions") => {
                self.browser.click(".questions fieldset:nth-child(2) label");
                self.press("Next");
            }
            "night" => {
                self.press("None of the three: all 0");
                self.press("Next");
            }
            "place" if has("button.main[aria-disabled='false']") => self.press("It is on"),
            "ask-first" => self.press("Yes, I asked and may go on"),
            "hearing" => self.press("Yes, I hear it"),
            "wearing" => self.press("No"),
            "intro" => self.press("Start"),
            "rest" => self.press("Go on now"),
            "timed" if has(".row .stop.huge") => self.press("No, go on"),
            "timed" if !has(".runs") => self.press("Start"),
            "remark" => {
                self.browser.click("textarea");
                self.browser.keys("went well");
                self.press("Keep it and go on");
            }
            "summary" | "not-today" => self.press("Close"),
            _ => {}
        }
    }

    /// What was noted of the page since it was loaded: `counts`, `words`, `parts` or `awake`.
    pub fn noted(&self, what: &str) -> Value {
        self.browser.is(&format!("window.__seen.{what}"))
    }

    /// Looks at what is on the screen now.
    pub fn looks(&self) {
        look(&self.browser);
    }

    /// Repetitions that the last screen says were done.
    pub fn told_done(&self) -> usize {
        let text = self.text();
        let (_, after) = text.split_once("You did ").expect(&text);
        after.split(' ').next().unwrap().parse().unwrap()
    }

    /// The page and the browser go; the program's last words.
    pub fn stands_up(self) -> String {
        let Patient {
            browser, program, ..
        } = self;
        drop(browser);
        program.end()
    }
}
