//! Answers only the browser that was given the key, and only requests that come from this page to this address.

use super::layout::event_page;
use super::readings;
use super::state::AppState;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// The most bytes that a request may have, but for one that brings readings.
pub const LONGEST: usize = 256 * 1024;
/// The longest that a request may take.
const LONGEST_WAIT: Duration = Duration::from_secs(120);

/// The headers of every answer. They forbid content from elsewhere, styles and scripts inside a page, and framing by
/// other pages.
pub const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; \
         base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // Requests of the page itself say where they come from; other sites learn nothing, the key least of all.
    (header::REFERRER_POLICY, "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Rejects requests that do not belong here, takes the key off the address of the others, and adds [`HEADERS`] to every
/// answer.
pub async fn guard(State(app): State<Arc<AppState>>, mut request: Request, next: Next) -> Response {
    let mut answer = match turned_away(&app, &mut request) {
        Some(answer) => answer,
        None => match tokio::time::timeout(LONGEST_WAIT, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => (StatusCode::REQUEST_TIMEOUT, "That took too long.").into_response(),
        },
    };
    for (name, value) in HEADERS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

/// The answer to a request that goes no further; `None` if it may go on, the key taken off its address.
///
/// The key is a part of the address and not a cookie, which a browser would also send to every other port of this
/// computer.
fn turned_away(app: &AppState, request: &mut Request) -> Option<Response> {
    let headers = request.headers();
    let no = |code: StatusCode, why: &str| Some((code, why.to_string()).into_response());
    let hosts = ["127.0.0.1", "localhost"].map(|h| format!("{h}:{}", app.port));
    let host = one(headers, &header::HOST).unwrap_or_default();
    // Another site may have pointed a name of its own at this computer.
    if !hosts.iter().any(|h| h == host) {
        return no(StatusCode::MISDIRECTED_REQUEST, "This address is not served here.");
    }
    let reads = [Method::GET, Method::HEAD].contains(request.method());
    let ours = |origin: &str| hosts.iter().any(|h| origin.strip_prefix("http://") == Some(h));
    match one(headers, &header::ORIGIN) {
        Some(origin) if ours(origin) => {}
        None if reads && !headers.contains_key(header::ORIGIN) => {}
        _ => return no(StatusCode::FORBIDDEN, "Only the page itself may ask for that."),
    }
    let long = one(headers, &header::CONTENT_LENGTH).and_then(|n| n.parse::<usize>().ok());
    let (most, told) = match request.uri().path().ends_with("/keep") {
        true => (readings::MOST, "A file of readings has 8 MB at most."),
        false => (LONGEST, "An event file has 256 KB at most."),
    };
    if long.is_some_and(|n| n > most) {
        return no(StatusCode::PAYLOAD_TOO_LARGE, told);
    }
    let given = request.uri().query().and_then(|q| q.strip_prefix("key="));
    if let Some(key) = given.filter(|_| reads && request.uri().path() == "/")
        && app.keys.spend(key)
    {
        let to = format!("/{}/{}", app.keys.kept(), app.first.as_deref().map_or(String::new(), event_page));
        return Some((StatusCode::SEE_OTHER, [(header::LOCATION, to)]).into_response());
    }
    // Browsers ask for it by themselves, without the key.
    if reads && request.uri().path() == "/favicon.ico" {
        return Some(StatusCode::NO_CONTENT.into_response());
    }
    let address = request.uri().path_and_query().map_or("", |p| p.as_str());
    let rest = address.strip_prefix('/').and_then(|address| address.split_once('/'));
    let rest =
        rest.filter(|(key, _)| app.keys.is_kept(key)).and_then(|(_, rest)| format!("/{rest}").parse().ok());
    match rest {
        Some(rest) => {
            *request.uri_mut() = rest;
            None
        }
        None => no(
            StatusCode::FORBIDDEN,
            "This page belongs to the browser that headwater opened it in. Open the address that the program printed; it \
             is good once. To begin anew, stop the program and start it again.",
        ),
    }
}

/// The value of a header as text; `None` unless it occurs exactly once.
pub fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}
