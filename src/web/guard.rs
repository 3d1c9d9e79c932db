//! Answers only the browser that was given the key, and only requests that come from this page to this address.

use super::state::AppState;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// The most bytes that a request may have.
pub const LONGEST: usize = 256 * 1024;
/// The longest that a request may take.
const LONGEST_WAIT: Duration = Duration::from_secs(120);

/// The headers of every answer. They forbid content from elsewhere, styles and scripts inside a page, and framing by
/// other pages.
const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; \
         base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // Requests of the page itself say where they come from; other sites learn nothing.
    (header::REFERRER_POLICY, "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Rejects requests that do not belong here, and adds [`HEADERS`] to every answer.
pub async fn guard(State(app): State<Arc<AppState>>, request: Request, next: Next) -> Response {
    let mut answer = match turned_away(&app, &request) {
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

/// The answer to a request that goes no further; `None` if it may go on.
fn turned_away(app: &AppState, request: &Request) -> Option<Response> {
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
    if long.is_some_and(|n| n > LONGEST) {
        return no(StatusCode::PAYLOAD_TOO_LARGE, "An event file has 256 KB at most.");
    }
    let cookie = format!("headwater-{}=", app.port);
    let known = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split("; "))
        .filter_map(|pair| pair.strip_prefix(&cookie))
        .any(|kept| app.keys.is_kept(kept));
    let given = request.uri().query().and_then(|q| q.strip_prefix("key="));
    match given.filter(|_| reads && request.uri().path() == "/") {
        // Redirected so that the key does not stay in the address bar and the history.
        Some(key) if known || app.keys.spend(key) => {
            let kept = format!("{cookie}{}; Path=/; HttpOnly; SameSite=Strict", app.keys.kept());
            let to = [(header::LOCATION, "/".to_string()), (header::SET_COOKIE, kept)];
            Some((StatusCode::SEE_OTHER, to).into_response())
        }
        _ if known => None,
        _ => no(
            StatusCode::FORBIDDEN,
            "This page belongs to the browser that headwater opened it in. Open the address that the program printed; it \
             is good once. To begin anew, stop the program and start it again.",
        ),
    }
}

/// The value of a header as text; `None` unless it occurs exactly once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}
