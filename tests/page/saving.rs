//! The door behind which sessions are saved for the clinic.

use std::sync::Mutex;
use std::sync::mpsc::channel;
use std::time::Duration;

use carpotempo::handover::{ClinicFile, SecretKey, open};
use carpotempo::page::{Page, Saving};
use carpotempo::recording::Store;
use carpotempo::routine::Routine;

use super::client::{Events, ask, cookie, get, own, save, view};
use super::program::{ROUTINE, Running, recordings, untroubled};

fn saved() -> Saving {
    Saving::Saved {
        sessions: 2,
        file: "for-my-clinic-0123abcd.age".to_owned(),
        folder: "/home/x/For my \"clinic\"".to_owned(),
    }
}

/// A page that answers as it is told to, and how it was asked.
fn served(answer: Saving) -> (Page, u16, String, std::sync::mpsc::Receiver<bool>) {
    let (asked, asks) = channel();
    let asked = Mutex::new(asked);
    let save = move |all| {
        asked.lock().unwrap().send(all).unwrap();
        answer.clone()
    };
    let page = Page::serve_for_clinic(0, |_| {}, save).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    (page, port, cookie, asks)
}

#[test]
fn what_came_of_saving_is_told_as_it_is() {
    for (answer, json) in [
        (
            saved(),
            serde_json::json!({"outcome": "saved", "sessions": 2, "file": "for-my-clinic-0123abcd.age",
                "folder": "/home/x/For my \"clinic\""}),
        ),
        (Saving::Nothing, serde_json::json!({"outcome": "nothing"})),
        (
            Saving::Failed {
                why: "the disk is full".to_owned(),
            },
            serde_json::json!({"outcome": "failed", "why": "the disk is full"}),
        ),
    ] {
        let (_page, port, cookie, asks) = served(answer);
        for all in [false, true] {
            let told = save(port, &cookie, &format!("{{\"all\":{all}}}"));
            assert_eq!(told.status, 200);
            assert_eq!(told.header("content-type"), Some("application/json"));
            assert_eq!(told.header("cache-control"), Some("no-store"));
            assert_eq!(
                serde_json::from_str::<serde_json::Value>(&told.body).unwrap(),
                json
            );
            assert_eq!(asks.try_recv(), Ok(all));
        }
    }
}

#[test]
fn only_the_page_itself_opens_the_door_and_only_as_it_should() {
    let (_page, port, cookie, asks) = served(saved());
    let wish = "{\"all\":false}";
    let post = |cookie: &str, kind: &str, more: &str, body: &str| {
        let head = own(port, cookie, "POST", "/save");
        let length = body.len();
        let head = format!("{head}Content-Type: {kind}\r\nContent-Length: {length}\r\n{more}");
        ask(port, &head, body).status
    };
    let json = "application/json";
    assert_eq!(post("", json, "", wish), 403);
    assert_eq!(
        post(&cookie, json, "Origin: http://other.example\r\n", wish),
        403
    );
    assert_eq!(
        post(&cookie, json, "Sec-Fetch-Site: cross-site\r\n", wish),
        403
    );
    for kind in [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data",
    ] {
        assert_eq!(post(&cookie, kind, "", wish), 415, "{kind}");
    }
    for bad in [
        "",
        "{}",
        "[]",
        "{\"all\":1}",
        "{\"all\":true,\"folder\":\"/etc\"}",
        "null",
    ] {
        assert_eq!(post(&cookie, json, "", bad), 400, "{bad}");
    }
    let long = format!("{{\"all\":false{}}}", " ".repeat(300));
    assert_eq!(post(&cookie, json, "", &long), 413);
    let asked = get(port, &cookie, "/save");
    assert_eq!(
        (asked.status, asked.header("allow")),
        (405, Some("GET, POST"))
    );
    for path in ["/save/", "/save/x", "/Save", "//save", "/save%2f"] {
        let head = own(port, &cookie, "POST", path);
        let head = format!(
            "{head}Content-Type: {json}\r\nContent-Length: {}\r\n",
            wish.len()
        );
        assert_eq!(ask(port, &head, wish).status, 404, "{path}");
    }
    assert!(asks.try_recv().is_err(), "nothing was saved by any of them");
    assert_eq!(
        post(&cookie, json, "Sec-Fetch-Site: same-origin\r\n", wish),
        200
    );
}

