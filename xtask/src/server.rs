//! Shows the built page on a loopback address, and builds it again whenever a file of it changes.

use std::collections::BTreeMap;
use std::fs;
use std::io::Cursor;
use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

use tiny_http::{Header, Method, Request, Response, Server};

use crate::page::{self, Files};
use crate::root;
use crate::tools::Tools;

/// Where it listens if nobody else does.
const PORT: u16 = 8080;

/// What the page is made of, in the project.
const SOURCES: [&str; 5] = ["Cargo.lock", "Cargo.toml", "index.html", "src", "style"];

/// Between two looks at the sources.
const BETWEEN_LOOKS: Duration = Duration::from_millis(500);

/// Builds the page, serves it and says where, until the process ends.
///
/// # Errors
/// A sentence when the first build fails or no port is free.
pub fn serve(tools: &Tools) -> Result<(), String> {
    let mut seen = looked();
    let page = Arc::new(Mutex::new(page::build(tools)?));
    let server = Server::http((Ipv4Addr::LOCALHOST, PORT)).or_else(|_| Server::http((Ipv4Addr::LOCALHOST, 0)));
    let server = server.map_err(|error| format!("no loopback port is free: {error}"))?;
    println!(
        "\nLapmargin is at http://{}/ and rebuilt whenever a file changes. Ctrl-C stops it.\n",
        server.server_addr()
    );
    let shown = page.clone();
    std::thread::spawn(move || {
        for request in server.incoming_requests() {
            let answer = answer(request.method(), request.url(), &shown.lock().unwrap_or_else(PoisonError::into_inner));
            send(request, answer);
        }
    });
    loop {
        std::thread::sleep(BETWEEN_LOOKS);
        let now = looked();
        if now == seen {
            continue;
        }
        // What changes while this builds is seen at the next look.
        seen = now;
        let start = Instant::now();
        match page::build(tools) {
            Ok(built) => {
                *page.lock().unwrap_or_else(PoisonError::into_inner) = built;
                println!("Built again in {:.1} s; reload to see it.", start.elapsed().as_secs_f64());
            }
            Err(why) => println!("{why}\nWhat was built before is still shown."),
        }
    }
}

/// When each of the sources was changed, and how long it is.
fn looked() -> BTreeMap<PathBuf, (Option<SystemTime>, u64)> {
    let mut seen = BTreeMap::new();
    SOURCES.iter().for_each(|source| look(&root().join(source), &mut seen));
    seen
}

fn look(path: &Path, seen: &mut BTreeMap<PathBuf, (Option<SystemTime>, u64)>) {
    // What cannot be read has gone, and that is a change, too.
    let Ok(about) = fs::metadata(path) else { return };
    if about.is_dir() {
        let entries = fs::read_dir(path).into_iter().flatten().flatten();
        entries.for_each(|entry| look(&entry.path(), seen));
    } else {
        seen.insert(path.to_owned(), (about.modified().ok(), about.len()));
    }
}

type Answer = Response<Cursor<Vec<u8>>>;

/// What a request for an address comes to.
fn answer(method: &Method, url: &str, page: &Files) -> Answer {
    let name = url.split(['?', '#']).next().unwrap_or_default().trim_start_matches('/');
    let name = if name.is_empty() { "index.html" } else { name };
    if ![Method::Get, Method::Head].contains(method) {
        return Response::from_string("only reading is possible here").with_status_code(405);
    }
    match page.get(name) {
        Some(bytes) => Response::from_data(bytes.clone())
            .with_header(header("Content-Type", kind(name)))
            // The next build has other files under some of these names.
            .with_header(header("Cache-Control", "no-store")),
        None => Response::from_string("no such file").with_status_code(404),
    }
}

fn send(request: Request, answer: Answer) {
    // A browser that hangs up early is its own business.
    let _ = request.respond(answer);
}

fn header(name: &str, value: &str) -> Header {
    Header::from_bytes(name, value).expect("both are plain words")
}

/// The media type of a file (RFC 9239 for scripts, the W3C's manifest and WebAssembly Web API for theirs).
fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("webmanifest") => "application/manifest+json",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    fn told(method: &Method, url: &str) -> (u16, Vec<String>, String) {
        let page = ["index.html", "start.js", "a_bg.wasm", "a.webmanifest"];
        let page = Files::from(page.map(|name| (name.to_owned(), name.as_bytes().to_vec())));
        let answer = answer(method, url, &page);
        let status = answer.status_code().0;
        let headers = answer.headers().iter().map(|header| format!("{}: {}", header.field, header.value)).collect();
        let mut body = String::new();
        answer.into_reader().read_to_string(&mut body).unwrap();
        (status, headers, body)
    }

    #[test]
    fn files_are_given_with_their_media_types_and_never_kept() {
        for (url, file, kind) in [
            ("/", "index.html", "text/html; charset=utf-8"),
            ("/index.html", "index.html", "text/html; charset=utf-8"),
            ("/start.js?page=a", "start.js", "text/javascript; charset=utf-8"),
            ("/a_bg.wasm", "a_bg.wasm", "application/wasm"),
            ("/a.webmanifest", "a.webmanifest", "application/manifest+json"),
        ] {
            let (status, headers, body) = told(&Method::Get, url);
            assert_eq!((status, body.as_str()), (200, file), "{url}");
            assert!(headers.contains(&format!("Content-Type: {kind}")), "{url}: {headers:?}");
            assert!(headers.contains(&"Cache-Control: no-store".to_owned()), "{url}: {headers:?}");
        }
    }

    #[test]
    fn nothing_else_is_given() {
        for url in ["/Cargo.toml", "/../Cargo.toml", "/src/lib.rs", "//etc/passwd", "/%2e%2e/Cargo.toml"] {
            assert_eq!(told(&Method::Get, url).0, 404, "{url}");
        }
        assert_eq!(told(&Method::Post, "/").0, 405);
    }

    #[test]
    fn a_look_sees_what_the_page_is_made_of() {
        let seen = looked();
        for file in ["Cargo.lock", "index.html", "style/base.css", "src/page/start.js", "src/page/lib.rs"] {
            assert!(seen.contains_key(&root().join(file)), "{file}");
        }
        assert!(!seen.contains_key(&root().join("README.md")));
    }
}
