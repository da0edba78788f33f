//! Marks that are not kept, and who may not send any.

use serde_json::{Value, json};

use super::client::{ask, own, post};
use super::{recording, rows, served, whole};

#[test]
fn what_does_not_fit_is_said_with_its_row_and_nothing_is_kept_or_shown() {
    let folder = tempfile::tempdir().unwrap();
    let inside = folder.path().join("marks");
    let served = served(&recording("extension-calibrated"), &inside);
    let good = whole([13.4, 15.2, 16.5, 20.1]);
    for (marks, place, says) in [
        (vec![good, whole([22.0, 21.0, 24.0, 27.0])], 1, "lift end"),
        (vec![good, whole([21.0, 22.0, 27.5, 27.0])], 1, "lower end"),
        (
            vec![whole([16.5, 15.2, 17.0, 20.1]), good],
            0,
            "lies before the lift start",
        ),
        (
            vec![good, whole([20.0, 21.0, 22.0, 23.0])],
            1,
            "repetition 2",
        ),
        (
            vec![good, whole([134.0, 152.0, 165.0, 201.0])],
            1,
            "outside",
        ),
        (vec![whole([-5.0, 15.2, 16.5, 20.1])], 0, "outside"),
    ] {
        let answer = served.save(&marks);
        assert_eq!(answer.status, 409, "{marks:?}: {}", answer.body);
        let told: Value = serde_json::from_str(&answer.body).unwrap();
        let words = told["words"].as_str().unwrap();
        assert_eq!(told["place"], place, "{words}");
        assert!(words.starts_with(&format!("row {}", place + 1)), "{words}");
        assert!(words.contains(says), "{words}");
        assert!(!words.contains("_s"), "a column's own name: {words}");
        assert_eq!(served.get("/recording.json").status, 403);
        assert!(!inside.exists());
    }
    assert_eq!(served.save(&[good]).status, 200);
}

#[test]
fn what_is_no_table_of_marks_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let served = served(&recording("extension-calibrated"), folder.path());
    let row = rows(&[whole([13.4, 15.2, 16.5, 20.1])]);
    for text in [
        String::new(),
        "{}".to_owned(),
        "[]".to_owned(),
        json!({ "marks": row, "more": 1 }).to_string(),
        json!({ "marks": [{ "rep": -1 }] }).to_string(),
        json!({ "marks": [{ "rep": 1, "lift_start_s": "13.4" }] }).to_string(),
        json!({ "marks": [{ "rep": 1, "start_s": 13.4 }] }).to_string(),
        "{\"marks\": [{\"rep\": 1, \"lift_start_s\": NaN}]}".to_owned(),
        "{\"marks\": [{\"rep\": 1, \"lift_start_s\": 1e999}]}".to_owned(),
    ] {
        let answer = post(served.port, &served.cookie, "/marks", &text);
        assert_eq!(answer.status, 400, "{text}");
    }
    let long = format!("{{\"marks\":[{}]}}", " ".repeat(300 * 1024));
    let answer = post(served.port, &served.cookie, "/marks", &long);
    assert_eq!(answer.status, 413);
    let text = json!({ "marks": row }).to_string();
    let head = own(served.port, &served.cookie, "POST", "/marks");
    let plain = format!(
        "{head}Content-Type: text/plain\r\nContent-Length: {}\r\n",
        text.len()
    );
    assert_eq!(ask(served.port, &plain, &text).status, 415);
    assert_eq!(served.files(), [""; 0]);
    assert_eq!(served.get("/recording.json").status, 403);
}

#[test]
fn a_second_marking_of_one_run_would_not_be_blind() {
    let folder = tempfile::tempdir().unwrap();
    let served = served(&recording("extension-calibrated"), folder.path());
    assert_eq!(served.save(&[whole([13.4, 15.2, 16.5, 20.1])]).status, 200);
    let answer = served.save(&[whole([13.5, 15.2, 16.5, 20.1])]);
    assert_eq!(answer.status, 409);
    assert!(
        answer.body.contains("would not be blind"),
        "{}",
        answer.body
    );
    assert_eq!(served.files().len(), 1);
}

#[test]
fn marks_that_cannot_be_written_are_not_lost_and_nothing_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("marks");
    std::fs::write(&place, "in the way").unwrap();
    let served = served(&recording("extension-calibrated"), &place);
    let marks = [whole([13.4, 15.2, 16.5, 20.1])];
    let answer = served.save(&marks);
    assert_eq!(answer.status, 409, "{}", answer.body);
    assert!(
        answer.body.contains("still on this page"),
        "{}",
        answer.body
    );
    assert_eq!(served.get("/recording.json").status, 403);
    assert_eq!(std::fs::read(&place).unwrap(), b"in the way");
    std::fs::remove_file(&place).unwrap();
    assert_eq!(served.save(&marks).status, 200);
    assert_eq!(served.files().len(), 1);
}

#[test]
fn only_the_page_itself_may_send_marks() {
    let folder = tempfile::tempdir().unwrap();
    let served = served(&recording("extension-calibrated"), folder.path());
    let (port, cookie) = (served.port, served.cookie.as_str());
    let text = json!({ "marks": rows(&[whole([13.4, 15.2, 16.5, 20.1])]) }).to_string();
    let kind = format!(
        "Content-Type: application/json\r\nContent-Length: {}\r\n",
        text.len()
    );
    let host = format!("POST /marks HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n");
    let with = own(port, cookie, "POST", "/marks");
    for (head, status) in [
        (format!("{host}{kind}"), 403),
        (format!("{host}Cookie: carpotempo-{port}=0\r\n{kind}"), 403),
        (format!("{with}Origin: http://other.example\r\n{kind}"), 403),
        (format!("{with}Sec-Fetch-Site: cross-site\r\n{kind}"), 403),
        (
            format!("POST /marks HTTP/1.1\r\nHost: rebound.example\r\nCookie: {cookie}\r\n{kind}"),
            421,
        ),
    ] {
        assert_eq!(ask(port, &head, &text).status, status, "{head}");
    }
    assert_eq!(served.files(), [""; 0]);
    for (method, path) in [
        ("GET", "/marks"),
        ("PUT", "/marks"),
        ("POST", "/"),
        ("POST", "/marking.json"),
        ("POST", "/recording.json"),
        ("POST", "/compared.json"),
        ("POST", "/marks.csv"),
        ("POST", "/whole"),
        ("POST", "/drill/set.json"),
    ] {
        let answer = ask(port, &own(port, cookie, method, path), "");
        assert_eq!(answer.status, 405, "{method} {path}");
        assert_eq!(answer.header("allow"), Some("GET, POST"));
    }
    let head =
        format!("{with}Origin: http://127.0.0.1:{port}\r\nSec-Fetch-Site: same-origin\r\n{kind}");
    assert_eq!(ask(port, &head, &text).status, 200);
}
