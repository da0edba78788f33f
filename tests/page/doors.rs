//! Each door.

use std::io::{Read, Write};
use std::time::{Duration, Instant};

use carpotempo::movement::Movement;
use carpotempo::session::guided::press::Press;

use super::client::{Events, ask, connect, get, own, press, served, view};

#[test]
fn the_key_becomes_a_strict_cookie_and_leaves_the_address() {
    let served = served();
    let port = served.port;
    let url = served.page.url();
    let path = url
        .strip_prefix(&format!("http://127.0.0.1:{port}"))
        .unwrap();
    let head = format!("GET {path} HTTP/1.1\r\nHost: localhost:{port}\r\n");
    let answer = ask(port, &head, "");
    assert_eq!(answer.status, 303);
    assert_eq!(answer.header("location"), Some("/"));
    let cookie = answer.header("set-cookie").unwrap();
    for part in ["; HttpOnly", "; SameSite=Strict", "; Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let page = get(port, &served.cookie, "/");
    assert_eq!(page.status, 200);
    assert!(page.body.starts_with("<!doctype html>"));
    assert!(served.page.address().ip().is_loopback());
}

#[test]
fn every_answer_carries_the_policy() {
    let served = served();
    let port = served.port;
    let refused = ask(
        port,
        &format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"),
        "",
    );
    for answer in [get(port, &served.cookie, "/"), refused] {
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'self'"), "{policy}");
        assert!(policy.contains("frame-ancestors 'none'"), "{policy}");
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("referrer-policy", "no-referrer"),
            ("cache-control", "no-store"),
        ] {
            assert_eq!(answer.header(name), Some(value), "{name}");
        }
        assert_eq!(answer.header("access-control-allow-origin"), None);
    }
}

#[test]
fn without_the_key_or_with_another_nothing_is_given() {
    let served = served();
    let port = served.port;
    let other = super::client::served();
    let (name, _) = served.cookie.split_once('=').unwrap();
    let (_, foreign) = other.cookie.split_once('=').unwrap();
    assert_ne!(served.cookie.split_once('=').unwrap().1, foreign, "fresh");
    let cookies = [
        String::new(),
        format!("Cookie: {name}={foreign}\r\n"),
        format!("Cookie: {name}=\r\n"),
        format!("Cookie: {}\r\n", &served.cookie[..served.cookie.len() - 1]),
        format!("Cookie: {}\r\n", other.cookie),
    ];
    for cookie in cookies {
        for request in [
            "GET /",
            "GET /?key=",
            "GET /?key=0",
            &format!("GET /?key={foreign}"),
            "GET /events",
            "GET /app.js",
            "GET /drawing/sensor.svg?side=left",
            "GET /nothing",
            "POST /press",
        ] {
            let head = format!(
                "{request} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n{cookie}Content-Type: application/json\r\nContent-Length: 17\r\n"
            );
            let answer = ask(port, &head, "{\"press\":\"begin\"}");
            assert_eq!(answer.status, 403, "{request} with {cookie:?}");
            assert!(answer.header("set-cookie").is_none());
        }
    }
    assert!(served.presses.try_recv().is_err(), "nothing was pressed");
}

#[test]
fn another_name_for_this_computer_is_refused() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    let hosts = [
        format!("Host: rebound.example:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_owned(),
        format!("Host: 127.0.0.1:{}\r\n", port.wrapping_add(1)),
        format!("Host: 127.0.0.1:{port}.example\r\n"),
        format!("Host: 127.0.0.1:{port}\r\nHost: rebound.example\r\n"),
        String::new(),
    ];
    for host in hosts {
        let head = format!("GET / HTTP/1.1\r\n{host}Cookie: {cookie}\r\n");
        let answer = ask(port, &head, "");
        assert!([400, 421].contains(&answer.status), "{host:?}: {answer:?}");
    }
    let whole = format!(
        "GET http://rebound.example/ HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n"
    );
    assert_eq!(ask(port, &whole, "").status, 421);
}

