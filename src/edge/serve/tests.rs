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
