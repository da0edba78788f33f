//! The clinic's desk over plain HTTP: its doors, what it answers, what it keeps and what it refuses.

use std::path::PathBuf;

use carpotempo::handover::{Chosen, ClinicFile, SecretKey, save};
use carpotempo::page::ClinicPage;
use carpotempo::recording::{PatientCode, Store, Writer};
use carpotempo::routine::{Routine, STARTING};
use carpotempo::sample::Place;
use serde_json::{Value, json};

use super::client::{Answer, ask, ask_with, cookie, get, own, post};
use super::session::{head, session};

struct Desk {
    _page: ClinicPage,
    folder: tempfile::TempDir,
    port: u16,
    cookie: String,
}

fn desk() -> Desk {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path().join("store"));
    let page = ClinicPage::serve(0, store, folder.path().join("key")).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    Desk {
        _page: page,
        folder,
        port,
        cookie,
    }
}

impl Desk {
    fn get(&self, path: &str) -> Answer {
        get(self.port, &self.cookie, path)
    }

    fn told(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        serde_json::from_str(&answer.body).unwrap()
    }

    fn asked(&self, path: &str, wish: &Value) -> Answer {
        post(self.port, &self.cookie, path, &wish.to_string())
    }

    fn done(&self, path: &str, wish: &Value) -> Value {
        let answer = self.asked(path, wish);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        serde_json::from_str(&answer.body).unwrap()
    }

    fn refused(&self, path: &str, wish: &Value) -> String {
        let answer = self.asked(path, wish);
        assert_eq!(answer.status, 409, "{path}: {}", answer.body);
        answer.body
    }

    fn of(&self, patient: &str) -> PathBuf {
        self.folder.path().join("store").join(patient)
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(self.folder.path().join(folder))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }
}

fn starting(name: &str) -> &'static str {
    STARTING.iter().find(|own| own.name == name).unwrap().toml
}

/// A prescription with weights.
fn whole() -> String {
    let text = starting("two-rounds").replace("# screened_on", "screened_on");
    let text = text.replace("# contact = \"...\"", "contact = \"The practice desk\"");
    text.replace("# review_by = 2026-03-30", "review_by = 2999-03-30")
}

#[test]
fn the_form_is_the_checkers_own_and_knows_the_starting_routines() {
    let desk = desk();
    let told = desk.told("/form.json");
    let kinds: Vec<&str> = (told["form"]["items"].as_array().unwrap().iter())
        .map(|kind| kind["kind"].as_str().unwrap())
        .collect();
    for kind in ["counted", "stretch", "timed"] {
        assert!(kinds.contains(&kind), "{kinds:?}");
    }
    let names: Vec<&str> = (told["starting"].as_array().unwrap().iter())
        .map(|own| own["name"].as_str().unwrap())
        .collect();
    let own: Vec<&str> = STARTING.iter().map(|own| own.name).collect();
    assert_eq!(names, own);
    assert_eq!(told["key"], Value::Null);
    assert_eq!(told["contact"], Value::Null);
    assert_eq!(told["questions"].as_array().unwrap().len(), 7);
}

#[test]
fn a_draft_is_edited_and_read_back() {
    let desk = desk();
    let wish = json!({
        "text": starting("two-rounds"),
        "edits": [
            { "do": "set", "at": ["items", 0, "load_kg"], "to": 0.75 },
            { "do": "strike", "item": 4 },
        ],
    });
    let told = desk.done("/draft", &wish);
    let routine = Routine::from_toml(told["text"].as_str().unwrap()).unwrap();
    assert_eq!(routine.items.len(), 4);
    assert_eq!(told["values"]["items"][0]["load_kg"], 0.75);
    assert_eq!(told["problems"], json!([]));
    let reading = &told["reading"];
    // Without the three lines there is no weight in the patient's words.
    assert_eq!(reading["words"]["items"][0]["load"], "empty hand");
    assert_eq!(reading["strap_change_count"], 1);
    let wish = json!({ "text": told["text"], "edits": [
        { "do": "set", "at": ["items", 1, "repetitions"], "to": 900 }] });
    let told = desk.done("/draft", &wish);
    assert_eq!(told["reading"], Value::Null);
    assert_eq!(
        told["problems"][0]["at"],
        json!(["items", 1, "repetitions"])
    );
    let broken = desk.done("/draft", &json!({ "text": "title = " }));
    assert_eq!(broken["values"], Value::Null);
    let edit = json!({ "text": "title = ", "edits": [{ "do": "strike", "item": 0 }] });
    assert!(desk.refused("/draft", &edit).contains("TOML"));
}

