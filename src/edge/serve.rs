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

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Read, Write};
use std::net::{Ipv4Addr, Shutdown, SocketAddr, TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Connections answered at a time. Each visible page holds one for its change stream.
const MOST_CONNECTIONS: usize = 64;
/// Bytes of request line and headers together.
const LONGEST_HEAD: usize = 16 * 1024;
/// A browser on the same computer sends its request at once; whoever takes longer holds a thread for nothing.
const LONGEST_WAIT_FOR_HEAD: Duration = Duration::from_secs(5);
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

/// Reads up to the empty line that ends the headers; none if they are too long.
fn read_head(stream: &mut TcpStream) -> io::Result<Option<Vec<u8>>> {
    let deadline = Instant::now() + LONGEST_WAIT_FOR_HEAD;
    let mut head = Vec::new();
    let mut buffer = [0_u8; 4096];
    loop {
        let left = deadline.saturating_duration_since(Instant::now());
        if left.is_zero() {
            return Err(io::ErrorKind::TimedOut.into());
        }
        stream.set_read_timeout(Some(left))?;
        let n_read = stream.read(&mut buffer)?;
        if n_read == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        // The end may lie across two reads, so the search begins a little before the new bytes.
        let from = head.len().saturating_sub(3);
        head.extend_from_slice(buffer.get(..n_read).unwrap_or_default());
        let end = head.get(from..).and_then(|new| new.windows(4).position(|four| four == b"\r\n\r\n"));
        if let Some(end) = end {
            head.truncate(from + end);
            return Ok((head.len() <= LONGEST_HEAD).then_some(head));
        }
        if LONGEST_HEAD < head.len() {
            return Ok(None);
        }
    }
}

struct Request<'a> {
    method: &'a str,
    /// Path and query as sent, beginning with a slash.
    target: &'a str,
    /// The Host headers, of which there must be one.
    hosts: Vec<&'a str>,
}

impl Request<'_> {
    fn parse(head: &[u8]) -> Option<Request<'_>> {
        let head = str::from_utf8(head).ok()?;
        let mut lines = head.split("\r\n");
        let mut words = lines.next()?.split(' ');
        let (method, target, version) = (words.next()?, words.next()?, words.next()?);
        // Only the plain form of a target is taken; one with a host of its own would go round the Host header.
        if words.next().is_some() || !version.starts_with("HTTP/1.") || !target.starts_with('/') {
            return None;
        }
        if target.contains(char::is_control) {
            return None;
        }
        let mut hosts = Vec::new();
        for line in lines {
            let (name, value) = line.split_once(':')?;
            if name.eq_ignore_ascii_case("host") {
                hosts.push(value.trim_matches([' ', '\t']));
            }
        }
        Some(Request { method, target, hosts })
    }

    /// True if the browser believes to talk to this address. A foreign name that points here is refused by this.
    fn is_for(&self, port: u16) -> bool {
        let [host] = self.hosts.as_slice() else { return false };
        let (name, port_given) = match host.rsplit_once(':') {
            Some((name, digits)) => (name, digits == port.to_string()),
            // 80 is the port a browser does not write.
            None => (*host, port == 80),
        };
        port_given && (name == "127.0.0.1" || name.eq_ignore_ascii_case("localhost"))
    }
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

enum Found {
    File(PathBuf),
    FolderWithoutSlash,
    Nothing,
}

/// Finds the file for the path of a request. What is outside the folder, hidden, or no plain file counts as not there.
fn find(folder: &Path, path: &str) -> Found {
    let Some(relative) = decode(path) else { return Found::Nothing };
    // Links are resolved before the comparison, so one that leads out is found out.
    let Ok(root) = folder.canonicalize() else { return Found::Nothing };
    let Ok(mut target) = root.join(relative).canonicalize() else { return Found::Nothing };
    if target.is_dir() {
        if !path.ends_with('/') {
            return if is_inside(&root, &target) { Found::FolderWithoutSlash } else { Found::Nothing };
        }
        match target.join("index.html").canonicalize() {
            Ok(index) => target = index,
            Err(_) => return Found::Nothing,
        }
    } else if path.ends_with('/') {
        return Found::Nothing;
    }
    // `is_file` also keeps from opening a pipe, which would wait for ever.
    if is_inside(&root, &target) && target.is_file() { Found::File(target) } else { Found::Nothing }
}

