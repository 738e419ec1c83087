//! The page that phones answer on.
//!
//! Four addresses: `/` the page, `/join` a token for a phone, `/state` what is asked, `/answer` one
//! answer. The page holds everything it needs. Nothing about a phone is kept but its random token.
//! A token is given for the code that the room's screen shows, and nothing is told or taken without
//! one; [`crate::lecture::Door`] says how fast. Addresses that phones come from are held in memory
//! for that pace alone, until the lecture ends.

use super::connections;
use super::connections::{Limits, Place};
use crate::lecture::{Door, JoinCode, Poll, Refusal, Stage, Token, Unadmitted};
use crate::play::lecture::Phones;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Extension, Json, Router};
use rand::Rng;
use serde::Deserialize;
use serde_json::json;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Instant;
use thiserror::Error;
use tokio::sync::oneshot;

const PAGE: &str = include_str!("../../../../../assets/lecture/page.html");
/// An answer is some eighty bytes.
const MOST_BYTES: usize = 512;
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

/// What requests are answered from.
#[derive(Debug, Clone)]
struct Room {
    poll: Shared,
    door: Arc<Mutex<Door<Place>>>,
    since: Instant,
}

/// Serves the page until dropped.
#[derive(Debug)]
pub struct PollServer {
    poll: Shared,
    port: u16,
    code: JoinCode,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Phones for PollServer {
    fn poll(&self) -> MutexGuard<'_, Poll> {
        self.poll()
    }

    fn code(&self) -> &JoinCode {
        &self.code
    }

    fn port(&self) -> u16 {
        self.port
    }
}

impl PollServer {
    /// Serves at every IPv4 address and at the IPv6 ones of `also` that can be had, at `port` or at
    /// any free one for 0, to phones that know the code.
    ///
    /// # Errors
    /// [`ServeError`].
    pub fn start(
        port: u16,
        code: JoinCode,
        also: &[IpAddr],
        limits: Limits,
    ) -> Result<Self, ServeError> {
        let taken = |source| ServeError::Port { port, source };
        let bind = |at: SocketAddr| {
            let listener = std::net::TcpListener::bind(at)?;
            listener.set_nonblocking(true)?;
            Ok::<_, io::Error>(listener)
        };
        let first = bind(SocketAddr::from((Ipv4Addr::UNSPECIFIED, port))).map_err(taken)?;
        let port = first.local_addr().map_err(taken)?.port();
        let mut listeners = vec![first];
        let others = also.iter().filter(|ip| ip.is_ipv6());
        listeners.extend(others.filter_map(|ip| bind(SocketAddr::new(*ip, port)).ok()));
        let poll = Shared::default();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let (stop, stopped) = oneshot::channel::<()>();
        let door = Arc::new(Mutex::new(Door::new(code.clone(), limits.pace)));
        let app = routes(Room { poll: poll.clone(), door, since: Instant::now() });
        let serve = async move {
            let listeners = listeners.into_iter().map(tokio::net::TcpListener::from_std);
            let Ok(listeners) = listeners.collect::<Result<Vec<_>, _>>() else { return };
            // A phone that keeps its connection open must not hold up the end.
            tokio::select! {
                () = connections::serve(listeners, app, limits) => {}
                _ = stopped => {}
            }
        };
        let thread = std::thread::Builder::new()
            .name("poll".to_owned())
            .spawn(move || runtime.block_on(serve))?;
        Ok(Self { poll, port, code, stop: Some(stop), thread: Some(thread) })
    }

    /// The code that phones must know.
    #[must_use]
    pub const fn code(&self) -> &JoinCode {
        &self.code
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

fn routes(room: Room) -> Router {
    Router::new()
        .route("/", get(page))
        // Browsers ask for it unasked; there is none, and that is no error.
        .route("/favicon.ico", get(|| async { StatusCode::NO_CONTENT }))
        .route("/join", post(join))
        .route("/state", get(state))
        .route("/answer", post(answer))
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .with_state(room)
}

async fn page() -> Html<&'static str> {
    Html(PAGE)
}

fn refused(status: StatusCode, why: impl ToString) -> Response {
    (status, why.to_string()).into_response()
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Knock {
    code: String,
}

async fn join(
    State(room): State<Room>,
    Extension(place): Extension<Place>,
    body: Bytes,
) -> Response {
    // What is no request to join is a try without a code.
    let typed = serde_json::from_slice::<Knock>(&body).map_or_else(|_| String::new(), |k| k.code);
    let now_s = room.since.elapsed().as_secs_f64();
    let admitted = {
        let mut door = room.door.lock().unwrap_or_else(PoisonError::into_inner);
        door.admit(place, &typed, now_s)
    };
    match admitted {
        Ok(()) => {}
        Err(error @ Unadmitted::WrongCode) => return refused(StatusCode::FORBIDDEN, error),
        Err(error @ Unadmitted::TooFast) => {
            let reply = refused(StatusCode::TOO_MANY_REQUESTS, error);
            return ([(header::RETRY_AFTER, "5")], reply).into_response();
        }
    }
    let mut bytes = [0; 16];
    rand::rng().fill_bytes(&mut bytes);
    let phone = Token::of_bytes(bytes);
    match lock(&room.poll).join(phone.clone()) {
        Ok(()) => Json(json!({ "phone": phone.to_string() })).into_response(),
        Err(error) => refused(StatusCode::SERVICE_UNAVAILABLE, error),
    }
}

#[derive(Debug, Deserialize)]
struct Asker {
    phone: String,
}

async fn state(State(room): State<Room>, Query(asker): Query<Asker>) -> Response {
    let Ok(phone) = Token::parse(&asker.phone) else {
        return refused(StatusCode::FORBIDDEN, Refusal::Stranger);
    };
    let poll = lock(&room.poll);
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

async fn answer(State(room): State<Room>, body: Bytes) -> Response {
    let given: Given = match serde_json::from_slice(&body) {
        Ok(given) => given,
        Err(error) => return refused(StatusCode::BAD_REQUEST, format!("not an answer: {error}")),
    };
    let phone = match Token::parse(&given.phone) {
        Ok(phone) => phone,
        Err(error) => return refused(StatusCode::BAD_REQUEST, error),
    };
    match lock(&room.poll).answer(&phone, given.number, given.choice) {
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
