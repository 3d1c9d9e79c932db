//! Who is answered: the one browser that was handed the key, speaking to this address from this page.

use super::state::AppState;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// No event is longer than this, bytes.
pub const LONGEST: usize = 256 * 1024;
/// Nothing takes longer than this.
const LONGEST_WAIT: Duration = Duration::from_secs(120);

/// What every answer carries. Nothing comes from elsewhere, no style or script stands in a page itself, and no other page
/// may frame this one.
const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; form-action 'self'; \
         base-uri 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // A form of the page says where it comes from; nobody else is told.
    (header::REFERRER_POLICY, "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Turns away what does not belong here, and dresses every answer.
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

/// The answer to what goes no further.
fn turned_away(app: &AppState, request: &Request) -> Option<Response> {
    let headers = request.headers();
    let no = |code: StatusCode, why: &str| Some((code, why.to_string()).into_response());
    let hosts = ["127.0.0.1", "localhost"].map(|h| format!("{h}:{}", app.port));
    let host = one(headers, &header::HOST).unwrap_or_default();
    // A name that another site has pointed at this computer is not ours.
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
        // The key leaves the address bar, and with it the history.
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

/// A header that stands there once, as text.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}
