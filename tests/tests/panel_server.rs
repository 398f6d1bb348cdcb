//! The panel's server: it answers its own page on this machine and nobody else, reaches no file, and a page that does not read holds
//! nothing up.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use valvewright_sim::panel::{Session, Start, serve};
use valvewright_sim::scenario::shipped;

/// A server in a thread of its own, ended with the value.
struct Up {
    at: SocketAddr,
    stop: Arc<AtomicBool>,
    thread: Option<std::thread::JoinHandle<std::io::Result<()>>>,
}

impl Up {
    fn new() -> Self {
        let source = shipped::source("mild_hatchback").expect("it is shipped");
        let session = Session::new(Start::of(source, false)).expect("it begins");
        let served = serve(session, IpAddr::V4(Ipv4Addr::LOCALHOST), 0).expect("a port is free");
        let (at, stop) = (served.at, Arc::new(AtomicBool::new(false)));
        let asked = Arc::clone(&stop);
        let thread = Some(std::thread::spawn(move || served.until(move || asked.load(Ordering::Relaxed))));
        Self { at, stop, thread }
    }

    fn open(&self, request: &str) -> TcpStream {
        let mut stream = TcpStream::connect(self.at).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a socket has a timeout");
        stream.write_all(request.as_bytes()).expect("it reads");
        stream
    }

    /// The whole answer.
    fn raw(&self, request: &str) -> String {
        let mut text = Vec::new();
        // A server that closes in the middle of a request that is too long has answered before.
        let _ = self.open(request).read_to_end(&mut text);
        String::from_utf8_lossy(&text).into_owned()
    }

    fn get(&self, path: &str) -> String {
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.at))
    }

    fn post(&self, headers: &str, body: &str) -> String {
        self.post_to("/do", headers, body)
    }

    fn post_to(&self, path: &str, headers: &str, body: &str) -> String {
        let (at, length) = (self.at, body.len());
        self.raw(&format!(
            "POST {path} HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\nContent-Length: {length}\r\n{headers}\r\n\r\n{body}"
        ))
    }

    fn wish(&self, body: &str) -> String {
        self.post("Content-Type: application/json", body)
    }

    /// The newest frame.
    fn frame(&self) -> serde_json::Value {
        let stream = self.open(&format!("GET /stream HTTP/1.1\r\nHost: {}\r\n\r\n", self.at));
        let mut lines = BufReader::new(stream).lines();
        loop {
            let line = lines.next().expect("a frame comes").expect("as text");
            if let Some(frame) = line.strip_prefix("data: ").filter(|frame| frame.len() > 2) {
                return serde_json::from_str(frame).expect("a frame is JSON");
            }
        }
    }

    /// A frame of which this is so, within some seconds.
    fn until(&self, so: impl Fn(&serde_json::Value) -> bool) -> serde_json::Value {
        for _ in 0..600 {
            let frame = self.frame();
            if so(&frame) {
                return frame;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("it did not come about: {}", self.frame());
    }
}

impl Drop for Up {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the server ends").expect("without trouble");
        }
    }
}

fn status(answer: &str) -> &str {
    answer.split(' ').nth(1).unwrap_or("none")
}

