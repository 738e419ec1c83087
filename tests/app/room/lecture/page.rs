//! The page that phones answer on, spoken to as a phone's browser does: plain HTTP on loopback.

use crate::stage::phones::{answer, ask, exchange, join, knock, open_stream, serve, state};
use second_glance::app::room::lecture::phones::{Limits, PollServer};
use second_glance::lecture::{Ballot, JoinCode, Pace};
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::thread;
use std::time::{Duration, Instant};

/// As ever, but for phones that all join from this machine.
fn unhurried() -> Limits {
    Limits { pace: Pace { burst: 1000.0, per_s: 1000.0 }, ..Limits::default() }
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
    let server = serve(unhurried());
    let port = server.port();
    let phones: Vec<String> = (0..300).map(|_| join(&server)).collect();
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
fn a_browser_that_asks_for_a_picture_of_the_page_is_told_that_there_is_none() {
    let server = serve(Limits::default());
    let port = server.port();
    // No content is no error (RFC 9110, 15.3.5): nothing is said in the browser's log.
    let (status, head, body) = exchange(open_stream(port), "GET", "/favicon.ico", "");
    assert_eq!((status, body.as_str()), (204, ""), "{head}");
    // Nobody has joined by asking.
    assert_eq!(server.poll().phones(), 0);
    assert_eq!(ask(port, "GET", "/other.ico", "").0, 404);
}

#[test]
fn malformed_late_doubled_and_oversized_answers_are_refused() {
    let server = serve(Limits::default());
    let port = server.port();
    let (phone, other) = (join(&server), join(&server));
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
    let server = serve(Limits::default());
    let port = server.port();
    let (status, page) = ask(port, "GET", "/", "");
    assert_eq!(status, 200);
    for word in ["http://", "https://", "src=", "@import", "url("] {
        assert!(!page.contains(word), "{word}");
    }
    let phone = join(&server);
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
    let server = serve(Limits::default());
    let port = server.port();
    let start_at = |port| PollServer::start(port, JoinCode::of_seed(4), &[], Limits::default());
    let error = start_at(port).expect_err("the port is taken").to_string();
    assert!(error.contains(&port.to_string()) && error.contains("another port"), "{error}");
    // A browser that keeps its connection open does not hold up the end.
    let open = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).expect("the page is served");
    drop(server);
    assert!(start_at(port).is_ok());
    drop(open);
}

