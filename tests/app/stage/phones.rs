//! Phones in a lecture, as their browsers speak: plain HTTP on loopback.

use second_glance::app::room::lecture::phones::{Limits, PollServer};
use second_glance::lecture::JoinCode;
use second_glance::play::lecture::Phones;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::time::Duration;

/// The server of a room, at any free port.
pub fn serve(limits: Limits) -> PollServer {
    PollServer::start(0, JoinCode::of_seed(4), &[], limits).expect("a free port")
}

/// A reply: status and body.
pub fn ask(port: u16, method: &str, path: &str, body: &str) -> (u16, String) {
    let (status, _, body) = exchange(open_stream(port), method, path, body);
    (status, body)
}

pub fn open_stream(port: u16) -> TcpStream {
    TcpStream::connect((Ipv4Addr::LOCALHOST, port)).expect("the page is served")
}

/// A reply: status, head and body.
pub fn exchange(
    mut stream: TcpStream,
    method: &str,
    path: &str,
    body: &str,
) -> (u16, String, String) {
    let wait = Some(Duration::from_secs(30));
    stream.set_read_timeout(wait).expect("a timeout can be set");
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Type: \
         application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
    .expect("a request can be sent");
    let mut reply = String::new();
    // A refused body may be cut off by a reset after the reply.
    let _ = stream.read_to_string(&mut reply);
    let status = reply.split(' ').nth(1).and_then(|code| code.parse().ok());
    let (head, body) = reply.split_once("\r\n\r\n").unwrap_or_default();
    let status = status.unwrap_or_else(|| panic!("no status in {reply:?}"));
    (status, head.to_lowercase(), body.to_owned())
}

pub fn knock(code: &JoinCode) -> String {
    format!(r#"{{"code":"{code}"}}"#)
}

pub fn join(server: &dyn Phones) -> String {
    let (status, body) = ask(server.port(), "POST", "/join", &knock(server.code()));
    assert_eq!(status, 200, "{body}");
    let reply: serde_json::Value = serde_json::from_str(&body).expect("a token comes as JSON");
    reply["phone"].as_str().expect("a token is a text").to_owned()
}

pub fn answer(port: u16, phone: &str, number: u32, choice: usize) -> (u16, String) {
    let body = format!(r#"{{"phone":"{phone}","number":{number},"choice":{choice}}}"#);
    ask(port, "POST", "/answer", &body)
}

pub fn state(port: u16, phone: &str) -> serde_json::Value {
    let (status, body) = ask(port, "GET", &format!("/state?phone={phone}"), "");
    assert_eq!(status, 200, "{body}");
    serde_json::from_str(&body).expect("the state comes as JSON")
}
