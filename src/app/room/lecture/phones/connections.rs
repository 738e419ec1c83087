//! Connections of phones: taken up to a number, and none kept that does not speak.
//!
//! A connection must bring the head of its next request within a time, so that one that is slow or
//! idle is closed; phones ask every second and reconnect unnoticed. One address may hold half of
//! all connections: a room may sit behind one, and others must still get in.

use crate::lecture::Pace;
use axum::Router;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::net::{IpAddr, Ipv6Addr};
use std::pin::pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::{sleep, timeout};

/// Only what the page itself holds may run, it may talk to this machine only, and no other page may
/// show it inside its own.
const CONTENT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; \
                              script-src 'unsafe-inline'; connect-src 'self'; base-uri 'none'; \
                              form-action 'none'; frame-ancestors 'none'";
const HEADERS: [(HeaderName, &str); 5] = [
    (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
];
/// Pause after the system gave no connection, as when it has no more descriptors.
const NO_MORE: Duration = Duration::from_millis(100);

/// What phones are held to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Time for the head of a request, from the connection's start or the last reply.
    pub head: Duration,
    /// Time for the rest of a request and its reply.
    pub reply: Duration,
    /// Time that a connection is kept at most.
    pub life: Duration,
    /// Connections at once. Some systems give a program 1024 descriptors in all, unless asked.
    pub connections: usize,
    /// Joining.
    pub pace: Pace,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            head: Duration::from_secs(8),
            reply: Duration::from_secs(5),
            life: Duration::from_secs(600),
            connections: 800,
            pace: Pace::default(),
        }
    }
}

/// Where a request comes from: an IPv4 address, or the network of an IPv6 one, since a device draws
/// as many addresses of its network (64 bits, RFC 4291) as it likes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Place(IpAddr);

impl Place {
    fn of(ip: IpAddr) -> Self {
        Self(match ip.to_canonical() {
            IpAddr::V6(ip) => Ipv6Addr::from_bits(ip.to_bits() >> 64 << 64).into(),
            ip => ip,
        })
    }
}

/// Connections that are open, by place.
#[derive(Debug, Clone, Default)]
struct Open(Arc<Mutex<BTreeMap<Place, usize>>>);

impl Open {
    /// One more from a place, unless it has `most`.
    fn one_more(&self, place: Place, most: usize) -> Option<OpenOne> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let count = open.entry(place).or_insert(0);
        (*count < most).then(|| {
            *count += 1;
            OpenOne(self.clone(), place)
        })
    }
}

/// Counts while it lives.
#[derive(Debug)]
struct OpenOne(Open, Place);

impl Drop for OpenOne {
    fn drop(&mut self) {
        let mut open = self.0.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.1) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.1);
            }
        }
    }
}

/// Answers phones at these listeners until dropped.
pub(crate) async fn serve(listeners: Vec<TcpListener>, app: Router, limits: Limits) {
    let all = Arc::new(Semaphore::new(limits.connections));
    let open = Open::default();
    let mut accepting = tokio::task::JoinSet::new();
    for listener in listeners {
        accepting.spawn(accept(listener, app.clone(), limits, all.clone(), open.clone()));
    }
    while accepting.join_next().await.is_some() {}
}

async fn accept(
    listener: TcpListener,
    app: Router,
    limits: Limits,
    all: Arc<Semaphore>,
    open: Open,
) {
    loop {
        // Whoever comes when all are taken waits until one is closed.
        let Ok(permit) = all.clone().acquire_owned().await else { return };
        let Ok((stream, from)) = listener.accept().await else {
            sleep(NO_MORE).await;
            continue;
        };
        let place = Place::of(from.ip());
        let most = limits.connections.div_ceil(2);
        let Some(one) = open.one_more(place, most) else { continue };
        let app = app.clone();
        tokio::spawn(async move {
            talk(stream, place, app, limits).await;
            drop((one, permit));
        });
    }
}

/// Serves one connection, for a time.
async fn talk(stream: TcpStream, place: Place, app: Router, limits: Limits) {
    let routes = TowerToHyperService::new(app);
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(place);
        let reply = timeout(limits.reply, routes.call(request));
        async move {
            let reply = match reply.await {
                Ok(Ok(reply)) => reply,
                Ok(Err(never)) => match never {},
                Err(_) => StatusCode::REQUEST_TIMEOUT.into_response(),
            };
            Ok::<_, Infallible>(with_headers(reply))
        }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(limits.head)
        .serve_connection(TokioIo::new(stream), service);
    let mut connection = pin!(connection);
    tokio::select! {
        _ = connection.as_mut() => return,
        () = sleep(limits.life) => {}
    }
    connection.as_mut().graceful_shutdown();
    let _ = timeout(limits.reply, connection).await;
}

fn with_headers(mut reply: Response) -> Response {
    for (name, value) in HEADERS {
        reply.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    reply
}