#[test]
fn a_prescription_is_kept_and_the_one_before_stays() {
    let desk = desk();
    assert_eq!(
        desk.told("/routine.json?patient=P-1"),
        json!({ "present": null, "last": null })
    );
    let first = whole();
    let kept = desk.done("/keep", &json!({ "text": first, "patient": "P-1" }));
    assert_eq!(kept["before"], Value::Null);
    let file = desk.of("P-1").join("routine.toml");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), first);
    assert_eq!(
        desk.told("/routine.json?patient=P-1")["present"]["text"],
        first
    );
    assert_eq!(desk.told("/form.json")["contact"], "The practice desk");

    // The same once more changes nothing.
    desk.done("/keep", &json!({ "text": first, "patient": "P-1" }));
    assert_eq!(desk.names("store/P-1"), ["routine.toml"]);

    // A greater step of load is remarked on against the one in force (ACSM 2009: 2 to 10 %).
    let heavier = first.replacen("load_kg = 0.5\n", "load_kg = 0.6\n", 1);
    let told = desk.done("/draft", &json!({ "text": heavier, "patient": "P-1" }));
    let remarks = told["reading"]["remarks"].to_string();
    assert!(remarks.contains("20 %"), "{remarks}");
    for nth in 1..=2 {
        let text = format!("{heavier}# {nth}\n");
        let kept = desk.done("/keep", &json!({ "text": text, "patient": "P-1" }));
        let before = kept["before"].as_str().unwrap();
        assert!(std::path::Path::new(before).is_file(), "{before}");
    }
    let names = desk.names("store/P-1");
    assert_eq!(names.len(), 3, "{names:?}");
    let all: Vec<String> = names
        .iter()
        .map(|name| std::fs::read_to_string(desk.of("P-1").join(name)).unwrap())
        .collect();
    assert!(all.contains(&first), "nothing that was kept is lost");

    // What is no prescription is not kept, and nothing moves.
    let said = desk.refused("/keep", &json!({ "text": "title = 1", "patient": "P-1" }));
    assert!(
        said.contains("line 1, column 1: the routine has no"),
        "{said}"
    );
    assert_eq!(desk.names("store/P-1"), names);
    // Nor is one for somebody with no code.
    for patient in ["", "two words", "../P-1", "P/1"] {
        let wish = json!({ "text": first, "patient": patient });
        assert_eq!(desk.asked("/keep", &wish).status, 400, "{patient}");
    }
    assert_eq!(desk.names("store"), ["P-1"]);
}

