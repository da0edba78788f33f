//! Every request goes through here: who may ask, and what is answered.
//!
//! Ours. Paths are compared as they were sent, with no decoding and no folders behind them, so
//! there is nothing to climb out of. Sources: RFC 9110 (methods, Host), RFC 6265bis (SameSite,
//! HttpOnly), W3C Fetch Metadata (Sec-Fetch-Site), W3C Content Security Policy Level 3.

use std::sync::Arc;

use axum::extract::{Query, Request, State};
use axum::http::{HeaderMap, HeaderName, Method, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;

use super::app::{App, Asked};
use super::key::Key;

/// The body of a press is at most so long, bytes.
pub const BODY_MOST: usize = 16 * 1024;

/// Sent with every answer.
const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; object-src 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
];

const NO_KEY: &str = "This page belongs to one run of the program on this computer. Open the address that it printed, all of it.\n";

/// What the doors know.
pub struct Doors {
    hosts: [String; 2],
    cookie: String,
    key: Key,
    app: App,
}

#[derive(Deserialize)]
struct Keyed {
    key: String,
}

impl Doors {
    /// The doors of an app on that port.
    pub fn new(port: u16, key: Key, app: App) -> Doors {
        Doors {
            hosts: [format!("127.0.0.1:{port}"), format!("localhost:{port}")],
            // Cookies know no ports: another session's must not be mistaken for this one's.
            cookie: format!("carpotempo-{port}"),
            key,
            app,
        }
    }

    /// Why a request is refused before it is looked at.
    fn refusal(&self, method: &Method, uri: &Uri, headers: &HeaderMap) -> Option<StatusCode> {
        if !matches!(*method, Method::GET | Method::POST) {
            return Some(StatusCode::METHOD_NOT_ALLOWED);
        }
        let own = |host: &str| self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host));
        if !only(headers, &header::HOST).is_some_and(own)
            || uri.authority().is_some_and(|named| !own(named.as_str()))
        {
            return Some(StatusCode::MISDIRECTED_REQUEST);
        }
        let origin_is_own = || {
            only(headers, &header::ORIGIN)
                .and_then(|origin| origin.strip_prefix("http://"))
                .is_some_and(own)
        };
        if headers.contains_key(header::ORIGIN) && !origin_is_own() {
            return Some(StatusCode::FORBIDDEN);
        }
        let site = HeaderName::from_static("sec-fetch-site");
        let site_is_own = || matches!(only(headers, &site), Some("same-origin" | "none"));
        if headers.contains_key(&site) && !site_is_own() {
            return Some(StatusCode::FORBIDDEN);
        }
        let length = only(headers, &header::CONTENT_LENGTH);
        if length.is_some_and(|length| {
            length
                .parse()
                .is_ok_and(|long: u64| long > self.app.body_most(uri.path()) as u64)
        }) {
            return Some(StatusCode::PAYLOAD_TOO_LARGE);
        }
        None
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(name, value)| name == self.cookie && self.key.is(value))
    }

    async fn answer(&self, request: Request) -> Response {
        let (parts, body) = request.into_parts();
        if let Some(status) = self.refusal(&parts.method, &parts.uri, &parts.headers) {
            return status.into_response();
        }
        let get = parts.method == Method::GET;
        if get
            && parts.uri.path() == "/"
            && let Ok(Query(Keyed { key })) = Query::try_from_uri(&parts.uri)
        {
            return self.let_in(&key);
        }
        if !self.has_cookie(&parts.headers) {
            return (StatusCode::FORBIDDEN, NO_KEY).into_response();
        }
        let asked = Asked {
            get,
            uri: parts.uri,
            headers: parts.headers,
            body,
        };
        self.app.answer(asked).await
    }

    /// The key becomes a cookie, and leaves the address line.
    fn let_in(&self, key: &str) -> Response {
        if !self.key.is(key) {
            return (StatusCode::FORBIDDEN, NO_KEY).into_response();
        }
        let cookie = format!(
            "{}={}; Path=/; HttpOnly; SameSite=Strict",
            self.cookie,
            self.key.text()
        );
        let headers = [
            (header::SET_COOKIE, cookie),
            (header::LOCATION, "/".to_owned()),
        ];
        (StatusCode::SEE_OTHER, headers).into_response()
    }
}

/// Answers a request.
pub async fn answer(State(doors): State<Arc<Doors>>, request: Request) -> Response {
    let mut response = doors.answer(request).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        // A sheet has a policy of its own.
        if !headers.contains_key(&name) {
            headers.insert(name, header::HeaderValue::from_static(value));
        }
    }
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        let allowed = header::HeaderValue::from_static(doors.app.methods());
        response.headers_mut().insert(header::ALLOW, allowed);
    }
    response
}

/// The only value of a header; `None` where it is missing, not text, or there twice.
pub fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?;
    if values.next().is_some() {
        return None;
    }
    value.to_str().ok()
}
