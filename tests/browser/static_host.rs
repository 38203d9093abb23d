//! A plain web host on loopback, as simple as the ones the page has to run on: it hands out files and nothing else.

use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::thread;

/// The folder below the host's root where the page lies: it must run from any path.
pub const FOLDER: &str = "/races/spring/";

/// Serves `folder` on a free loopback port until the process ends.
pub fn serve(folder: PathBuf) -> std::io::Result<SocketAddr> {
    let listener = TcpListener::bind(("127.0.0.1", 0))?;
    let address = listener.local_addr()?;
    thread::spawn(move || {
        for connection in listener.incoming().flatten() {
            let folder = folder.clone();
            // A browser that hangs up early is its own business.
            thread::spawn(move || answer(connection, &folder).ok());
        }
    });
    Ok(address)
}

fn answer(mut connection: TcpStream, folder: &Path) -> std::io::Result<()> {
    let mut lines = BufReader::new(connection.try_clone()?).lines();
    let request = lines.next().transpose()?.unwrap_or_default();
    for line in lines {
        if line?.is_empty() {
            break;
        }
    }
    let target = request.split(' ').nth(1).unwrap_or_default();
    let (status, kind, body) =
        match file(target, folder).and_then(|path| Some((kind(&path), std::fs::read(path).ok()?))) {
            Some((kind, body)) => ("200 OK", kind, body),
            None => ("404 Not Found", "text/plain", b"no such file".to_vec()),
        };
    write!(
        connection,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    )?;
    connection.write_all(&body)
}

fn file(target: &str, folder: &Path) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?.strip_prefix(FOLDER)?;
    let path = Path::new(if path.is_empty() { "index.html" } else { path });
    path.components().all(|part| matches!(part, Component::Normal(_))).then(|| folder.join(path))
}

fn kind(path: &Path) -> &'static str {
    match path.extension().and_then(|extension| extension.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript",
        Some("css") => "text/css",
        Some("wasm") => "application/wasm",
        Some("svg") => "image/svg+xml",
        Some("json" | "webmanifest") => "application/json",
        _ => "application/octet-stream",
    }
}