#[test]
fn a_handout_lies_on_the_shelf_for_a_while_and_prints_without_a_script() {
    let desk = desk();
    let lay = |paper: &str| {
        let wish = json!({ "text": whole(), "patient": "P-1", "paper": paper });
        desk.done("/handout", &wish)["address"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let first = lay("a4");
    let page = desk.get(&first);
    assert_eq!(page.status, 200);
    let policy = page.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'none'"), "{policy}");
    assert!(policy.contains("frame-ancestors 'self'"), "{policy}");
    assert!(!policy.contains("script-src"), "{policy}");
    assert!(!page.body.contains("<script"));
    assert!(page.body.contains("size: A4"));
    assert!(desk.get(&lay("letter")).body.contains("size: letter"));
    for _ in 0..8 {
        lay("a4");
    }
    assert_eq!(desk.get(&first).status, 404, "the oldest went");
    let said = desk.refused("/handout", &json!({ "text": "title = \"T\"\nitem = 1" }));
    assert!(said.contains("items"), "{said}");
}

#[test]
fn a_clinic_file_needs_the_key_and_never_holds_its_secret_half() {
    let desk = desk();
    let wish = json!({ "text": whole(), "patient": "P-1" });
    desk.refused("/handover", &wish);
    let made = desk.done("/key", &json!({}));
    let public = made["public"].as_str().unwrap();
    assert_eq!(desk.told("/form.json")["key"]["public"], public);
    let nobody = whole().replace("contact = ", "# contact = ");
    let said = desk.refused("/handover", &json!({ "text": nobody, "patient": "P-1" }));
    assert!(said.contains("whom to ask"), "{said}");
    // A second one would lock the first patients out.
    desk.refused("/key", &json!({}));
    let key = SecretKey::read(&desk.folder.path().join("key")).unwrap();
    assert_eq!(key.public().to_string(), public);
    let laid = desk.done("/handover", &wish);
    assert_eq!(laid["name"], "clinic-P-1.toml");
    let file = desk.get(laid["address"].as_str().unwrap());
    assert_eq!(
        file.header("content-disposition"),
        Some("attachment; filename=\"clinic-P-1.toml\"")
    );
    assert!(!file.body.contains("SECRET"));
    let path = desk.folder.path().join("taken.toml");
    std::fs::write(&path, &file.body).unwrap();
    let read = ClinicFile::read(&path).unwrap();
    assert_eq!(read.key.to_string(), public);
    assert_eq!(read.routine, Routine::from_toml(&whole()).unwrap());
}

/// A store with one session of a patient.
fn with_a_session(store: &Store, patient: &PatientCode) {
    let played = session(7);
    let mut head = head();
    head.patient = patient.clone();
    let folder = store.new_session(patient, &head.started_at).unwrap();
    let mut writer = Writer::create(&folder, &head).unwrap();
    for sample in &played.samples {
        writer.sample(Place::Hand, sample).unwrap();
    }
    for event in &played.events {
        writer.event(event).unwrap();
    }
    writer.finish().unwrap();
}

fn bring(desk: &Desk, bytes: &[u8]) -> Answer {
    let head = own(desk.port, &desk.cookie, "POST", "/brought");
    let length = bytes.len();
    let head =
        format!("{head}Content-Type: application/octet-stream\r\nContent-Length: {length}\r\n");
    ask_with(desk.port, &head, bytes)
}

#[test]
fn what_a_patient_brought_comes_into_the_store_and_what_is_damaged_does_not() {
    let desk = desk();
    let patient: PatientCode = "P-9".parse().unwrap();
    let home = Store::at(desk.folder.path().join("home"));
    with_a_session(&home, &patient);
    desk.done("/key", &json!({}));
    let key = SecretKey::read(&desk.folder.path().join("key")).unwrap();
    let out = desk.folder.path().join("out");
    std::fs::create_dir(&out).unwrap();
    let saved = save(&home, &patient, &key.public(), &Chosen::All, &out).unwrap();
    let sealed = std::fs::read(&saved.path).unwrap();

    let mut damaged = sealed.clone();
    let middle = damaged.len() / 2;
    damaged[middle] ^= 1;
    for bad in [&damaged[..], &sealed[..middle], b"no such thing", b""] {
        let answer = bring(&desk, bad);
        assert_eq!(answer.status, 409, "{}", answer.body);
        assert!(
            answer.body.starts_with("The file that was chosen"),
            "{}",
            answer.body
        );
        assert!(!answer.body.contains(".brought"), "{}", answer.body);
    }
    assert!(!desk.of("P-9").exists());
    let answer = bring(&desk, &sealed);
    assert_eq!(answer.status, 200, "{}", answer.body);
    let told: Value = serde_json::from_str(&answer.body).unwrap();
    assert_eq!(
        (&told["patient"], &told["new_count"]),
        (&json!("P-9"), &json!(1))
    );
    let again: Value = serde_json::from_str(&bring(&desk, &sealed).body).unwrap();
    assert_eq!(
        (&again["new_count"], &again["already_count"]),
        (&json!(0), &json!(1))
    );
    assert_eq!(desk.names("store"), ["P-9"], "nothing else is left there");

    // And is reviewed.
    let people = desk.told("/people.json");
    assert_eq!(people["rows"][0]["patient"], "P-9");
    let review = desk.get("/review/P-9?since=&age=&sex=");
    assert_eq!(review.status, 200);
    assert!(review.body.contains("Wrist extension"));
    let people = desk.told("/people.json");
    assert_eq!(people["unread_count"], 0, "the review read it");
    assert_eq!(desk.get("/review/P-8").status, 409);
    for bad in [
        "/review/P-9?since=soon",
        "/review/P-9?age=400",
        "/review/P-9?sex=x",
        "/review/..%2f",
    ] {
        assert_eq!(desk.get(bad).status, 400, "{bad}");
    }
}

#[test]
fn the_desk_has_the_doors_of_the_session() {
    let desk = desk();
    let (port, cookie) = (desk.port, desk.cookie.as_str());
    desk.done("/keep", &json!({ "text": whole(), "patient": "P-1" }));
    let wish = json!({ "text": whole(), "patient": "P-2" }).to_string();
    let length = wish.len();
    let json_kind = "Content-Type: application/json\r\n";
    for (method, path) in [
        ("GET", "/"),
        ("GET", "/form.json"),
        ("GET", "/people.json"),
        ("GET", "/routine.json?patient=P-1"),
        ("GET", "/review/P-1"),
        ("GET", "/shelf/1/handout.html"),
        ("POST", "/draft"),
        ("POST", "/keep"),
        ("POST", "/handout"),
        ("POST", "/handover"),
        ("POST", "/key"),
        ("POST", "/brought"),
    ] {
        let body = format!("{json_kind}Content-Length: {length}\r\n");
        let host = format!("Host: 127.0.0.1:{port}\r\n");
        for (head, status) in [
            (format!("{method} {path} HTTP/1.1\r\n{host}{body}"), 403),
            (
                format!(
                    "{method} {path} HTTP/1.1\r\nHost: rebound.example:{port}\r\nCookie: {cookie}\r\n{body}"
                ),
                421,
            ),
            (
                format!(
                    "{}Origin: http://other.example\r\n{body}",
                    own(port, cookie, method, path)
                ),
                403,
            ),
            (
                format!(
                    "{}Sec-Fetch-Site: cross-site\r\n{body}",
                    own(port, cookie, method, path)
                ),
                403,
            ),
        ] {
            let answer = ask(port, &head, &wish);
            assert_eq!(answer.status, status, "{head}");
            assert!(!answer.body.contains("P-1"), "{head}");
        }
    }
    let post_as = |path: &str, kind: &str, body: &str| {
        let head = own(port, cookie, "POST", path);
        let length = body.len();
        let head = format!("{head}Content-Type: {kind}\r\nContent-Length: {length}\r\n");
        ask(port, &head, body).status
    };
    assert_eq!(post_as("/keep", "text/plain", &wish), 415);
    assert_eq!(post_as("/brought", "application/json", &wish), 415);
    assert_eq!(post_as("/keep", "application/json", "{"), 400);
    let long = json!({ "text": "#".repeat(300 * 1024), "patient": "P-2" }).to_string();
    assert_eq!(post_as("/keep", "application/json", &long), 413);
    assert_eq!(desk.get("/keep").status, 405);
    assert_eq!(post_as("/people.json", "application/json", "{}"), 405);
    assert_eq!(desk.get("/press").status, 404);
    assert_eq!(desk.get("/nothing").status, 404);
    assert_eq!(desk.names("store"), ["P-1"], "nothing came of any of them");
}
