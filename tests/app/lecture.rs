//! The page that phones answer on, spoken to as a phone's browser does: plain HTTP on loopback.

use second_glance::app::lecture::PollServer;
use second_glance::lecture::Ballot;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::thread;
use std::time::Duration;

/// A reply: status and body.
pub(crate) fn ask(port: u16, method: &str, path: &str, body: &str) -> (u16, String) {
    let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).expect("the page is served");
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
    let (_, body) = reply.split_once("\r\n\r\n").unwrap_or_default();
    (status.unwrap_or_else(|| panic!("no status in {reply:?}")), body.to_owned())
}

pub(crate) fn join(port: u16) -> String {
    let (status, body) = ask(port, "POST", "/join", "");
    assert_eq!(status, 200, "{body}");
    let reply: serde_json::Value = serde_json::from_str(&body).expect("a token comes as JSON");
    reply["phone"].as_str().expect("a token is a text").to_owned()
}

pub(crate) fn answer(port: u16, phone: &str, number: u32, choice: usize) -> (u16, String) {
    let body = format!(r#"{{"phone":"{phone}","number":{number},"choice":{choice}}}"#);
    ask(port, "POST", "/answer", &body)
}

pub(crate) fn state(port: u16, phone: &str) -> serde_json::Value {
    let (status, body) = ask(port, "GET", &format!("/state?phone={phone}"), "");
    assert_eq!(status, 200, "{body}");
    serde_json::from_str(&body).expect("the state comes as JSON")
}

fn ballot(choices: usize) -> Ballot {
    Ballot {
        question: "Which tooth is the restoration?".to_owned(),
        choices: (1..=choices).map(|place| place.to_string()).collect(),
        right: vec![2, 3],
    }
}

#[test]
fn three_hundred_phones_answer_at_once_and_none_is_lost() {
    let server = PollServer::start(0).expect("a free port");
    let port = server.port();
    let phones: Vec<String> = (0..300).map(|_| join(port)).collect();
    assert_eq!(server.poll().phones(), 300);
    server.poll().open(ballot(7));
    let rooms: Vec<_> = phones
        .chunks(10)
        .enumerate()
        .map(|(row, phones)| {
            let phones = phones.to_vec();
            thread::spawn(move || {
                for (seat, phone) in phones.iter().enumerate() {
                    assert_eq!(state(port, phone)["stage"], "open");
                    assert_eq!(answer(port, phone, 1, (row + seat) % 7).0, 204);
                    assert_eq!(state(port, phone)["answered"], true);
                }
            })
        })
        .collect();
    for room in rooms {
        room.join().expect("every phone was served");
    }
    server.poll().close();
    let tally = server.poll().tally().expect("a closed question has a tally");
    let mut counts = vec![0; 7];
    for row in 0..30 {
        for seat in 0..10 {
            counts[(row + seat) % 7] += 1;
        }
    }
    assert_eq!(tally.counts, counts);
    assert_eq!(tally.right_answers(), counts[2] + counts[3]);
}

#[test]
fn malformed_late_doubled_and_oversized_answers_are_refused() {
    let server = PollServer::start(0).expect("a free port");
    let port = server.port();
    let (phone, other) = (join(port), join(port));
    assert_eq!(answer(port, &phone, 0, 0).0, 410, "nothing is asked yet");
    server.poll().open(ballot(7));

    for body in [
        "",
        "{",
        "[]",
        "null",
        r#"{"phone":"x"}"#,
        r#"{"phone":"zz","number":1,"choice":0}"#,
        r#"{"phone":7,"number":1,"choice":0}"#,
        &format!(r#"{{"phone":"{phone}","number":1,"choice":-1}}"#),
        &format!(r#"{{"phone":"{phone}","number":1,"choice":1.5}}"#),
        &format!(r#"{{"phone":"{phone}","number":1,"choice":7}}"#),
        &format!(r#"{{"phone":"{phone}","number":1,"choice":1,"name":"x"}}"#),
    ] {
        let (status, why) = ask(port, "POST", "/answer", body);
        assert_eq!(status, 400, "{body}: {why}");
        assert!(!why.is_empty(), "{body}");
    }
    let stranger = "0123456789abcdef0123456789abcdef";
    assert_eq!(answer(port, stranger, 1, 0).0, 403);
    assert_eq!(answer(port, &phone, 2, 0).0, 410, "that question is not on");
    let oversized = format!(r#"{{"phone":"{phone}","number":1,"choice":{}1}}"#, " ".repeat(600));
    assert_eq!(ask(port, "POST", "/answer", &oversized).0, 413);
    assert_eq!(ask(port, "GET", "/answer", "").0, 405);
    assert_eq!(ask(port, "GET", "/elsewhere", "").0, 404);
    assert_eq!(server.poll().answered(), 0, "nothing refused has counted");

    assert_eq!(answer(port, &phone, 1, 2).0, 204);
    let (status, why) = answer(port, &phone, 1, 3);
    assert_eq!((status, why.as_str()), (409, "this phone has answered already"));
    server.poll().close();
    assert_eq!(answer(port, &other, 1, 2).0, 410, "late");
    assert_eq!(server.poll().tally().expect("closed").counts, [0, 0, 1, 0, 0, 0, 0]);
}

#[test]
fn the_page_needs_no_other_machine_and_the_solution_comes_last() {
    let server = PollServer::start(0).expect("a free port");
    let port = server.port();
    let (status, page) = ask(port, "GET", "/", "");
    assert_eq!(status, 200);
    for word in ["http://", "https://", "src=", "@import", "url("] {
        assert!(!page.contains(word), "{word}");
    }
    let phone = join(port);
    assert_eq!(state(port, &phone)["stage"], "waiting");
    server.poll().open(ballot(7));
    for stage in ["open", "closed", "revealed"] {
        let told = state(port, &phone);
        assert_eq!(told["stage"], stage);
        let solution = (told.get("counts").cloned(), told.get("right").cloned());
        let shown = (stage == "revealed")
            .then(|| (serde_json::json!([0, 0, 0, 0, 0, 0, 0]), serde_json::json!([2, 3])));
        assert_eq!(solution, shown.unzip(), "{told}");
        match stage {
            "open" => server.poll().close(),
            _ => server.poll().reveal(),
        }
    }
}

#[test]
fn a_port_in_use_is_said_and_a_stopped_server_frees_its_port() {
    let server = PollServer::start(0).expect("a free port");
    let port = server.port();
    let error = PollServer::start(port).expect_err("the port is taken").to_string();
    assert!(error.contains(&port.to_string()) && error.contains("another port"), "{error}");
    // A browser that keeps its connection open does not hold up the end.
    let open = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).expect("the page is served");
    drop(server);
    assert!(PollServer::start(port).is_ok());
    drop(open);
}
