//! The doors of the replay's page are those of the session's, and nothing else is answered.

use std::io::Write;

use carpotempo::page::Page;

use super::super::client::{self, ask, connect, own};
use super::{recording, served};

#[test]
fn the_replay_has_the_doors_of_the_session() {
    let served = served(&recording("flexion-hurried.csv"));
    let (port, cookie) = (served.port, served.cookie.as_str());
    assert!(served.page.address().ip().is_loopback());
    let paths = ["/", "/recording.json", "/curve.json?set=0&part=0"];
    let guided = Page::serve(0, |_| ()).unwrap();
    let foreign = client::cookie(guided.address().port(), &guided.url());
    for path in paths.iter().chain(&["/replay/page.js", "/nothing"]) {
        let host = format!("Host: 127.0.0.1:{port}\r\n");
        for (head, status) in [
            (format!("GET {path} HTTP/1.1\r\n{host}"), 403),
            (
                format!("GET {path} HTTP/1.1\r\n{host}Cookie: {foreign}\r\n"),
                403,
            ),
            (
                format!(
                    "GET {path} HTTP/1.1\r\nHost: rebound.example:{port}\r\nCookie: {cookie}\r\n"
                ),
                421,
            ),
            (
                format!(
                    "{}Origin: http://other.example\r\n",
                    own(port, cookie, "GET", path)
                ),
                403,
            ),
            (
                format!(
                    "{}Sec-Fetch-Site: cross-site\r\n",
                    own(port, cookie, "GET", path)
                ),
                403,
            ),
            (
                format!(
                    "{}Content-Length: 99999999\r\n",
                    own(port, cookie, "GET", path)
                ),
                413,
            ),
        ] {
            let answer = ask(port, &head, "");
            assert_eq!(answer.status, status, "{head}");
            assert!(!answer.body.contains("range_deg"), "{head}");
        }
    }
    for path in paths {
        let answer = served.get(path);
        assert_eq!(answer.status, 200, "{path}");
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'self'"), "{policy}");
        assert_eq!(answer.header("cache-control"), Some("no-store"));
        for method in ["POST", "PUT", "DELETE", "HEAD", "OPTIONS"] {
            let answer = ask(port, &own(port, cookie, method, path), "");
            assert_eq!(answer.status, 405, "{method} {path}");
            assert_eq!(answer.header("allow"), Some("GET"));
        }
    }
}

#[test]
fn nothing_else_is_answered() {
    let served = served(&recording("flexion-hurried.csv"));
    for path in [
        "/nothing",
        "/press",
        "/events",
        "/app.js",
        "/replay/",
        "/replay/../dom.js",
        "/replay/%2e%2e/dom.js",
        "//recording.json",
        "/recording.json/",
        "/flexion-hurried.csv",
        "/recordings/flexion-hurried.csv",
        "/curve.json?set=1&part=0",
        "/curve.json?set=0&part=1000000",
        "/curve.json?set=0&part=18446744073709551615",
    ] {
        assert_eq!(served.get(path).status, 404, "{path}");
    }
    for query in [
        "",
        "?",
        "?set=0",
        "?part=0",
        "?set=-1&part=0",
        "?set=0&part=-1",
        "?set=0&part=NaN",
        "?set=0&part=18446744073709551616",
        "?set=a&part=b",
    ] {
        assert_eq!(
            served.get(&format!("/curve.json{query}")).status,
            400,
            "{query}"
        );
    }
    let (port, cookie) = (served.port, served.cookie.as_str());
    let head = own(port, cookie, "POST", "/press");
    assert_eq!(ask(port, &head, "").status, 404);
}

#[test]
fn two_hundred_idle_connections_do_not_keep_the_replay_away() {
    let served = served(&recording("flexion-hurried.csv"));
    let mut idle = Vec::new();
    for number in 0..200 {
        let mut stream = connect(served.port);
        if number % 2 == 0 {
            let _ = stream.write_all(b"GET /recording.json HTTP/1.1\r\nHost: ");
        }
        idle.push(stream);
    }
    assert_eq!(served.get("/recording.json").status, 200);
    drop(idle);
}

#[test]
fn every_file_that_the_page_names_is_there() {
    let served = served(&recording("flexion-hurried.csv"));
    let page = served.get("/").body;
    let quoted = |text: &str, before: &str| -> Vec<String> {
        let parts = text.split(before).skip(1);
        let names = parts.filter_map(|part| part.split('"').next());
        names.map(str::to_owned).collect()
    };
    let mut named = quoted(&page, "href=\"");
    named.extend(quoted(&page, "src=\""));
    let mut scripts = vec!["page.js".to_owned()];
    let mut seen = 0;
    while let Some(script) = scripts.get(seen).cloned() {
        seen += 1;
        let text = served.get(&format!("/replay/{script}")).body;
        for own in quoted(&text, "from \"") {
            match own.strip_prefix("./") {
                Some(own) if !scripts.contains(&own.to_owned()) => scripts.push(own.to_owned()),
                Some(_) => {}
                None => named.push(own.replace("../", "")),
            }
        }
    }
    assert!(scripts.len() >= 7, "{scripts:?}");
    named.extend(scripts.iter().map(|own| format!("replay/{own}")));
    for file in named {
        assert_eq!(served.get(&format!("/{file}")).status, 200, "{file}");
    }
}
