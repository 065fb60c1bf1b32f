//! The loopback page: a small HTTP server that shows the output folder to this computer's own browser.
//!
//! Place in the pipeline: beside the output folder, which it only ever reads. It listens on 127.0.0.1 alone, answers
//! GET and HEAD, and adds to each HTML page, on its way out, a script that reloads it when [`Server::reload`] is
//! called. The files themselves stay as they are.
//!
//! A page of any origin may send requests to a loopback address, and a foreign host name can be made to point to it. So
//! a request counts only if its Host header names this very address, and nothing outside the folder is ever read: not
//! by "..", not through a link, and not from hidden names.

#![expect(clippy::disallowed_methods, reason = "sockets, files and time are what this module is for")]

mod find;
mod request;
mod response;

use find::{Found, find};
use request::{LONGEST_HEAD, Request, read_head};
use response::{Response, head};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Connections answered at a time. Each visible page holds one for its change stream.
const MOST_CONNECTIONS: usize = 64;
const LONGEST_WAIT_FOR_WRITE: Duration = Duration::from_secs(10);
/// How often a change stream looks whether its page is still open.
const PULSE: Duration = Duration::from_millis(500);
const CHANGES: &str = "/-/changes";

/// A running server. It ends with [`Server::stop`] or when the value is dropped.
#[derive(Debug)]
pub(super) struct Server {
    address: SocketAddr,
    shared: Arc<Shared>,
    listening: Mutex<Option<JoinHandle<()>>>,
}

impl Server {
    /// Starts to serve a folder on 127.0.0.1. Port 0 takes any free port. The folder need not exist yet.
    ///
    /// # Errors
    ///
    /// What the system says if the port cannot be taken, most often because another program has it.
    pub(super) fn start(folder: PathBuf, port: u16) -> io::Result<Server> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        let shared = Arc::new(Shared { folder, port: address.port(), state: Mutex::default(), signal: Condvar::new() });
        shared.state().edition = first_edition();
        let listening = thread::Builder::new().name("loopback page".to_owned()).spawn({
            let shared = Arc::clone(&shared);
            move || listen(&listener, &shared)
        })?;
        Ok(Server { address, shared, listening: Mutex::new(Some(listening)) })
    }

    /// The address to open in a browser, as in `http://127.0.0.1:8080/`.
    #[must_use]
    pub(super) fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Tells every open page to reload. The message travels with the event, for whoever listens to the stream.
    pub(super) fn reload(&self, message: &str) {
        let mut state = self.shared.state();
        state.edition += 1;
        message.clone_into(&mut state.message);
        drop(state);
        self.shared.signal.notify_all();
    }

    /// Ends the server: no new connection is taken, open ones are closed, and the threads are waited for. Twice is as
    /// good as once.
    pub(super) fn stop(&self) {
        let listening = self.listening.lock().unwrap_or_else(PoisonError::into_inner).take();
        let Some(listening) = listening else { return };
        self.shared.state().is_stopping = true;
        self.shared.signal.notify_all();
        // `accept` waits for a connection and nothing else, so it gets one. If that fails there is nobody to wake,
        // and waiting for the thread would be for ever.
        if TcpStream::connect_timeout(&self.address, Duration::from_secs(1)).is_ok() {
            drop(listening.join());
        }
        let mut state = self.shared.state();
        for connection in state.connections.values() {
            drop(connection.shutdown(Shutdown::Both));
        }
        let deadline = Instant::now() + Duration::from_secs(2);
        while !state.connections.is_empty() && Instant::now() < deadline {
            state = self.shared.wait(state, Duration::from_millis(100));
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop();
    }
}

#[derive(Debug)]
struct Shared {
    folder: PathBuf,
    port: u16,
    state: Mutex<State>,
    /// Told when the edition changes, the server stops or a connection ends.
    signal: Condvar,
}

#[derive(Debug, Default)]
struct State {
    /// Counts the reloads. A page carries the edition it was served with, so a change between serving and listening is
    /// not missed.
    edition: u64,
    message: String,
    is_stopping: bool,
    /// A second handle of each open connection, to close it from outside.
    connections: BTreeMap<u64, TcpStream>,
    next_connection: u64,
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wait<'a>(&self, state: MutexGuard<'a, State>, at_most: Duration) -> MutexGuard<'a, State> {
        self.signal.wait_timeout(state, at_most).unwrap_or_else(PoisonError::into_inner).0
    }
}

/// Not zero but the time of day, so that a page left open while the program was started anew sees another edition and
/// reloads.
fn first_edition() -> u64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    // Whole seconds times a million leave room for a million reloads before two runs could meet.
    since.as_secs().saturating_mul(1_000_000)
}

fn listen(listener: &TcpListener, shared: &Arc<Shared>) {
    for stream in listener.incoming() {
        if shared.state().is_stopping {
            return;
        }
        match stream {
            Ok(stream) => begin_connection(stream, shared),
            // Out of file handles, say. Trying again at once would only keep a core busy.
            Err(_) => thread::sleep(Duration::from_millis(50)),
        }
    }
}