#[test]
fn another_site_presses_nothing_and_reads_nothing() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    let begin = "{\"press\":\"begin\"}";
    let post = |more: &str| {
        let head = own(port, cookie, "POST", "/press");
        let length = begin.len();
        let head =
            format!("{head}Content-Type: application/json\r\nContent-Length: {length}\r\n{more}");
        ask(port, &head, begin).status
    };
    for foreign in [
        "Origin: http://other.example\r\n".to_owned(),
        "Origin: null\r\n".to_owned(),
        format!("Origin: https://127.0.0.1:{port}\r\n"),
        format!("Origin: http://127.0.0.1:{}\r\n", port.wrapping_add(1)),
        "Sec-Fetch-Site: cross-site\r\n".to_owned(),
        "Sec-Fetch-Site: same-site\r\n".to_owned(),
    ] {
        assert_eq!(post(&foreign), 403, "{foreign}");
        let head = format!("{}{foreign}", own(port, cookie, "GET", "/events"));
        assert_eq!(ask(port, &head, "").status, 403, "{foreign}");
    }
    assert!(served.presses.try_recv().is_err());
    for own in [
        format!("Origin: http://127.0.0.1:{port}\r\nSec-Fetch-Site: same-origin\r\n"),
        format!("Origin: http://localhost:{port}\r\n"),
    ] {
        assert_eq!(post(&own), 204, "{own}");
        assert_eq!(served.presses.try_recv(), Ok(Press::Begin));
    }
}

#[test]
fn a_form_of_another_site_is_no_press() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    for kind in ["text/plain", "application/x-www-form-urlencoded"] {
        let head = own(port, cookie, "POST", "/press");
        let head = format!("{head}Content-Type: {kind}\r\nContent-Length: 17\r\n");
        assert_eq!(ask(port, &head, "{\"press\":\"begin\"}").status, 415);
    }
    assert!(served.presses.try_recv().is_err());
}

#[test]
fn a_press_is_parsed_or_refused() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    for bad in [
        "",
        "{",
        "[]",
        "{\"press\":\"fly\"}",
        "{\"press\":\"hurts\"}",
    ] {
        assert_eq!(press(port, cookie, bad).status, 400, "{bad}");
    }
    assert!(served.presses.try_recv().is_err());
    let remark = "{\"press\":\"remark\",\"text\":\"gr\u{fc}n\"}";
    assert_eq!(press(port, cookie, remark).status, 204);
    let text = "gr\u{fc}n".to_owned();
    assert_eq!(served.presses.try_recv(), Ok(Press::Remark { text }));
}

#[test]
fn a_long_body_is_refused_whether_announced_or_not() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    let remark = |length: usize| {
        let frame = "{\"press\":\"remark\",\"text\":\"\"}".len();
        format!(
            "{{\"press\":\"remark\",\"text\":\"{}\"}}",
            "a".repeat(length - frame)
        )
    };
    assert_eq!(press(port, cookie, &remark(16 * 1024)).status, 204);
    assert!(served.presses.try_recv().is_ok());
    assert_eq!(press(port, cookie, &remark(16 * 1024 + 1)).status, 413);
    let head = own(port, cookie, "POST", "/press");
    let head = format!("{head}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n");
    let body = remark(20_000);
    let chunked = format!("{:x}\r\n{body}\r\n0\r\n\r\n", body.len());
    assert_eq!(ask(port, &head, &chunked).status, 413);
    let huge = format!(
        "{}Content-Length: 99999999999\r\n",
        own(port, cookie, "GET", "/")
    );
    assert_eq!(ask(port, &huge, "").status, 413);
    assert!(served.presses.try_recv().is_err());
}

#[test]
fn there_is_nothing_to_climb_out_of() {
    let served = served();
    for path in [
        "/../Cargo.toml",
        "/%2e%2e/Cargo.toml",
        "/..%2fCargo.toml",
        "/assets/app.js",
        "//",
        "//app.js",
        "/./app.js",
        "/app.js/",
        "/app.js%00",
        "/app%2ejs",
        "/APP.JS",
        "/\\..\\Cargo.toml",
        "/drawing/../app.js",
        "/drawing/",
        "/drawing/other.svg",
        "/etc/passwd",
        "/events/",
    ] {
        let answer = get(served.port, &served.cookie, path);
        assert!([400, 404].contains(&answer.status), "{path}: {answer:?}");
        assert!(!answer.body.contains("[package]"), "{path}");
    }
}

