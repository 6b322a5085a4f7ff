//! The page on a loopback address: files of one folder, to this machine only.

mod answer;
mod files;

use std::io::{self, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tiny_http::{HTTPVersion, Header, Method, Request, Response, Server};

use self::answer::{Answer, Body, answer};

/// The port that is tried first (our own choice; the number of a small triode).
pub const PORT: u16 = 6922;
/// How many ports from [`PORT`] on are tried before any free one is taken.
const PORTS_TRIED: u16 = 10;
/// Threads that answer: a page asks for a handful of files at once.
const THREADS: usize = 4;

/// Why the page could not be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port that was asked for is not free.
    #[error("port {0} is taken by another program. Leave --port out to take a free one, or name another.")]
    Taken(u16),
    /// Another reason not to listen.
    #[error("the page cannot be served on this machine: {0}")]
    Listen(io::Error),
    /// There is no page in the folder.
    #[error("there is no page in {0}: it has no index.html. Write one there with: sweepbook page DIR")]
    NoPage(String),
    /// The server ended by itself.
    #[error("the server ended: {0}")]
    Ended(String),
}

/// A port that is ours, before anything is served on it.
pub struct Listening {
    listener: TcpListener,
    /// The address it is at.
    pub address: SocketAddr,
    /// The usual port, where it was taken.
    pub instead_of: Option<u16>,
}

/// Takes the port asked for; without one [`PORT`], one of the next, or any free one.
///
/// # Errors
/// The port asked for is taken, or this machine has no loopback address.
pub fn listen(asked: Option<u16>) -> Result<Listening, ServeError> {
    let bind = |port| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    let not_free = |e: &io::Error| matches!(e.kind(), io::ErrorKind::AddrInUse | io::ErrorKind::PermissionDenied);
    let listener = match asked {
        Some(port) => {
            bind(port).map_err(|e| if not_free(&e) { ServeError::Taken(port) } else { ServeError::Listen(e) })
        }
        None => (PORT..PORT + PORTS_TRIED)
            .map(bind)
            .find(|tried| !tried.as_ref().is_err_and(not_free))
            .unwrap_or_else(|| bind(0))
            .map_err(ServeError::Listen),
    }?;
    let address = listener.local_addr().map_err(ServeError::Listen)?;
    let instead_of = (asked.is_none() && address.port() != PORT).then_some(PORT);
    Ok(Listening { listener, address, instead_of })
}

/// A folder that holds a page.
#[derive(Debug)]
pub struct Site {
    /// Its path without links, so that a file can be seen to lie inside.
    root: PathBuf,
}

impl Site {
    /// The page in a folder.
    ///
    /// # Errors
    /// There is none.
    pub fn new(folder: &Path) -> Result<Self, ServeError> {
        let no_page = || ServeError::NoPage(crate::screen::shown(folder));
        let root = folder.canonicalize().map_err(|_| no_page())?;
        if root.join("index.html").is_file() { Ok(Self { root }) } else { Err(no_page()) }
    }
}

/// Serves until the program is ended, or the server ends by itself: why it did.
pub fn run(listening: Listening, site: Site) -> ServeError {
    let server = match Server::from_listener(listening.listener, None) {
        Ok(server) => Arc::new(server),
        Err(error) => return ServeError::Ended(error.to_string()),
    };
    let site = Arc::new(site);
    for _ in 1..THREADS {
        let (server, site) = (Arc::clone(&server), Arc::clone(&site));
        std::thread::spawn(move || reply_to_all(&server, &site));
    }
    ServeError::Ended(reply_to_all(&server, &site).to_string())
}

fn reply_to_all(server: &Server, site: &Site) -> io::Error {
    loop {
        match server.recv() {
            Ok(request) => reply(request, site),
            Err(error) => return error,
        }
    }
}

/// Answers one request. A browser that went away meanwhile is no failure.
fn reply(request: Request, site: &Site) {
    let hosts: Vec<String> =
        request.headers().iter().filter(|h| h.field.equiv("Host")).map(|h| h.value.as_str().to_owned()).collect();
    let Answer { status, headers, body } = answer(request.method().as_str(), request.url(), &hosts, site);
    let headers: Vec<Header> =
        headers.iter().filter_map(|(name, value)| Header::from_bytes(name.as_bytes(), value.as_bytes()).ok()).collect();
    let _ = match body {
        Body::File(file) => {
            let length = file.metadata().ok().and_then(|m| usize::try_from(m.len()).ok());
            send(request, Response::new(status.into(), headers, file, length, None))
        }
        Body::Text(text) => {
            let length = Some(text.len());
            send(request, Response::new(status.into(), headers, io::Cursor::new(text), length, None))
        }
    };
}

/// Sends an answer as HTTP/1.0, after which the browser closes the connection.
///
/// A connection that is kept open holds one of tiny_http's threads, and where
/// several open at once its pool may count one idle thread twice and leave a
/// connection waiting for the next that closes (tiny_http 0.12, `task_pool.rs`;
/// seen here in one of four first loads). It takes no `Connection: close` from us.
fn send<R: io::Read>(request: Request, response: Response<R>) -> io::Result<()> {
    let headers = request.headers().to_vec();
    let bodiless = *request.method() == Method::Head;
    let mut writer = request.into_writer();
    response.raw_print(&mut writer, HTTPVersion(1, 0), &headers, bodiless, None)?;
    writer.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_taken_port_is_told_and_avoided() {
        let first = listen(Some(0)).unwrap();
        assert!(first.address.ip().is_loopback());
        assert!(matches!(listen(Some(first.address.port())), Err(ServeError::Taken(_))));
        let (second, third) = (listen(None).unwrap(), listen(None).unwrap());
        assert_ne!(second.address.port(), third.address.port());
        assert_eq!(third.instead_of, Some(PORT));
    }

    #[test]
    fn a_folder_without_a_page_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        assert!(matches!(Site::new(dir.path()), Err(ServeError::NoPage(_))));
        assert!(matches!(Site::new(&dir.path().join("none")), Err(ServeError::NoPage(_))));
    }
}
