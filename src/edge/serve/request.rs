//! A request as it comes in: its head, and for whom it is.

use std::io::{self, Read};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// Bytes of request line and headers together.
pub(super) const LONGEST_HEAD: usize = 16 * 1024;
/// A browser on the same computer sends its request at once; whoever takes longer holds a thread for nothing.
const LONGEST_WAIT_FOR_HEAD: Duration = Duration::from_secs(5);

/// Reads up to the empty line that ends the headers; none if they are too long.
pub(super) fn read_head(stream: &mut TcpStream) -> io::Result<Option<Vec<u8>>> {
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

pub(super) struct Request<'a> {
    pub(super) method: &'a str,
    /// Path and query as sent, beginning with a slash.
    pub(super) target: &'a str,
    /// The Host headers, of which there must be one.
    hosts: Vec<&'a str>,
}

impl Request<'_> {
    pub(super) fn parse(head: &[u8]) -> Option<Request<'_>> {
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
    pub(super) fn is_for(&self, port: u16) -> bool {
        let [host] = self.hosts.as_slice() else { return false };
        let (name, port_given) = match host.rsplit_once(':') {
            Some((name, digits)) => (name, digits == port.to_string()),
            // 80 is the port a browser does not write.
            None => (*host, port == 80),
        };
        port_given && (name == "127.0.0.1" || name.eq_ignore_ascii_case("localhost"))
    }
}
