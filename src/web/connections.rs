//! The connections of a server: how many there are, and how long they may keep it waiting.

use axum::Router;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::collections::VecDeque;
use std::future::poll_fn;
use std::net::IpAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::Poll;
use std::time::Duration;

/// The most connections at one time.
pub const MOST_CONNECTIONS: usize = 256;
/// The longest that the head of a request may take to arrive.
pub const HEAD_WITHIN: Duration = Duration::from_secs(10);

/// A connection that is open, and whether it has asked for anything.
struct Open {
    task: tokio::task::JoinHandle<()>,
    heard: Arc<AtomicBool>,
}

/// Answers requests on `listener` with `pages`, from those that are let in, until `until` is ready, and then those that have
/// already arrived.
///
/// A browser needs only a few connections. Beyond [`MOST_CONNECTIONS`] a new one takes the place of the oldest that has
/// asked for nothing yet, and is closed where there is none. Those without the head of a request within [`HEAD_WITHIN`]
/// are closed, too, so that a silent or slow client delays neither others nor the end.
pub async fn connections(
    listener: tokio::net::TcpListener,
    pages: Router,
    is_let_in: fn(IpAddr) -> bool,
    until: impl Future<Output = ()> + Send + 'static,
) {
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD_WITHIN);
    let ending = GracefulShutdown::new();
    let mut until = std::pin::pin!(until);
    let mut open: VecDeque<Open> = VecDeque::new();
    loop {
        let next = poll_fn(|cx| match until.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(None),
            Poll::Pending => listener.poll_accept(cx).map(Some),
        });
        match next.await {
            None => break,
            Some(Ok((_, from))) if !is_let_in(from.ip()) => {}
            Some(Ok((stream, _))) => {
                open.retain(|connection| !connection.task.is_finished());
                if open.len() >= MOST_CONNECTIONS {
                    let silent = open.iter().position(|connection| !connection.heard.load(Ordering::Relaxed));
                    let Some(silent) = silent.and_then(|i| open.remove(i)) else { continue };
                    silent.task.abort();
                }
                let heard = Arc::new(AtomicBool::new(false));
                let (pages, says) = (TowerToHyperService::new(pages.clone()), Arc::clone(&heard));
                let answers = service_fn(move |request| {
                    says.store(true, Ordering::Relaxed);
                    pages.call(request)
                });
                let connection = ending.watch(http.serve_connection(TokioIo::new(stream), answers));
                // A connection that breaks off needs no action here.
                let task = tokio::spawn(async { drop(connection.await) });
                open.push_back(Open { task, heard });
            }
            // Usually there are no file handles left; some become free again.
            Some(Err(_)) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
    let _ = tokio::time::timeout(HEAD_WITHIN, ending.shutdown()).await;
}
