//! What is answered to a request: a file of the page, or why not.

use std::fs::File;

use super::Site;
use super::files::{content_type, locate};

/// The names under which a browser on this machine may ask. Any other name is
/// one that a foreign site made point here (DNS rebinding; OWASP and W3C name
/// the check of the Host header as the remedy, from memory).
const HOSTS: [&str; 2] = ["127.0.0.1", "localhost"];

/// Sent with every answer: always ask again (the service worker does the
/// keeping), take the type as it is said, and never stand in a foreign frame.
const ALWAYS: [(&str, &str); 5] = [
    ("Cache-Control", "no-cache"),
    ("X-Content-Type-Options", "nosniff"),
    ("Content-Security-Policy", "frame-ancestors 'none'"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Referrer-Policy", "no-referrer"),
];

/// An answer before it is sent.
pub(super) struct Answer {
    pub(super) status: u16,
    pub(super) headers: Vec<(&'static str, &'static str)>,
    pub(super) body: Body,
}

/// What an answer carries.
pub(super) enum Body {
    File(File),
    Text(&'static str),
}

/// Answers a request by its method, its target as sent, and its Host headers.
pub(super) fn answer(method: &str, target: &str, hosts: &[String], site: &Site) -> Answer {
    match hosts {
        [] => return refuse(400, "The request names no host.\n"),
        [host] if is_ours(host) => {}
        _ => return refuse(421, "This page is served to this machine only, as 127.0.0.1 or localhost.\n"),
    }
    if !matches!(method, "GET" | "HEAD") {
        let mut answer = refuse(405, "Files are only read here.\n");
        answer.headers.push(("Allow", "GET, HEAD"));
        return answer;
    }
    let Some((path, file)) = locate(&site.root, target).and_then(|path| Some((path.clone(), File::open(path).ok()?)))
    else {
        return refuse(404, "There is no such file.\n");
    };
    let mut headers = ALWAYS.to_vec();
    headers.push(("Content-Type", content_type(&path)));
    Answer { status: 200, headers, body: Body::File(file) }
}

fn refuse(status: u16, why: &'static str) -> Answer {
    let mut headers = ALWAYS.to_vec();
    headers.push(("Content-Type", "text/plain; charset=utf-8"));
    Answer { status, headers, body: Body::Text(why) }
}

/// Whether a Host header names this machine, whatever the port: a tunnel to it
/// may have another.
fn is_ours(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
        _ => host,
    };
    HOSTS.iter().any(|ours| name.eq_ignore_ascii_case(ours))
}

#[cfg(test)]
mod tests {
    use super::is_ours;

    #[test]
    fn only_this_machine_is_a_host() {
        for host in ["127.0.0.1", "127.0.0.1:6922", "localhost", "LocalHost:80"] {
            assert!(is_ours(host), "{host}");
        }
        for host in ["", "example.org", "localhost.example.org:6922", "127.0.0.1.example.org", "0.0.0.0", "127.0.0.1:x"]
        {
            assert!(!is_ours(host), "{host}");
        }
    }
}