fn begin_connection(mut stream: TcpStream, shared: &Arc<Shared>) {
    let Ok(second) = stream.try_clone() else { return };
    let mut state = shared.state();
    if MOST_CONNECTIONS <= state.connections.len() {
        drop(state);
        let response =
            Response::plain("503 Service Unavailable", "Too many pages are open at once. Close some and try again.");
        drop(stream.set_write_timeout(Some(Duration::from_millis(100))));
        drop(response.send(&mut stream, true));
        return;
    }
    let number = state.next_connection;
    state.next_connection += 1;
    state.connections.insert(number, second);
    drop(state);
    let guard = Connection { shared: Arc::clone(shared), number };
    // If no thread can be had, the closure is dropped and with it the guard, which takes the connection off the list.
    drop(thread::Builder::new().name("loopback connection".to_owned()).spawn(move || {
        // A browser that goes away in the middle of an answer is no event worth telling.
        drop(answer(&mut stream, &guard.shared));
        drop(stream);
        drop(guard);
    }));
}

/// Takes a connection off the list at its end, whichever way it ends.
struct Connection {
    shared: Arc<Shared>,
    number: u64,
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.shared.state().connections.remove(&self.number);
        self.shared.signal.notify_all();
    }
}

/// Reads one request and answers it. Each connection carries one request only, so no idle one holds a thread.
fn answer(stream: &mut TcpStream, shared: &Shared) -> io::Result<()> {
    stream.set_write_timeout(Some(LONGEST_WAIT_FOR_WRITE))?;
    let (response, with_body) = match read_head(stream)? {
        None => (
            Response::plain("431 Request Header Fields Too Large", "The request is longer than this server reads."),
            true,
        ),
        Some(head) => match Request::parse(&head) {
            None => (Response::plain("400 Bad Request", "The request cannot be understood."), true),
            Some(request) => {
                let with_body = request.method != "HEAD";
                match respond(&request, shared) {
                    Answer::Response(response) => (response, with_body),
                    Answer::Changes { after } => return stream_changes(stream, shared, after, with_body),
                }
            }
        },
    };
    response.send(stream, with_body)?;
    stream.shutdown(Shutdown::Write)?;
    // Closing while the other side still sends would reset the connection, and the answer could be lost. So what comes
    // is read for a moment and thrown away.
    stream.set_read_timeout(Some(Duration::from_millis(200)))?;
    drop(io::copy(&mut stream.take(LONGEST_HEAD as u64), &mut io::sink()));
    Ok(())
}

enum Answer {
    Response(Response),
    /// The stream of changes; `after` is the edition the page has, if it says so.
    Changes {
        after: Option<u64>,
    },
}

fn respond(request: &Request<'_>, shared: &Shared) -> Answer {
    if !request.is_for(shared.port) {
        return Answer::Response(Response::plain(
            "403 Forbidden",
            "This page is for this computer only. Open it by the address that watch has printed.",
        ));
    }
    if request.method != "GET" && request.method != "HEAD" {
        let mut response = Response::plain("405 Method Not Allowed", "Pages here can only be read.");
        response.headers.push_str("Allow: GET, HEAD\r\n");
        return Answer::Response(response);
    }
    let (path, query) = request.target.split_once('?').unwrap_or((request.target, ""));
    if path == CHANGES {
        let after = query.split('&').find_map(|part| part.strip_prefix("after=")?.parse().ok());
        return Answer::Changes { after };
    }
    // Taken before the file is read: a change in between then leads to one reload too many, never to one too few.
    let edition = shared.state().edition;
    Answer::Response(match find(&shared.folder, path) {
        Found::File(path) => match Response::file(&path, edition) {
            Ok(response) => response,
            // It was there a moment ago; a publish may just be removing it.
            Err(_) => Response::missing(edition),
        },
        Found::FolderWithoutSlash => Response::moved(path),
        Found::Nothing => Response::missing(edition),
    })
}

/// Sends one `reload` event as soon as the edition is another than the page has, and ends: the page opens a new stream
/// when it has reloaded. Without `after`, the edition at this moment counts.
fn stream_changes(stream: &mut TcpStream, shared: &Shared, after: Option<u64>, with_body: bool) -> io::Result<()> {
    stream.write_all(head("200 OK", "text/event-stream", "").as_bytes())?;
    if !with_body {
        return Ok(());
    }
    let after = after.unwrap_or_else(|| shared.state().edition);
    // How long a browser waits before it asks again, in milliseconds, should the server end and come back.
    stream.write_all(b"retry: 1000\n\n")?;
    loop {
        let state = shared.state();
        if state.is_stopping {
            return Ok(());
        }
        if state.edition != after {
            let event = reload_event(&state.message);
            drop(state);
            return stream.write_all(event.as_bytes());
        }
        drop(shared.wait(state, PULSE));
        if !is_open(stream)? {
            return Ok(());
        }
    }
}

/// A line break in the message would begin another field of the event, so each line is a data field of its own.
fn reload_event(message: &str) -> String {
    let mut event = String::from("event: reload\n");
    for line in message.split(['\r', '\n']) {
        let _ = writeln!(event, "data: {line}");
    }
    event.push('\n');
    event
}

/// False once the browser has closed its side. It sends nothing on a change stream, so anything to read is ignored.
fn is_open(stream: &TcpStream) -> io::Result<bool> {
    stream.set_nonblocking(true)?;
    let peeked = stream.peek(&mut [0_u8; 1]);
    stream.set_nonblocking(false)?;
    match peeked {
        Ok(0) => Ok(false),
        Err(error) if error.kind() != io::ErrorKind::WouldBlock => Err(error),
        Ok(_) | Err(_) => Ok(true),
    }
}

#[cfg(test)]
mod tests;
