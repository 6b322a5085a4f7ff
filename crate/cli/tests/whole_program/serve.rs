//! The served page: to this machine only, its own files only, with their types.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Stdio};

use super::program::{command, finish, write};

/// A running server, ended when it is dropped.
struct Server {
    child: Child,
    address: String,
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer, its headers as they were sent.
struct Answer {
    status: u16,
    head: String,
    body: String,
}

impl Answer {
    fn header(&self, name: &str) -> Option<&str> {
        let pairs = self.head.lines().filter_map(|line| line.split_once(':'));
        pairs.into_iter().find(|(key, _)| key.eq_ignore_ascii_case(name)).map(|(_, value)| value.trim())
    }
}

const FILES: [(&str, &str); 8] = [
    ("index.html", "text/html; charset=utf-8"),
    ("app.js", "text/javascript; charset=utf-8"),
    ("core.wasm", "application/wasm"),
    ("style.css", "text/css; charset=utf-8"),
    ("icon.svg", "image/svg+xml"),
    ("app.webmanifest", "application/manifest+json"),
    ("samples/one.csv", "text/csv; charset=utf-8"),
    ("samples/lot.json", "application/json"),
];

/// A folder with a page in `dist/` and a file beside it that is nobody's business.
fn site() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(dir.path().join("dist/samples")).unwrap();
    for (name, _) in FILES {
        write(dir.path(), &format!("dist/{name}"), format!("this is {name}"));
    }
    write(dir.path(), "secret.txt", "secret");
    dir
}

fn start(folder: &Path, arguments: &[&str]) -> Server {
    let mut child = command(folder)
        .args(["--folder", "dist", "--no-browser"])
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let address = line.trim().strip_prefix("The page is at http://").and_then(|a| a.strip_suffix("/?open=samples"));
    let address = address.unwrap_or_else(|| panic!("{line}")).to_owned();
    Server { child, address }
}

fn send(address: &str, request: &str) -> Answer {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap_or_else(|| panic!("{answer:?}"));
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    Answer { status, head: head.to_owned(), body: body.to_owned() }
}

fn ask(server: &Server, method: &str, target: &str) -> Answer {
    let host = &server.address;
    send(host, &format!("{method} {target} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"))
}

#[test]
fn files_come_with_their_types_and_are_never_kept_without_asking() {
    let dir = site();
    let server = start(dir.path(), &["--port", "0"]);
    assert!(server.address.starts_with("127.0.0.1:"));
    for (name, kind) in FILES {
        let answer = ask(&server, "GET", &format!("/{name}"));
        assert_eq!((answer.status, answer.header("Content-Type")), (200, Some(kind)));
        assert_eq!(answer.body, format!("this is {name}"));
        let answer = ask(&server, "HEAD", &format!("/{name}"));
        assert_eq!((answer.status, answer.body.as_str()), (200, ""));
        assert_eq!(answer.header("Content-Type"), Some(kind));
        assert_eq!(answer.header("Content-Length"), Some(format!("this is {name}").len().to_string().as_str()));
        assert_eq!(answer.header("Cache-Control"), Some("no-cache"));
        assert_eq!(answer.header("X-Content-Type-Options"), Some("nosniff"));
    }
    let answer = ask(&server, "GET", "/?open=samples");
    assert_eq!((answer.status, answer.body.as_str()), (200, "this is index.html"));
}

#[test]
fn nothing_outside_the_page_is_served() {
    let dir = site();
    let server = start(dir.path(), &["--port", "0"]);
    for target in [
        "/../secret.txt",
        "/%2e%2e/secret.txt",
        "/%2e%2e%2fsecret.txt",
        "/samples/..%2f..%2fsecret.txt",
        "/..%5csecret.txt",
        "/%252e%252e/secret.txt",
        "//etc/passwd",
        "/%2fetc%2fpasswd",
        "/%00",
        "/samples",
        "/missing.js",
    ] {
        let answer = ask(&server, "GET", target);
        assert_eq!(answer.status, 404, "{target}");
        assert_eq!(answer.header("X-Content-Type-Options"), Some("nosniff"));
        assert!(!answer.body.contains("secret") && !answer.body.contains("root:"), "{target}: {}", answer.body);
    }
}

#[test]
fn only_this_machine_by_its_own_names_and_only_for_reading() {
    let dir = site();
    let server = start(dir.path(), &["--port", "0"]);
    let (_, port) = server.address.split_once(':').unwrap();
    let as_host = |host: &str| {
        send(&server.address, &format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")).status
    };
    assert_eq!(as_host(&format!("localhost:{port}")), 200);
    for host in ["evil.example", &format!("evil.example:{port}"), "127.0.0.1.evil.example", "192.168.1.7"] {
        assert_eq!(as_host(host), 421, "{host}");
    }
    assert_eq!(send(&server.address, "GET / HTTP/1.1\r\nConnection: close\r\n\r\n").status, 400);
    for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
        let answer = ask(&server, method, "/index.html");
        assert_eq!((answer.status, answer.header("Allow")), (405, Some("GET, HEAD")), "{method}");
    }
    // On Linux all of 127/8 is this machine, and every address but the one is refused.
    if cfg!(target_os = "linux") {
        assert!(TcpStream::connect(format!("127.0.0.2:{port}")).is_err());
    }
}

#[test]
fn a_taken_port_is_told_when_it_was_asked_for_and_avoided_otherwise() {
    let dir = site();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let run = finish(command(dir.path()).args(["--folder", "dist", "--no-browser", "--port", &port]));
    assert_eq!((run.code, run.stdout.as_str()), (Some(1), ""));
    assert!(run.stderr.contains(&format!("port {port} is taken")), "{}", run.stderr);

    // Whether by this line or by somebody else: from here on the usual port is taken.
    let _usual = TcpListener::bind("127.0.0.1:6922");
    let mut server = start(dir.path(), &[]);
    assert_eq!(ask(&server, "GET", "/").status, 200);
    assert!(!server.address.ends_with(":6922"));
    server.child.kill().unwrap();
    let mut said = String::new();
    server.child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert!(said.contains("Port 6922 is taken"), "{said}");
}

#[test]
fn a_folder_without_a_page_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let run = finish(command(dir.path()).args(["--folder", ".", "--no-browser", "--port", "0"]));
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("no index.html"), "{}", run.stderr);
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it() {
    let dir = site();
    let mut server = start(dir.path(), &["--port", "0"]);
    let sent = std::process::Command::new("kill").args(["-INT", &server.child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    let ended = server.child.wait().unwrap();
    assert!(!ended.success());
    assert!(TcpStream::connect(&server.address).is_err());
}