#[test]
fn who_is_not_this_servers_own_page_is_refused() {
    let up = Up::new();
    let (at, json) = (up.at, "Content-Type: application/json");
    let run = "{\"do\":\"run\"}";
    let host = |host: &str| up.raw(&format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));
    let port = at.port();
    let refused = [
        ("a name that leads here", host(&format!("rebound.example:{port}")), "421"),
        ("another port", host("127.0.0.1:1"), "421"),
        ("no port", host("127.0.0.1"), "421"),
        ("two names", host(&format!("127.0.0.1:{port}, evil")), "421"),
        ("another page", up.post(&format!("{json}\r\nOrigin: http://evil.example"), run), "403"),
        ("a page of a file", up.post(&format!("{json}\r\nOrigin: null"), run), "403"),
        ("the same name, another port", up.post(&format!("{json}\r\nOrigin: http://127.0.0.1:1"), run), "403"),
        ("another site, by the browser's word", up.post(&format!("{json}\r\nSec-Fetch-Site: cross-site"), run), "403"),
        ("a form", up.post("Content-Type: text/plain", run), "415"),
        ("nothing of a kind", up.post("", run), "415"),
        ("too long", up.wish(&format!("{{\"do\":\"act\",\"act\":\"{}\"}}", "x".repeat(5_000))), "413"),
        ("no JSON", up.wish("do run"), "400"),
        ("deep JSON", up.wish(&"[".repeat(4_000)), "400"),
        ("an unknown wish", up.wish("{\"do\":\"format\"}"), "400"),
        ("an unknown key", up.wish("{\"do\":\"act\",\"act\":\"reset\",\"file\":\"x\"}"), "400"),
        ("a scenario by its path", up.wish("{\"do\":\"restart\",\"scenario\":\"../../Cargo.toml\"}"), "422"),
        ("a speed below nothing", up.wish("{\"do\":\"speed\",\"x\":-1}"), "422"),
        ("a way out of the tree", up.get("/../../../etc/passwd"), "404"),
        ("the same, written otherwise", up.get("/%2e%2e/%2e%2e/etc/passwd"), "404"),
        ("an address without end", up.get(&format!("/history?from={}", "1".repeat(6_000))), "414"),
        ("no number", up.get("/history?from=x"), "400"),
        ("a page to be written", up.raw(&format!("PUT / HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n")), "405"),
    ];
    for (what, answer, wanted) in &refused {
        assert_eq!(status(answer), *wanted, "{what}: {answer}");
    }
    let frame = up.frame();
    assert_eq!(frame["t"], 0.0, "something of it was obeyed");
    assert_eq!(frame["running"], false);
    // And the page itself is answered, by both of its names.
    assert_eq!(status(&up.get("/")), "200");
    assert_eq!(status(&host(&format!("localhost:{port}"))), "200");
    assert_eq!(status(&up.post(&format!("{json}\r\nOrigin: http://{at}\r\nSec-Fetch-Site: same-origin"), run)), "200");
}

#[test]
fn the_page_needs_nothing_from_elsewhere_and_lets_no_script_in() {
    let up = Up::new();
    for path in [
        "/",
        "/panel.css",
        "/panel.js",
        "/drawing.js",
        "/trends.js",
        "/odds.js",
        "/order.js",
        "/records.js",
        "/campaign.js",
    ] {
        let answer = up.get(path);
        let (head, body) = answer.split_once("\r\n\r\n").expect("an answer has a head");
        assert_eq!(status(&answer), "200", "{path}");
        assert!(head.contains("default-src 'none'; script-src 'self'") && head.contains("nosniff"), "{path}: {head}");
        assert!(!head.contains("unsafe"), "{path}: {head}");
        let outside = body.replace("http://www.w3.org/2000/svg", "");
        assert!(!outside.contains("http://") && !outside.contains("https://"), "{path} names another server");
        for inline in ["style=\"", "onclick=", "<style", "eval(", "innerHTML", "javascript:"] {
            assert!(!body.contains(inline), "{path} has {inline}");
        }
    }
}

#[test]
fn a_fault_broken_in_the_page_trips_its_row_and_the_frame_says_so() {
    let up = Up::new();
    assert_eq!(status(&up.wish("{\"do\":\"speed\",\"x\":0}")), "200");
    assert_eq!(status(&up.wish("{\"do\":\"jump\",\"to\":\"phase\"}")), "200");
    let before = up.until(|frame| frame["running"] == false && frame["t"].as_f64() > Some(0.0));
    assert!(before["table"]["first"].is_null(), "{}", before["table"]["first"]);
    assert_eq!(status(&up.wish("{\"do\":\"act\",\"act\":\"emergency_stop\"}")), "200");
    assert_eq!(status(&up.wish("{\"do\":\"jump\",\"to\":\"trip\"}")), "200");
    let tripped = up.until(|frame| frame["running"] == false && !frame["table"]["first"].is_null());
    let row = tripped["table"]["rows"].as_array().expect("rows").iter().find(|row| row["id"] == "HS-1").expect("HS-1");
    assert_eq!(row["state"], "tripped, cause stands", "{row}");
    assert_eq!(tripped["deeds"][0]["what"], "emergency_stop");
    // In another language the same frame tells it in that one.
    assert_eq!(status(&up.wish("{\"do\":\"language\",\"to\":\"de\"}")), "200");
    assert_ne!(up.frame()["table"]["first"], tripped["table"]["first"]);
}

