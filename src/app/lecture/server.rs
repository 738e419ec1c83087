//! The page that phones answer on.
//!
//! Four addresses: `/` the page, `/join` a token for a phone, `/state` what is asked, `/answer` one
//! answer. The page holds everything it needs. Nothing about a phone is kept but its random token.

use crate::lecture::{Poll, Refusal, Stage, Token};
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use rand::Rng;
use serde::Deserialize;
use serde_json::json;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use thiserror::Error;
use tokio::sync::oneshot;

const PAGE: &str = include_str!("../../../assets/lecture/page.html");
/// An answer is some eighty bytes.
const MOST_BYTES: usize = 512;
/// Only what the page itself holds may run, and it may talk to this machine only.
const CONTENT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; \
                              script-src 'unsafe-inline'; connect-src 'self'";

/// Why the page cannot be served.
#[derive(Debug, Error)]
pub enum ServeError {
    /// The port is taken or not allowed.
    #[error("the page for phones cannot be served at port {port}: {source}; choose another port")]
    Port {
        /// The port.
        port: u16,
        /// Why.
        source: io::Error,
    },
    /// The machine gives no thread.
    #[error("the page for phones cannot be served: {0}")]
    Thread(#[from] io::Error),
}

type Shared = Arc<Mutex<Poll>>;

/// Serves the page until dropped.
#[derive(Debug)]
pub struct PollServer {
    poll: Shared,
    port: u16,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl PollServer {
    /// Serves on every interface at `port`, or at any free one for 0.
    ///
    /// # Errors
    /// [`ServeError`].
    pub fn start(port: u16) -> Result<Self, ServeError> {
        let taken = |source| ServeError::Port { port, source };
        let listener = std::net::TcpListener::bind(SocketAddr::from((Ipv4Addr::UNSPECIFIED, port)))
            .map_err(taken)?;
        listener.set_nonblocking(true).map_err(taken)?;
        let port = listener.local_addr().map_err(taken)?.port();
        let poll = Shared::default();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let (stop, stopped) = oneshot::channel::<()>();
        let app = routes(poll.clone());
        let serve = async move {
            let Ok(listener) = tokio::net::TcpListener::from_std(listener) else { return };
            // A phone that keeps its connection open must not hold up the end.
            tokio::select! {
                _ = axum::serve(listener, app) => {}
                _ = stopped => {}
            }
        };
        let thread = std::thread::Builder::new()
            .name("poll".to_owned())
            .spawn(move || runtime.block_on(serve))?;
        Ok(Self { poll, port, stop: Some(stop), thread: Some(thread) })
    }

    /// The port it is served at.
    #[must_use]
    pub const fn port(&self) -> u16 {
        self.port
    }

    /// The room's question and answers, locked for the caller. Hold it briefly.
    pub fn poll(&self) -> MutexGuard<'_, Poll> {
        lock(&self.poll)
    }
}

impl Drop for PollServer {
    fn drop(&mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// A poll is never left half changed, so a panic elsewhere does not spoil it.
fn lock(poll: &Shared) -> MutexGuard<'_, Poll> {
    poll.lock().unwrap_or_else(PoisonError::into_inner)
}

fn routes(poll: Shared) -> Router {
    Router::new()
        .route("/", get(page))
        // Browsers ask for it unasked; there is none, and that is no error.
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route("/join", post(join))
        .route("/state", get(state))
        .route("/answer", post(answer))
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .with_state(poll)
}

async fn page() -> impl IntoResponse {
    let mut headers = HeaderMap::new();
    let policy = HeaderValue::from_static(CONTENT_POLICY);
    headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    (headers, Html(PAGE))
}

fn refused(status: StatusCode, why: impl ToString) -> Response {
    (status, why.to_string()).into_response()
}

async fn join(State(poll): State<Shared>) -> Response {
    let mut bytes = [0; 16];
    rand::rng().fill_bytes(&mut bytes);
    let phone = Token::of_bytes(bytes);
    match lock(&poll).join(phone.clone()) {
        Ok(()) => Json(json!({ "phone": phone.to_string() })).into_response(),
        Err(error) => refused(StatusCode::SERVICE_UNAVAILABLE, error),
    }
}

#[derive(Debug, Deserialize)]
struct Asker {
    phone: String,
}

async fn state(State(poll): State<Shared>, Query(asker): Query<Asker>) -> Response {
    let Ok(phone) = Token::parse(&asker.phone) else {
        return refused(StatusCode::FORBIDDEN, Refusal::Stranger);
    };
    let poll = lock(&poll);
    if !poll.knows(&phone) {
        return refused(StatusCode::FORBIDDEN, Refusal::Stranger);
    }
    let asked = poll.stage() != Stage::Waiting;
    let ballot = poll.ballot();
    let mut told = json!({
        "stage": poll.stage().name(),
        "number": poll.number(),
        "question": if asked { ballot.question.as_str() } else { "" },
        "choices": if asked { ballot.choices.as_slice() } else { &[] },
        "answered": poll.has_answered(&phone),
    });
    // Nobody learns how others answered, or what is right, before it is on the screen in front.
    if poll.stage() == Stage::Revealed
        && let Some(tally) = poll.tally()
    {
        told["counts"] = json!(tally.counts);
        told["right"] = json!(tally.right);
    }
    Json(told).into_response()
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Given {
    phone: String,
    number: u32,
    choice: usize,
}

async fn answer(State(poll): State<Shared>, body: Bytes) -> Response {
    let given: Given = match serde_json::from_slice(&body) {
        Ok(given) => given,
        Err(error) => return refused(StatusCode::BAD_REQUEST, format!("not an answer: {error}")),
    };
    let phone = match Token::parse(&given.phone) {
        Ok(phone) => phone,
        Err(error) => return refused(StatusCode::BAD_REQUEST, error),
    };
    match lock(&poll).answer(&phone, given.number, given.choice) {
        Ok(()) => StatusCode::NO_CONTENT.into_response(),
        Err(error) => {
            let status = match error {
                Refusal::Stranger => StatusCode::FORBIDDEN,
                Refusal::NoSuchChoice { .. } => StatusCode::BAD_REQUEST,
                Refusal::OtherQuestion { .. } | Refusal::NotOpen => StatusCode::GONE,
                Refusal::Answered => StatusCode::CONFLICT,
            };
            refused(status, error)
        }
    }
}
