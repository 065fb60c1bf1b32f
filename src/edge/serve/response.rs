//! What is sent back.

use super::CHANGES;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::path::Path;

pub(super) struct Response {
    status: &'static str,
    content_type: &'static str,
    /// Further header lines, each with its end.
    pub(super) headers: String,
    body: Body,
}

enum Body {
    Bytes(Vec<u8>),
    /// An open file and its length in bytes. Open already, so that a publish in the meantime cannot mix two files.
    File(File, u64),
}

impl Response {
    pub(super) fn plain(status: &'static str, sentence: &str) -> Response {
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

    pub(super) fn file(path: &Path, edition: u64) -> io::Result<Response> {
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
    pub(super) fn missing(edition: u64) -> Response {
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
    pub(super) fn moved(path: &str) -> Response {
        let mut response = Response::plain("307 Temporary Redirect", "This folder has a slash at its end.");
        // `path` begins with one slash and has no empty name (see `decode`), so it cannot be read as another host.
        let _ = write!(response.headers, "Location: {path}/\r\n");
        response
    }

    pub(super) fn send(self, stream: &mut TcpStream, with_body: bool) -> io::Result<()> {
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

pub(super) fn head(status: &str, content_type: &str, more: &str) -> String {
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