fn is_inside(root: &Path, target: &Path) -> bool {
    target.strip_prefix(root).is_ok_and(|inside| {
        inside.components().all(|component| match component {
            Component::Normal(name) => !name.as_encoded_bytes().starts_with(b"."),
            Component::Prefix(_) | Component::RootDir | Component::CurDir | Component::ParentDir => false,
        })
    })
}

/// Turns the path of a request into a relative path of plain, visible names; none if it is anything else.
fn decode(path: &str) -> Option<PathBuf> {
    let mut relative = PathBuf::new();
    let inner = path.strip_prefix('/')?;
    // One slash at the end names a folder. Empty names anywhere else are refused.
    let inner = inner.strip_suffix('/').unwrap_or(inner);
    if inner.is_empty() {
        return (path == "/").then_some(relative);
    }
    for part in inner.split('/') {
        let name = percent_decode(part)?;
        if name.is_empty() || name.starts_with('.') || name.contains(['/', '\\', '\0']) {
            return None;
        }
        // A drive letter, where there are such, is not a plain name either.
        let mut components = Path::new(&name).components();
        if !matches!((components.next(), components.next()), (Some(Component::Normal(_)), None)) {
            return None;
        }
        relative.push(name);
    }
    Some(relative)
}

fn percent_decode(part: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(part.len());
    let mut rest = part.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let high = char::from(rest.next()?).to_digit(16)?;
            let low = char::from(rest.next()?).to_digit(16)?;
            bytes.push(u8::try_from(high * 16 + low).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

struct Response {
    status: &'static str,
    content_type: &'static str,
    /// Further header lines, each with its end.
    headers: String,
    body: Body,
}

enum Body {
    Bytes(Vec<u8>),
    /// An open file and its length in bytes. Open already, so that a publish in the meantime cannot mix two files.
    File(File, u64),
}

impl Response {
    fn plain(status: &'static str, sentence: &str) -> Response {
        Response {
            status,
            content_type: "text/plain; charset=utf-8",
            headers: String::new(),
            body: Body::Bytes(format!("{sentence}\n").into_bytes()),
        }
    }

    fn html(status: &'static str, page: Vec<u8>, edition: u64) -> Response {
        let body = Body::Bytes(with_script(page, edition));
        Response { status, content_type: "text/html; charset=utf-8", headers: String::new(), body }
    }

    fn file(path: &Path, edition: u64) -> io::Result<Response> {
        let mut file = File::open(path)?;
        let content_type = content_type(path);
        if content_type.starts_with("text/html") {
            let mut page = Vec::new();
            file.read_to_end(&mut page)?;
            return Ok(Response::html("200 OK", page, edition));
        }
        let length = file.metadata()?.len();
        Ok(Response { status: "200 OK", content_type, headers: String::new(), body: Body::File(file, length) })
    }

    /// A page too, not a bare line: it reloads itself, so the page one waits for appears once it is written.
    fn missing(edition: u64) -> Response {
        const PAGE: &str = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
            <meta name=\"viewport\" content=\"width=device-width\">\n<title>No such page</title>\n\
            <style>body { max-width: 40rem; margin: 3rem auto; padding: 0 1rem; font: 17px/1.6 Georgia, serif; color-scheme: light dark }</style>\n\
            </head>\n<body>\n<h1>No such page</h1>\n\
            <p>Nothing is published at this address. The notebook may have another name now, or it has an error that keeps its page \
            from being written; the terminal says which. This page looks again as soon as something changes.</p>\n\
            <p><a href=\"/\">To the first page</a></p>\n</body>\n</html>\n";
        Response::html("404 Not Found", PAGE.as_bytes().to_vec(), edition)
    }

    /// Sends a folder on to its address with a slash, because links on its page are relative to that.
    fn moved(path: &str) -> Response {
        let mut response = Response::plain("307 Temporary Redirect", "This folder has a slash at its end.");
        // `path` begins with one slash and has no empty name (see `decode`), so it cannot be read as another host.
        let _ = write!(response.headers, "Location: {path}/\r\n");
        response
    }

    fn send(self, stream: &mut TcpStream, with_body: bool) -> io::Result<()> {
        let length = match &self.body {
            Body::Bytes(bytes) => bytes.len() as u64,
            Body::File(_, length) => *length,
        };
        let head = head(self.status, self.content_type, &format!("Content-Length: {length}\r\n{}", self.headers));
        stream.write_all(head.as_bytes())?;
        match self.body {
            Body::Bytes(bytes) if with_body => stream.write_all(&bytes),
            // Never more than was promised, should the file grow.
            Body::File(file, length) if with_body => io::copy(&mut file.take(length), stream).map(drop),
            Body::Bytes(_) | Body::File(..) => Ok(()),
        }
    }
}

fn head(status: &str, content_type: &str, more: &str) -> String {
    format!(
        "HTTP/1.1 {status}\r\nContent-Type: {content_type}\r\n{more}X-Content-Type-Options: nosniff\r\n\
         Cross-Origin-Resource-Policy: same-origin\r\nCache-Control: no-store\r\nConnection: close\r\n\r\n"
    )
}

fn content_type(path: &Path) -> &'static str {
    let extension = path.extension().and_then(|extension| extension.to_str()).unwrap_or_default().to_ascii_lowercase();
    match extension.as_str() {
        "html" | "htm" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "json" => "application/json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "gif" => "image/gif",
        "webp" => "image/webp",
        "ico" => "image/x-icon",
        "pdf" => "application/pdf",
        "txt" => "text/plain; charset=utf-8",
        "csv" => "text/csv; charset=utf-8",
        _ => "application/octet-stream",
    }
}

/// Adds the reloading script before the end of the body, or at the very end of a page without one.
fn with_script(mut page: Vec<u8>, edition: u64) -> Vec<u8> {
    const END: &[u8] = b"</body>";
    // A browser opens few connections to one server. Pages in the background therefore let go of theirs and ask again
    // when they are shown; the edition tells them whether they missed something.
    let script = format!(
        "<script>(function () {{\nvar changes = null;\nfunction listen() {{\n\
         if (document.hidden) {{ if (changes) changes.close(); changes = null; return; }}\n\
         if (changes) return;\nchanges = new EventSource(\"{CHANGES}?after={edition}\");\n\
         changes.addEventListener(\"reload\", function () {{ changes.close(); location.reload(); }});\n}}\n\
         document.addEventListener(\"visibilitychange\", listen);\nlisten();\n}})();</script>\n"
    );
    let at = page.windows(END.len()).rposition(|window| window.eq_ignore_ascii_case(END)).unwrap_or(page.len());
    page.splice(at..at, script.into_bytes());
    page
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
mod tests {
    use super::*;
    use std::error::Error;
    use std::fs;

    type Outcome = Result<(), Box<dyn Error>>;

    struct Site {
        home: tempfile::TempDir,
        server: Server,
    }

    /// A served folder "pages" with a secret beside it.
    fn site() -> Result<Site, Box<dyn Error>> {
        let home = tempfile::tempdir()?;
        let pages = home.path().join("pages");
        fs::create_dir_all(pages.join("soap bar"))?;
        fs::create_dir_all(pages.join(".tarebook"))?;
        fs::create_dir_all(pages.join("empty"))?;
        fs::write(home.path().join("secret.txt"), "secret")?;
        fs::write(pages.join("index.html"), "<html><body>first</BODY></html>")?;
        fs::write(pages.join("soap bar/index.html"), "<p>soap")?;
        fs::write(pages.join("style.css"), "p { }")?;
        fs::write(pages.join(".tarebook/manifest"), "secret")?;
        let server = Server::start(pages, 0)?;
        Ok(Site { home, server })
    }

    fn connect(server: &Server) -> io::Result<TcpStream> {
        let stream = TcpStream::connect(server.address)?;
        stream.set_read_timeout(Some(Duration::from_secs(5)))?;
        Ok(stream)
    }

    /// Sends these very bytes and returns all that comes back.
    fn raw(server: &Server, request: &str) -> io::Result<String> {
        let mut stream = connect(server)?;
        stream.write_all(request.as_bytes())?;
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer)?;
        Ok(String::from_utf8_lossy(&answer).into_owned())
    }

    fn get(server: &Server, path: &str) -> io::Result<String> {
        raw(server, &format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", server.address.port()))
    }

    #[track_caller]
    fn check(answer: &str, status: &str, expected: &[&str]) {
        assert!(answer.starts_with(&format!("HTTP/1.1 {status}")), "{answer}");
        for part in expected {
            assert!(answer.contains(part), "{part} is missing in {answer}");
        }
        assert!(!answer.contains("secret"), "{answer}");
    }

    #[test]
    fn pages_are_served_with_their_type_and_the_script() -> Outcome {
        let Site { server, home } = site()?;
        let answer = get(&server, "/")?;
        check(
            &answer,
            "200",
            &["text/html; charset=utf-8", "nosniff", "no-store", "first<script>", "</script>\n</BODY></html>"],
        );
        let (head, body) = answer.split_once("\r\n\r\n").ok_or("no body")?;
        assert!(head.contains(&format!("Content-Length: {}", body.len())));
        assert_eq!(fs::read_to_string(home.path().join("pages/index.html"))?, "<html><body>first</BODY></html>");

        check(&get(&server, "/style.css?v=1")?, "200", &["text/css", "\r\n\r\np { }"]);
        check(&get(&server, "/soap%20bar/")?, "200", &["<p>soap<script>"]);
        check(&get(&server, "/soap%20bar")?, "307", &["Location: /soap%20bar/\r\n"]);
        Ok(())
    }

    #[test]
    fn head_sends_the_same_headers_and_no_body() -> Outcome {
        let Site { server, home: _home } = site()?;
        let request = format!("HEAD / HTTP/1.1\r\nHost: localhost:{}\r\n\r\n", server.address.port());
        let head = raw(&server, &request)?;
        let full = get(&server, "/")?;
        assert_eq!(Some(head.trim_end()), full.split("\r\n\r\n").next());
        Ok(())
    }

    #[test]
    fn only_this_host_is_answered() -> Outcome {
        let Site { server, home: _home } = site()?;
        let port = server.address.port();
        for host in [format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("LOCALHOST:{port} ")] {
            check(&raw(&server, &format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n"))?, "200", &[]);
        }
        let foreign = [
            format!("Host: tidewater.example:{port}"),
            format!("Host: 127.0.0.1.tidewater.example:{port}"),
            "Host: 127.0.0.1".to_owned(),
            "Host: localhost:1".to_owned(),
            format!("Host: 127.0.0.1:{port}\r\nHost: tidewater.example"),
            "Accept: */*".to_owned(),
        ];
        for line in foreign {
            let answer = raw(&server, &format!("GET / HTTP/1.1\r\n{line}\r\n\r\n"))?;
            check(&answer, "403", &[]);
            assert!(!answer.contains("first"));
            check(&raw(&server, &format!("GET {CHANGES} HTTP/1.1\r\n{line}\r\n\r\n"))?, "403", &[]);
        }
        Ok(())
    }

    #[test]
    fn nothing_outside_the_folder_is_served() -> Outcome {
        let Site { server, home: _home } = site()?;
        for path in [
            "/../secret.txt",
            "/%2e%2e/secret.txt",
            "/soap%20bar/../../secret.txt",
            "/..%2fsecret.txt",
            "/..%5csecret.txt",
            "/.tarebook/manifest",
            "/%2etarebook/manifest",
            "//secret.txt",
            "/./index.html",
            "/index.html%00",
            "/index.html/",
            "/empty/",
            "/%ff",
            "/%2",
            "/%+1",
            "/nothing.html",
        ] {
            check(&get(&server, path)?, "404", &["No such page", "EventSource"]);
        }
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn links_that_lead_out_are_refused() -> Outcome {
        use std::os::unix::fs::symlink;
        let Site { server, home } = site()?;
        let pages = home.path().join("pages");
        symlink(home.path().join("secret.txt"), pages.join("out.txt"))?;
        symlink(home.path(), pages.join("up"))?;
        symlink(pages.join(".tarebook/manifest"), pages.join("hidden.txt"))?;
        symlink(pages.join("style.css"), pages.join("inside.css"))?;
        for path in ["/out.txt", "/up", "/up/", "/up/secret.txt", "/hidden.txt"] {
            check(&get(&server, path)?, "404", &[]);
        }
        check(&get(&server, "/inside.css")?, "200", &["p { }"]);
        Ok(())
    }

    #[test]
    fn other_requests_are_refused() -> Outcome {
        let Site { server, home: _home } = site()?;
        let host = format!("Host: 127.0.0.1:{}", server.address.port());
        check(
            &raw(&server, &format!("POST / HTTP/1.1\r\n{host}\r\nContent-Length: 3\r\n\r\nabc"))?,
            "405",
            &["Allow: GET, HEAD"],
        );
        check(&raw(&server, &format!("GET http://x/ HTTP/1.1\r\n{host}\r\n\r\n"))?, "400", &[]);
        check(&raw(&server, &format!("GET / HTTP/2\r\n{host}\r\n\r\n"))?, "400", &[]);
        check(&raw(&server, "nonsense\r\n\r\n")?, "400", &[]);
        let long = "x".repeat(LONGEST_HEAD);
        check(&raw(&server, &format!("GET / HTTP/1.1\r\n{host}\r\nX: {long}\r\n\r\n"))?, "431", &[]);
        Ok(())
    }

    /// Opens a change stream and waits until its headers are here.
    fn changes(server: &Server, query: &str) -> Result<TcpStream, Box<dyn Error>> {
        let mut stream = connect(server)?;
        let port = server.address.port();
        stream.write_all(format!("GET {CHANGES}{query} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n").as_bytes())?;
        let mut seen = Vec::new();
        while !seen.ends_with(b"retry: 1000\n\n") {
            let mut byte = [0_u8; 1];
            stream.read_exact(&mut byte)?;
            seen.extend(byte);
        }
        assert!(String::from_utf8(seen)?.contains("text/event-stream"));
        Ok(stream)
    }

    #[test]
    fn a_reload_reaches_open_pages() -> Outcome {
        let Site { server, home: _home } = site()?;
        let mut open = [changes(&server, "")?, changes(&server, "")?];
        server.reload("soap\nretry: 1");
        for stream in &mut open {
            let mut event = String::new();
            stream.read_to_string(&mut event)?;
            assert_eq!(event, "event: reload\ndata: soap\ndata: retry: 1\n\n");
        }
        Ok(())
    }

    #[test]
    fn a_change_before_the_page_listens_is_not_missed() -> Outcome {
        let Site { server, home: _home } = site()?;
        let page = get(&server, "/")?;
        let query = page.split(CHANGES).nth(1).and_then(|rest| rest.split('"').next()).ok_or("no script")?;
        server.reload("soap");
        let mut event = String::new();
        changes(&server, query)?.read_to_string(&mut event)?;
        assert_eq!(event, "event: reload\ndata: soap\n\n");
        Ok(())
    }

    #[test]
    fn a_closed_page_gives_its_place_back() -> Outcome {
        let Site { server, home: _home } = site()?;
        let open: Vec<TcpStream> = (0..MOST_CONNECTIONS).map(|_| changes(&server, "")).collect::<Result<_, _>>()?;
        check(&raw(&server, "")?, "503", &[]);
        drop(open);
        let deadline = Instant::now() + PULSE * 10;
        while !server.shared.state().connections.is_empty() && Instant::now() < deadline {
            thread::sleep(Duration::from_millis(20));
        }
        check(&get(&server, "/")?, "200", &[]);
        Ok(())
    }

    #[test]
    fn a_folder_may_come_later() -> Outcome {
        let home = tempfile::tempdir()?;
        let server = Server::start(home.path().join("pages"), 0)?;
        check(&get(&server, "/")?, "404", &[]);
        fs::create_dir(home.path().join("pages"))?;
        fs::write(home.path().join("pages/index.html"), "here")?;
        check(&get(&server, "/")?, "200", &["here"]);
        Ok(())
    }

    #[test]
    fn stop_ends_everything_at_once() -> Outcome {
        let Site { server, home: _home } = site()?;
        let mut open = changes(&server, "")?;
        let idle = connect(&server)?;
        let begin = Instant::now();
        server.stop();
        server.stop();
        assert!(begin.elapsed() < Duration::from_secs(2));
        assert_eq!(open.read(&mut [0_u8; 8]).unwrap_or(0), 0);
        drop(idle);
        assert!(TcpStream::connect(server.address).is_err());
        Ok(())
    }

    #[test]
    fn the_address_is_printed_in_full() -> Outcome {
        let server = Server::start(PathBuf::from("pages"), 0)?;
        assert_eq!(server.url(), format!("http://127.0.0.1:{}/", server.address.port()));
        Ok(())
    }
}