/// A reader that does not read gets what is newest when it does; meanwhile the run goes on and the other page is served.
#[test]
fn a_page_that_does_not_read_holds_nothing_up() {
    let up = Up::new();
    let asleep = up.open(&format!("GET /stream HTTP/1.1\r\nHost: {}\r\n\r\n", up.at));
    assert_eq!(status(&up.wish("{\"do\":\"speed\",\"x\":0}")), "200");
    assert_eq!(status(&up.wish("{\"do\":\"jump\",\"to\":\"end\"}")), "200");
    let end = up.until(|frame| frame["stand"] == "over");
    assert_eq!(end["job"]["state"], "done", "{}", end["job"]);
    let answer = up.get("/history?from=0");
    let (_, body) = answer.split_once("\r\n\r\n").expect("an answer has a head");
    assert!(body.contains("\"pt1\"") && body.len() > 100_000, "{} bytes", body.len());
    drop(asleep);
}

/// Order and records are asked for and given as all else, and an order brings in nothing but itself.
#[test]
fn order_and_records_are_refused_to_strangers_and_take_no_other_table() {
    let up = Up::new();
    let (at, json) = (up.at, "Content-Type: application/json");
    let wish = |text: &str| serde_json::json!({ "do": "order", "text": text, "begin": true }).to_string();
    let get =
        |path: &str, headers: &str| up.raw(&format!("GET {path} HTTP/1.1\r\n{headers}\r\nConnection: close\r\n\r\n"));
    let good = wish("[order]\ncharge = \"450 g\"\n");
    for path in ["/order", "/records", "/order.js", "/records.js"] {
        assert_eq!(status(&get(path, "Host: rebound.example")), "421", "{path}");
        assert_eq!(status(&get(path, &format!("Host: {at}\r\nOrigin: http://evil.example"))), "403", "{path}");
        assert_eq!(status(&get(path, &format!("Host: {at}\r\nSec-Fetch-Site: cross-site"))), "403", "{path}");
        assert_eq!(
            status(&up.raw(&format!("PUT {path} HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n"))),
            "405",
            "{path}"
        );
        assert_eq!(status(&up.get(path)), "200", "{path}");
    }
    let refused = [
        ("another page's", up.post(&format!("{json}\r\nOrigin: http://evil.example"), &good), "403"),
        ("a form's", up.post("Content-Type: text/plain", &good), "415"),
        ("too long", up.wish(&wish(&"#".repeat(4096))), "413"),
        ("without a text", up.wish("{\"do\":\"order\",\"begin\":true}"), "400"),
        ("with a file", up.wish("{\"do\":\"order\",\"text\":\"\",\"begin\":true,\"file\":\"/etc/passwd\"}"), "400"),
        ("no TOML", up.wish(&wish("[order")), "422"),
        ("nothing", up.wish(&wish("")), "422"),
        ("a station", up.wish(&wish("[order]\ncharge = \"450 g\"\n[station]\nnetwork = \"/etc/passwd\"\n")), "422"),
        (
            "a table below it",
            up.wish(&wish("[order]\ncharge = \"450 g\"\n[order.station]\nnetwork = \"/etc/passwd\"\n")),
            "422",
        ),
    ];
    for (what, answer, wanted) in &refused {
        assert_eq!(status(answer), *wanted, "{what}: {answer}");
    }
    assert_eq!(up.frame()["number"], 0, "one of them was obeyed");
    assert_eq!(status(&up.wish(&good)), "200");
    assert_eq!(up.frame()["number"], 1, "a good one was not");
    assert!(up.get("/order").contains("450 g"), "{}", up.get("/order"));
}

fn body(answer: &str) -> serde_json::Value {
    let (_, body) = answer.split_once("\r\n\r\n").expect("an answer has a head");
    serde_json::from_str(body).unwrap_or_else(|why| panic!("{why}: {answer}"))
}