#[test]
fn without_a_clinic_there_is_no_such_door_and_no_button() {
    let served = super::client::served();
    let (port, cookie) = (served.port, &served.cookie);
    assert_eq!(save(port, cookie, "{\"all\":false}").status, 404);
    assert_eq!(get(port, cookie, "/save").status, 404);
    let seen = serde_json::to_value(view()).unwrap();
    assert_eq!(seen["screen"]["clinic"], false);
}

#[test]
fn what_is_shown_goes_on_while_it_saves() {
    let (go_on, wait) = channel::<()>();
    let wait = Mutex::new(wait);
    let save_slowly = move |_| {
        wait.lock()
            .unwrap()
            .recv_timeout(Duration::from_secs(60))
            .unwrap();
        Saving::Nothing
    };
    let mut page = Page::serve_for_clinic(0, |_| {}, save_slowly).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    let mut window = Events::open(port, &cookie);
    let saving = std::thread::spawn({
        let cookie = cookie.clone();
        move || save(port, &cookie, "{\"all\":false}").status
    });
    page.show(view());
    let seen = window.next_of("view");
    assert_eq!(seen["screen"]["screen"], "welcome");
    assert!(!saving.is_finished());
    go_on.send(()).unwrap();
    assert_eq!(saving.join().unwrap(), 200);
}

#[test]
fn a_whole_session_set_up_by_a_clinic_file_comes_into_the_clinic() {
    let folder = tempfile::tempdir().unwrap();
    let (key_path, file) = (folder.path().join("key"), folder.path().join("clinic.toml"));
    let key = SecretKey::make(&key_path).unwrap();
    let routine = Routine::from_toml(ROUTINE).unwrap();
    let made = ClinicFile::new(key.public(), None, routine.clone(), None).unwrap();
    made.write(&file).unwrap();
    let outbox = folder.path().join("For my clinic");
    let mut running = Running::begin_for_clinic(folder.path(), &file, &outbox);
    let welcome = running.answer(&|_| None, &|_| true);
    assert_eq!(welcome["screen"]["clinic"], true);
    assert_eq!(running.save(), serde_json::json!({"outcome": "nothing"}));
    let summary = running.answer(&untroubled, &|view| view["screen"]["screen"] == "summary");
    assert_eq!(summary["screen"]["clinic"], true);
    let told = running.save();
    assert_eq!(
        (&told["outcome"], &told["sessions"]),
        (&"saved".into(), &1.into())
    );
    assert_eq!(told["folder"], outbox.to_str().unwrap());
    running.answer(&untroubled, &|_| false);
    running.end();
    let sealed = outbox.join(told["file"].as_str().unwrap());
    let clinic = Store::at(folder.path().join("clinic-store"));
    let placed = open(&clinic, &sealed, &key, &key_path, None).unwrap();
    assert_eq!(placed.new.len(), 1);
    let at_home = recordings(folder.path());
    let [(home, own)] = &at_home[..] else {
        panic!("{} recordings", at_home.len());
    };
    assert_eq!(own.head.as_ref().unwrap().routine, Some(routine));
    let sessions = clinic
        .sessions(&"P-0001".parse().unwrap())
        .unwrap()
        .sessions;
    let there = sessions[0].open().unwrap();
    // What came after the button, while the page still showed the end, is not in it.
    assert!(own.hand.starts_with(&there.hand) && own.events.starts_with(&there.events));
    let ends = |own: &carpotempo::recording::Recording| {
        let events = own.events.iter();
        events
            .filter(|event| event.kind.name() == "set-end")
            .count()
    };
    assert_eq!((ends(&there), ends(own)), (2, 2), "all sets are");
    assert_eq!(there.name, home.file_name().unwrap().to_str().unwrap());
}