#[test]
fn nobody_joins_or_answers_without_the_code_and_a_phone_has_one_vote() {
    let server = serve(Limits::default());
    let port = server.port();
    server.poll().open(ballot(7));
    let code = server.code().to_string();
    let wrong = knock(&JoinCode::of_seed(5));
    let long = format!(r#"{{"code":"{code}{code}"}}"#);
    for body in ["", "{}", r#"{"code":""}"#, r#"{"code":7}"#, "[]", &wrong, &long] {
        let (status, why) = ask(port, "POST", "/join", body);
        assert_eq!((status, why.contains("code")), (403, true), "{body}: {why}");
    }
    assert_eq!(ask(port, "POST", &format!("/join?code={code}"), "").0, 403);
    for phone in [code.clone(), "0".repeat(32)] {
        assert_eq!(ask(port, "GET", &format!("/state?phone={phone}"), "").0, 403);
        assert_ne!(answer(port, &phone, 1, 0).0, 204);
    }
    assert_eq!(server.poll().phones(), 0);
    assert_eq!(server.poll().answered(), 0);

    let typed = format!(r#"{{"code":" {}"}}"#, code.to_lowercase());
    assert_eq!(ask(port, "POST", "/join", &typed).0, 200, "as people type it");
    let phone = join(&server);
    let votes: Vec<u16> = (0..100).map(|vote| answer(port, &phone, 1, vote % 7).0).collect();
    assert_eq!((votes[0], votes[1..].iter().all(|status| *status == 409)), (204, true));
    server.poll().close();
    assert_eq!(server.poll().tally().expect("closed").counts, [1, 0, 0, 0, 0, 0, 0]);
}

#[test]
fn a_machine_that_joins_as_fast_as_it_can_is_held_back_and_others_join_and_vote() {
    // A slow pace, so that the time this takes lets hardly any more in.
    let pace = Pace { burst: 20.0, per_s: 0.05 };
    let server = serve(Limits { pace, ..Limits::default() });
    let port = server.port();
    let early = join(&server);
    let flood: Vec<u16> =
        (0..200).map(|_| ask(port, "POST", "/join", &knock(server.code())).0).collect();
    let let_in = flood.iter().filter(|status| **status == 200).count();
    assert!((19..30).contains(&let_in), "{let_in}");
    assert!(flood[100..].contains(&429), "{flood:?}");
    server.poll().open(ballot(7));
    assert_eq!(answer(port, &early, 1, 3).0, 204, "who is in is not held back");
    // All of 127/8 is this machine on Linux: a phone at another address.
    #[cfg(target_os = "linux")]
    {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let stream = runtime.block_on(async {
            let socket = tokio::net::TcpSocket::new_v4().unwrap();
            socket.bind((Ipv4Addr::new(127, 0, 0, 2), 0).into()).unwrap();
            let stream = socket.connect((Ipv4Addr::LOCALHOST, port).into()).await.unwrap();
            stream.into_std().unwrap()
        });
        stream.set_nonblocking(false).unwrap();
        let (status, _, body) = exchange(stream, "POST", "/join", &knock(server.code()));
        assert_eq!(status, 200, "{body}");
        let reply: serde_json::Value = serde_json::from_str(&body).unwrap();
        assert_eq!(answer(port, reply["phone"].as_str().unwrap(), 1, 2).0, 204);
    }
}

/// Whether the other side closes within a while that is far longer than the limits of these tests.
fn is_closed(mut stream: TcpStream) -> bool {
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut rest = Vec::new();
    // A reset is an end as well; only silence is none.
    match stream.read_to_end(&mut rest) {
        Ok(_) => true,
        Err(error) => error.kind() == std::io::ErrorKind::ConnectionReset,
    }
}

#[test]
fn slow_and_idle_connections_are_closed_and_their_number_is_limited() {
    let short = Duration::from_millis(200);
    let limits = Limits { head: short, reply: short, connections: 40, ..Limits::default() };
    let server = serve(limits);
    let port = server.port();
    // Half of all connections are one address's; those above are closed at once, unheard.
    let starts =
        ["", "GET / HTTP/1.1\r\nHost: a", "POST /join HTTP/1.1\r\nContent-Length: 9\r\n\r\n{"];
    let slow: Vec<TcpStream> = (0..60)
        .map(|place| {
            let mut stream = open_stream(port);
            let _ = stream.write_all(starts[place % 3].as_bytes());
            stream
        })
        .collect();
    // One that was answered and then says nothing more.
    thread::sleep(2 * short);
    let mut idle = open_stream(port);
    idle.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").unwrap();
    assert!(slow.into_iter().all(is_closed));
    assert!(is_closed(idle));
    // There is room again.
    let begun = Instant::now();
    assert_eq!(ask(port, "GET", "/", "").0, 200);
    assert!(begun.elapsed() < Duration::from_secs(20));
    join(&server);
}

#[test]
fn one_address_holds_half_of_all_connections_at_most() {
    // So long that nothing is closed for its silence meanwhile.
    let head = Duration::from_secs(15);
    let server = serve(Limits { head, connections: 4, ..Limits::default() });
    let held: Vec<TcpStream> = (0..2).map(|_| open_stream(server.port())).collect();
    thread::sleep(Duration::from_millis(300));
    let begun = Instant::now();
    assert!(is_closed(open_stream(server.port())));
    assert!(begun.elapsed() < head / 2, "closed after {:?}", begun.elapsed());
    drop(held);
    thread::sleep(Duration::from_millis(300));
    assert_eq!(ask(server.port(), "GET", "/", "").0, 200);
}

#[test]
fn a_connection_that_goes_on_asking_has_an_end() {
    let (life, far) = (Duration::from_millis(500), Duration::from_secs(10));
    let server = serve(Limits { life, ..Limits::default() });
    let mut stream = open_stream(server.port());
    stream.set_read_timeout(Some(2 * far)).unwrap();
    let begun = Instant::now();
    let goes_on = |stream: &mut TcpStream| {
        thread::sleep(Duration::from_millis(20));
        let asked = stream.write_all(b"GET /favicon.ico HTTP/1.1\r\nHost: localhost\r\n\r\n");
        asked.is_ok() && stream.read(&mut [0; 4096]).is_ok_and(|bytes| bytes > 0)
    };
    while begun.elapsed() < far && goes_on(&mut stream) {}
    let lasted = begun.elapsed();
    assert!((life / 2..far).contains(&lasted), "{lasted:?}");
}

#[test]
fn every_answer_says_that_no_other_page_may_show_it_or_guess_its_kind() {
    let server = serve(Limits::default());
    let port = server.port();
    for (method, path, status) in [
        ("GET", "/", 200),
        ("POST", "/join", 403),
        ("GET", "/state", 400),
        ("GET", "/state?phone=x", 403),
        ("POST", "/answer", 400),
        ("GET", "/answer", 405),
        ("GET", "/elsewhere", 404),
    ] {
        let (got, head, _) = exchange(open_stream(port), method, path, "");
        assert_eq!(got, status, "{path}");
        for line in [
            "x-content-type-options: nosniff",
            "x-frame-options: deny",
            "referrer-policy: no-referrer",
            "cache-control: no-store",
            "content-security-policy: default-src 'none';",
            "frame-ancestors 'none'",
        ] {
            assert!(head.contains(line), "{method} {path} lacks {line}: {head}");
        }
    }
}