/// A small campaign is begun by this server's own page alone, with words that are known, once at a time; what is wrong is said and begins none.
#[test]
fn a_campaign_is_refused_to_whoever_may_not_ask_and_for_what_is_not_there() {
    let up = Up::new();
    let json = "Content-Type: application/json";
    let begin = r#"{"do":"start","row":"I28","faults":"F070"}"#;
    let to = |headers: &str, body: &str| up.post_to("/campaign", headers, body);
    let named =
        |path: &str, host: &str| up.raw(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));
    let refused = [
        ("another page", to(&format!("{json}\r\nOrigin: http://evil.example"), begin), "403"),
        ("another site", to(&format!("{json}\r\nSec-Fetch-Site: cross-site"), begin), "403"),
        ("a form", to("Content-Type: text/plain", begin), "415"),
        ("too long", to(json, &format!(r#"{{"do":"start","row":"{}","faults":"all"}}"#, "x".repeat(5_000))), "413"),
        ("no JSON", to(json, "start"), "400"),
        ("an unknown wish", to(json, r#"{"do":"sweep","faults":"all"}"#), "400"),
        ("an unknown key", to(json, r#"{"do":"start","row":"I28","faults":"all","out":"/tmp/x"}"#), "400"),
        ("no faults", to(json, r#"{"do":"start","row":"I28"}"#), "400"),
        ("faults of another kind", to(json, r#"{"do":"start","row":"I28","faults":["F070"]}"#), "400"),
        ("nothing altered", to(json, r#"{"do":"start","faults":"all"}"#), "422"),
        ("no such row", to(json, r#"{"do":"start","row":"../../etc","faults":"all"}"#), "422"),
        ("no such fault", to(json, r#"{"do":"plan","row":"I28","faults":"../../etc/passwd"}"#), "422"),
        ("a stop of none", to(json, r#"{"do":"stop"}"#), "422"),
        ("an outcome of none", up.get("/campaign.json"), "409"),
        ("its table", up.get("/campaign.csv"), "409"),
        ("a way out of the tree", up.get("/campaign.json/../../Cargo.toml"), "404"),
        ("a name that leads here", named("/campaign", "rebound.example"), "421"),
        ("its outcome by that name", named("/campaign.json", "rebound.example"), "421"),
        (
            "a page to be written",
            up.raw(&format!("PUT /campaign HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", up.at)),
            "405",
        ),
    ];
    for (what, answer, wanted) in &refused {
        assert_eq!(status(answer), *wanted, "{what}: {answer}");
    }
    assert_eq!(body(&up.get("/campaign"))["number"], 0, "one of them was begun");
}

/// The run at hand goes on while it runs, a second is refused, and when it is over every page can have it.
#[test]
fn a_campaign_runs_beside_the_run_once_at_a_time_and_is_handed_over() {
    let up = Up::new();
    let to = |body: &str| up.post_to("/campaign", "Content-Type: application/json", body);
    let planned = to(r#"{"do":"plan","row":"I28","faults":"all"}"#);
    assert_eq!(status(&planned), "200", "{planned}");
    assert_eq!(body(&up.get("/campaign"))["stand"], "idle", "a plan begins nothing");
    assert_eq!(status(&up.wish("{\"do\":\"speed\",\"x\":100}")), "200");
    assert_eq!(status(&up.wish("{\"do\":\"run\"}")), "200");
    let began = to(r#"{"do":"start","row":"I28","faults":"all"}"#);
    assert_eq!(body(&began), body(&planned), "it does what was planned");
    let second = to(r#"{"do":"start","row":"I03","faults":"F056"}"#);
    assert_eq!(status(&second), "422", "{second}");
    assert!(second.contains("a campaign is under way"), "{second}");
    let before = up.frame()["t"].as_f64().expect("a time");
    up.until(|frame| frame["t"].as_f64() > Some(before + 20.0));
    assert_eq!(body(&up.get("/campaign"))["stand"], "runs", "the run went on only when it was over");
    assert_eq!(status(&to(r#"{"do":"stop"}"#)), "200");
    let stand = |wanted: &str| {
        for _ in 0..2_400 {
            if body(&up.get("/campaign"))["stand"] == wanted {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("never {wanted}: {}", up.get("/campaign"));
    };
    stand("stopped");
    assert_eq!(status(&up.get("/campaign.json")), "409", "a stopped one has an outcome");
    assert_eq!(status(&to(r#"{"do":"start","row":"I28","faults":"F070"}"#)), "200");
    stand("over");
    let found = up.get("/campaign.json");
    assert!(found.contains("attachment; filename=\"campaign.json\""), "{found}");
    assert!(body(&found)["said"].to_string().contains("H22"), "{found}");
    assert_eq!(found.split("\r\n\r\n").nth(1), up.get("/campaign.json").split("\r\n\r\n").nth(1));
    assert!(up.get("/campaign.csv").contains("fault,phase,step,t_s,level"), "{}", up.get("/campaign.csv"));
}
