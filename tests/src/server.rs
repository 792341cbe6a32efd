//! A server for one journey, as plain as a web server can be: what it serves can be exchanged for another edition, it
//! notes what it is asked for, and when it is dropped it is gone.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;

/// A running server.
pub struct Server {
    /// Where the book stands: `http://127.0.0.1:PORT/` and the path.
    pub book: String,
    address: SocketAddr,
    state: Arc<State>,
    listening: Option<JoinHandle<()>>,
}

struct State {
    /// The path below which the book stands; it begins and ends with a stroke.
    under: String,
    folder: Mutex<PathBuf>,
    asked: Mutex<Vec<String>>,
    gone: AtomicBool,
}

impl Server {
    /// Serves a folder below a path, as in `/` or `/a/sub/path/`.
    ///
    /// # Panics
    /// When the machine has no free port.
    #[must_use]
    pub fn start(folder: &Path, under: &str) -> Self {
        let (listener, address) = new_port();
        let state = Arc::new(State {
            under: under.to_owned(),
            folder: Mutex::new(folder.to_owned()),
            asked: Mutex::default(),
            gone: AtomicBool::new(false),
        });
        let shared = Arc::clone(&state);
        let listening = std::thread::spawn(move || {
            for connection in listener.incoming().map_while(Result::ok) {
                if shared.gone.load(Ordering::SeqCst) {
                    return;
                }
                let state = Arc::clone(&shared);
                // A reader who has gone away is no fault.
                std::thread::spawn(move || respond(connection, &state).ok());
            }
        });
        let book = format!("http://{address}{under}");
        Self { book, address, state, listening: Some(listening) }
    }

    /// Serves another folder from now on.
    pub fn publish(&self, folder: &Path) {
        *self.state.folder.lock().unwrap_or_else(PoisonError::into_inner) = folder.to_owned();
    }

    /// What was asked for since this was last called, below the book's path and without queries.
    pub fn asked(&self) -> Vec<String> {
        std::mem::take(&mut self.state.asked.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.state.gone.store(true, Ordering::SeqCst);
        // Wakes the listener, so that its port closes; afterwards nobody answers there.
        TcpStream::connect(self.address).ok();
        if let Some(listening) = self.listening.take() {
            listening.join().ok();
        }
    }
}

/// Listens at a port where nothing stood before: a browser that was handed on remembers what did.
fn new_port() -> (TcpListener, SocketAddr) {
    static USED: Mutex<BTreeSet<u16>> = Mutex::new(BTreeSet::new());
    loop {
        let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a free port");
        let address = listener.local_addr().expect("a port of ours");
        if USED.lock().unwrap_or_else(PoisonError::into_inner).insert(address.port()) {
            return (listener, address);
        }
    }
}

/// Answers one request and hangs up.
fn respond(mut connection: TcpStream, state: &State) -> std::io::Result<()> {
    let mut lines = BufReader::new(connection.try_clone()?).lines();
    let request = lines.next().transpose()?.unwrap_or_default();
    while lines.next().transpose()?.is_some_and(|line| !line.is_empty()) {}
    let Some(url) = request.strip_prefix("GET ").and_then(|rest| rest.split(' ').next()) else {
        return Ok(());
    };
    let path = url.split('?').next().unwrap_or_default();
    let file = path.strip_prefix(&state.under);
    let noted = file.unwrap_or(path).to_owned();
    state.asked.lock().unwrap_or_else(PoisonError::into_inner).push(noted);

    // As hosts do that want short addresses. A browser shows no kept page that came by such a way.
    if let Some(folder) = path.strip_suffix("index.html") {
        return write!(
            connection,
            "HTTP/1.1 302 Found\r\nLocation: {folder}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
        );
    }
    let folder = state.folder.lock().unwrap_or_else(PoisonError::into_inner).clone();
    let found = file.map(|file| match file {
        "" => folder.join("index.html"),
        file if file.ends_with('/') => folder.join(file).join("index.html"),
        file => folder.join(file),
    });
    let found = found.filter(|file| file.is_file());
    let status = if found.is_some() { "200 OK" } else { "404 Not Found" };
    let file = found.unwrap_or_else(|| folder.join("404.html"));
    let body = std::fs::read(&file)?;
    // Whoever keeps pages must not stumble over a header that servers do send: `Vary: *` forbids it to a browser's store.
    // Firefox puts the worker's own script into such a store, and nothing in it can help that.
    let vary = if file.ends_with("service-worker.js") { "Accept-Encoding" } else { "*" };
    write!(
        connection,
        "HTTP/1.1 {status}\r\nContent-Type: {}\r\nContent-Length: {}\r\nVary: {vary}\r\nConnection: close\r\n\r\n",
        media_type(&file),
        body.len()
    )?;
    connection.write_all(&body)
}

fn media_type(file: &Path) -> &'static str {
    match file.extension().and_then(|end| end.to_str()).unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css",
        "js" => "text/javascript",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "webmanifest" => "application/manifest+json",
        _ => "application/octet-stream",
    }
}