#[test]
fn only_get_and_post_are_known() {
    let served = served();
    let (port, cookie) = (served.port, &served.cookie);
    for method in ["PUT", "DELETE", "HEAD", "OPTIONS", "PATCH", "TRACE", "BREW"] {
        for path in ["/", "/press", "/nothing"] {
            let answer = ask(port, &own(port, cookie, method, path), "");
            assert_eq!(answer.status, 405, "{method} {path}");
        }
    }
    for (method, path) in [("GET", "/press"), ("POST", "/"), ("POST", "/events")] {
        let answer = ask(port, &own(port, cookie, method, path), "");
        assert_eq!(answer.status, 405, "{method} {path}");
        assert_eq!(answer.header("allow"), Some("GET, POST"));
    }
}

#[test]
fn two_hundred_idle_connections_keep_nobody_out() {
    let mut served = served();
    served.page.show(view());
    let (port, cookie) = (served.port, served.cookie.clone());
    let mut window = Events::open(port, &cookie);
    window.next_of("view");
    let mut idle = Vec::new();
    for number in 0..200 {
        let mut stream = connect(port);
        if number % 2 == 0 {
            let _ = stream.write_all(b"POST /press HTTP/1.1\r\nHost: ");
        }
        idle.push(stream);
    }
    let begun = Instant::now();
    assert_eq!(get(port, &cookie, "/").status, 200);
    assert_eq!(press(port, &cookie, "{\"press\":\"begin\"}").status, 204);
    let mut another = Events::open(port, &cookie);
    another.next_of("view");
    assert!(begun.elapsed() < Duration::from_secs(3), "{begun:?}");
    assert_eq!(served.presses.try_recv(), Ok(Press::Begin));
    // The window that was open all the time still hears.
    let mut later = view();
    later.done_of = [1, 1];
    served.page.show(later);
    assert_eq!(window.next_of("view")["done_of"][0], 1);
    another.close();
    drop(idle);
}

#[test]
fn a_connection_that_drips_is_closed() {
    let served = served();
    let mut stream = connect(served.port);
    let begun = Instant::now();
    stream
        .set_read_timeout(Some(Duration::from_millis(500)))
        .unwrap();
    let mut text = b"GET / HTTP/1.1\r\nX: ".to_vec();
    loop {
        let mut byte = [0];
        match stream.read(&mut byte) {
            Ok(0) => break,
            Err(error) if error.kind() == std::io::ErrorKind::ConnectionReset => break,
            // A timeout is told, or it is closed in silence.
            Ok(_) => {}
            Err(_) => {
                let _ = stream.write_all(&text);
                text = b"a".to_vec();
            }
        }
        assert!(begun.elapsed() < Duration::from_secs(25), "still open");
    }
}

#[test]
fn every_movement_is_drawn_for_each_hand_and_what_is_unclear_is_not() {
    let served = served();
    let draws = |path: &str| get(served.port, &served.cookie, &format!("/drawing/{path}"));
    for side in ["left", "right"] {
        for movement in Movement::ALL {
            let answer = draws(&format!(
                "movement.svg?movement={}&side={side}&elbow_deg=90&forearm=free&rotation=palm-up&load=0.5&load_shape=one-sided",
                movement.name()
            ));
            assert_eq!(answer.status, 200, "{movement:?}");
            assert_eq!(answer.header("content-type"), Some("image/svg+xml"));
            assert!(answer.body.starts_with("<svg"));
        }
        for path in [
            "movement.svg?plane=flexion-extension",
            "movement.svg?plane=radial-ulnar-deviation&rotation=thumb-up",
            "movement.svg?plane=pronation-supination",
            "sensor.svg?view=back",
            "sensor.svg?view=palm",
            "stretch.svg?stretch=bend-back",
            "glides.svg?",
            "care.svg?what=shaking",
            "care.svg?what=self-massage",
            "care.svg?what=breathing",
        ] {
            assert_eq!(draws(&format!("{path}&side={side}")).status, 200, "{path}");
        }
    }
    for path in [
        "movement.svg",
        "movement.svg?movement=wrist-extension&side=middle",
        "movement.svg?movement=jump&side=left",
        "movement.svg?plane=sideways&side=left",
        "stretch.svg?stretch=splits&side=left",
        "care.svg?what=nothing&side=left",
    ] {
        assert_eq!(draws(path).status, 400, "{path}");
    }
    for elbow in ["NaN", "inf", "-1e300", "1e300"] {
        let path = format!("movement.svg?movement=wrist-flexion&side=left&elbow_deg={elbow}");
        let answer = draws(&path);
        assert_eq!(answer.status, 200, "{elbow}");
        assert!(!answer.body.contains("NaN"), "{elbow}");
    }
}
