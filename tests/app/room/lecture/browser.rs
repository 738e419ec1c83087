//! The page for phones in a real browser: Chromium without a window, told what to do through the
//! pipe of its own debugging protocol.

use crate::stage::phones::serve;
use second_glance::app::room::lecture::phones::Limits;
use second_glance::lecture::Ballot;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

/// Long enough for a browser on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

struct Browser {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    next_id: u64,
    session: Option<String>,
}

impl Browser {
    /// A phone-sized browser with a profile folder of its own.
    fn start(profile: &Path) -> Self {
        // The protocol is spoken on descriptors 3 and 4: here, the child's input and output.
        let command = "exec chromium --headless --no-sandbox --disable-gpu --no-first-run \
                       --disable-extensions --disable-background-networking --window-size=390,780 \
                       --remote-debugging-pipe --user-data-dir=\"$0\" about:blank \
                       3<&0 4>&1 0</dev/null 1>/dev/null 2>/dev/null";
        let mut child = Command::new("sh")
            .args(["-c", command])
            .arg(profile)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("a shell starts");
        let to = child.stdin.take().unwrap();
        let from = BufReader::new(child.stdout.take().unwrap());
        Self { child, to, from, next_id: 0, session: None }
    }

    /// Asks for something and waits for the reply.
    fn call(&mut self, method: &str, params: Value) -> Value {
        self.next_id += 1;
        let mut request = json!({ "id": self.next_id, "method": method, "params": params });
        if let Some(session) = &self.session {
            request["sessionId"] = json!(session);
        }
        self.to
            .write_all(format!("{request}\0").as_bytes())
            .expect("Chromium is installed and runs");
        self.to.flush().unwrap();
        loop {
            let mut message = Vec::new();
            let read = self.from.read_until(0, &mut message).unwrap();
            assert!(read > 0, "Chromium ended while {method} was asked for");
            message.pop();
            let message: Value = serde_json::from_slice(&message).unwrap();
            if message["id"] == json!(self.next_id) {
                assert!(message.get("error").is_none(), "{method}: {message}");
                return message["result"].clone();
            }
        }
    }

    fn open(&mut self, address: &str) {
        let target = self.call("Target.createTarget", json!({ "url": address }));
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        let session = self.call("Target.attachToTarget", attach);
        self.session = session["sessionId"].as_str().map(str::to_owned);
        self.call("Emulation.setTouchEmulationEnabled", json!({ "enabled": true }));
    }

    /// The value of an expression in the page.
    fn value(&mut self, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "returnByValue": true });
        self.call("Runtime.evaluate", asked)["result"]["value"].clone()
    }

    fn until(&mut self, what: &str, expression: &str) {
        let start = Instant::now();
        while self.value(expression) != json!(true) {
            let page = self.value("document.body && document.body.innerText");
            assert!(start.elapsed() < PATIENCE, "never: {what}; the page says {page}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// A finger on the button with this place.
    fn tap(&mut self, place: usize) {
        let corner = format!(
            "(() => {{ const r = document.querySelectorAll('#choices button')[{place}]
                .getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()"
        );
        let at = self.value(&corner);
        let point = json!([{ "x": at[0], "y": at[1] }]);
        self.call(
            "Input.dispatchTouchEvent",
            json!({ "type": "touchStart", "touchPoints": point }),
        );
        self.call("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] }));
    }

    /// Keeps a picture of the page, if pictures are wanted.
    fn picture(&mut self, name: &str) {
        let Some(folder) = std::env::var_os("SECOND_GLANCE_SCREENS") else { return };
        let shot = self.call("Page.captureScreenshot", json!({ "format": "png" }));
        let data = from_base64(shot["data"].as_str().unwrap_or_default());
        std::fs::write(Path::new(&folder).join(name), data).unwrap();
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// RFC 4648, section 4.
fn from_base64(text: &str) -> Vec<u8> {
    const DIGITS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digits = text.bytes().filter_map(|b| DIGITS.iter().position(|d| *d == b));
    let (mut bytes, mut held, mut bits) = (Vec::new(), 0_u32, 0);
    for digit in digits {
        held = (held << 6 | digit as u32) & 0xFFFF;
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits) as u8);
        }
    }
    bytes
}

#[test]
#[ignore = "needs Chromium"]
fn a_finger_on_a_phone_answers_and_sees_the_tally_only_after_the_solution() {
    let profile = tempfile::tempdir().unwrap();
    let server = serve(Limits::default());
    let mut browser = Browser::start(profile.path());
    // Without a code, or with a wrong one, the page asks for it.
    browser.open(&format!("http://127.0.0.1:{}/?code=AAAAA", server.port()));
    browser.until("a field for the code", "!document.getElementById('door').hidden");
    assert_eq!(server.poll().phones(), 0);
    browser.picture("phone-code.png");
    let type_and_join = format!(
        "document.getElementById('code').value = '{}'; document.getElementById('enter').click()",
        server.code().to_string().to_lowercase()
    );
    browser.value(&type_and_join);
    browser.until("joined", "document.getElementById('question').textContent.startsWith('Look')");
    assert_eq!(server.poll().phones(), 1);
    browser.picture("phone-waiting.png");

    let mut choices: Vec<String> = (1..=10).map(|place| place.to_string()).collect();
    choices.push("None".to_owned());
    let question = "Which tooth is the restoration?".to_owned();
    server.poll().open(Ballot { question, choices, right: vec![3, 4] });
    browser.until("eleven choices", "document.querySelectorAll('#choices button').length === 11");
    browser.picture("phone-asked.png");
    // Targets for fingers: 44 CSS pixels at least (WCAG 2.2, success criterion 2.5.5).
    let large = "[...document.querySelectorAll('#choices button')].every(b => { const r = \
                 b.getBoundingClientRect(); return r.width >= 44 && r.height >= 44; })";
    assert_eq!(browser.value(large), json!(true));
    browser.tap(3);
    browser.until("taken", "document.getElementById('said').textContent === 'Your answer is in.'");
    assert_eq!(server.poll().answered(), 1);
    assert_eq!(server.poll().tally(), None);
    // A second finger changes nothing.
    browser.tap(5);
    browser.picture("phone-answered.png");

    server.poll().close();
    browser.until("closed", "document.getElementById('said').textContent.includes('closed')");
    let counts = "document.querySelectorAll('.count, .right').length";
    assert_eq!(browser.value(counts), json!(0), "nothing of the solution before it is revealed");
    let tally = server.poll().tally().unwrap();
    assert_eq!((tally.counts[3], tally.answers(), tally.right_answers()), (1, 1, 1));

    server.poll().reveal();
    browser.until("the tally", "document.querySelectorAll('.count').length === 11");
    let said = browser.value("document.getElementById('said').textContent");
    assert_eq!(said, json!("1 of 1 answers were right."));
    assert_eq!(browser.value("document.querySelectorAll('button.right').length"), json!(2));
    let fourth = browser.value("document.querySelectorAll('.count')[3].textContent");
    assert_eq!(fourth, json!("\u{2713} 1"));
    browser.picture("phone-revealed.png");

    // Loaded again, the page is the same phone.
    browser.call("Page.reload", json!({}));
    browser.until("the tally", "document.querySelectorAll('.count').length === 11");
    assert_eq!(server.poll().phones(), 1);
}
