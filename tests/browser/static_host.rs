//! A plain web host on loopback, as simple as the ones the page has to run on: it hands out files and nothing else.

use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// The folder below the host's root where the page lies: it must run from any path.
pub const FOLDER: &str = "/races/spring/";

/// A host that is running.
pub struct Host {
    /// Where it listens.
    pub address: SocketAddr,
    is_gone: Arc<AtomicBool>,
}

impl Host {
    /// Goes away: from now on nobody answers there.
    pub fn stop(&mut self) {
        self.is_gone.store(true, Ordering::SeqCst);
        // It is waiting for a visitor; the last one makes it look. If even that is refused, it is gone already.
        let _ = TcpStream::connect(self.address);
        while TcpStream::connect(self.address).is_ok() {
            thread::yield_now();
        }
    }
}

/// Serves `folder` on a free loopback port until it is stopped or the process ends.
pub fn serve(folder: PathBuf) -> std::io::Result<Host> {
    let listener = TcpListener::bind(("127.0.0.1", 0))?;
    let address = listener.local_addr()?;
    let is_gone = Arc::new(AtomicBool::new(false));
    let host = Host { address, is_gone: is_gone.clone() };
    thread::spawn(move || {
        for connection in listener.incoming().flatten() {
            if is_gone.load(Ordering::SeqCst) {
                break;
            }
            let folder = folder.clone();
            // A browser that hangs up early is its own business.
            let is_gone = is_gone.clone();
            thread::spawn(move || answer(connection, &folder, &is_gone).ok());
        }
    });
    Ok(host)
}

fn answer(mut connection: TcpStream, folder: &Path, is_gone: &AtomicBool) -> std::io::Result<()> {
    let mut lines = BufReader::new(connection.try_clone()?).lines();
    let request = lines.next().transpose()?.unwrap_or_default();
    for line in lines {
        if line?.is_empty() {
            break;
        }
    }
    // A browser opens connections before it needs them.
    if is_gone.load(Ordering::SeqCst) {
        return Ok(());
    }
    let target = request.split(' ').nth(1).unwrap_or_default();
    let (status, kind, body) =
        match file(target, folder).and_then(|path| Some((kind(&path), std::fs::read(path).ok()?))) {
            Some((kind, body)) => ("200 OK", kind, body),
            None => ("404 Not Found", "text/plain", b"no such file".to_vec()),
        };
    write!(
        connection,
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n{}\r\n",
        body.len(),
        headers(target)
    )?;
    connection.write_all(&body)
}

/// What a host is told to send: the headers of `docs/headers.txt` for a file.
pub fn headers(target: &str) -> String {
    let path = target.split(['?', '#']).next().unwrap_or_default();
    let name = path.rsplit('/').next().unwrap_or_default();
    let is_meant = |pattern: &str| match pattern.strip_prefix('*') {
        Some(ending) => name.ends_with(ending),
        None => pattern == name || (pattern == "/" && name.is_empty()),
    };
    let lines = include_str!("../../docs/headers.txt").lines().filter(|line| !line.starts_with('#'));
    let meant = lines.filter_map(|line| line.split_once(' ')).filter(|(pattern, _)| is_meant(pattern));
    meant.map(|(_, header)| format!("{header}\r\n")).collect()
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
        Some("png") => "image/png",
        Some("json" | "webmanifest") => "application/json",
        _ => "application/octet-stream",
    }
}
