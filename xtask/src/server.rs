//! Serves the built book as a plain web server would: with the content policy, the right types, the compressed
//! files where they are asked for, and the book's own page for what is not there.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use anyhow::{Result, anyhow};

/// The policy of every page, and what only a header can say: no other site may frame the book.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; form-action 'none'; frame-ancestors 'none'";

/// The book stands here as well, so that pages can be tried below the root of a site.
pub const SUB_PATH: &str = "a/sub/path/";

/// A running server; it stops when this is dropped.
pub struct Server {
    at: SocketAddr,
    gone: Arc<AtomicBool>,
    /// `http://127.0.0.1:PORT/`
    pub address: String,
}

impl Server {
    /// Serves a folder, save the files of it that are withheld. Port 0 takes any free one.
    ///
    /// Each connection has a thread to itself. A pool of them (the crate `tiny_http`) now and then left one waiting for as
    /// long as a browser held the others open: journeys hung for a minute.
    ///
    /// # Errors
    /// When the port is taken.
    pub fn start(folder: &str, port: u16, withheld: &'static [&'static str]) -> Result<Self> {
        let listener = TcpListener::bind(("127.0.0.1", port)).map_err(|error| {
            anyhow!("cannot listen on port {port}: {error}; try `cargo xtask serve {}`", port.wrapping_add(1))
        })?;
        let (at, gone) = (listener.local_addr()?, Arc::new(AtomicBool::new(false)));
        let (folder, over) = (PathBuf::from(folder), Arc::clone(&gone));
        std::thread::spawn(move || {
            for connection in listener.incoming().map_while(Result::ok) {
                if over.load(Ordering::SeqCst) {
                    return;
                }
                let folder = folder.clone();
                // A reader who has gone away is no fault.
                std::thread::spawn(move || respond(&connection, &folder, withheld).ok());
            }
        });
        Ok(Self { at, gone, address: format!("http://{at}/") })
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.gone.store(true, Ordering::SeqCst);
        // Wakes the listener, so that its port closes.
        TcpStream::connect(self.at).ok();
    }
}

/// Answers what is asked on one connection, until the reader closes it.
fn respond(
    mut connection: &TcpStream,
    folder: &Path,
    withheld: &'static [&'static str],
) -> std::io::Result<()> {
    let mut lines = BufReader::new(connection).lines();
    while let Some(request) = lines.next().transpose()? {
        let mut accepted = String::new();
        while let Some(header) = lines.next().transpose()?.filter(|header| !header.is_empty()) {
            if let Some((name, value)) = header.split_once(':')
                && name.eq_ignore_ascii_case("accept-encoding")
            {
                value.trim().clone_into(&mut accepted);
            }
        }
        let mut words = request.split(' ');
        let (method, url) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
        if !matches!(method, "GET" | "HEAD") {
            return connection.write_all(b"HTTP/1.1 405 Method Not Allowed\r\nConnection: close\r\n\r\n");
        }
        let answer = answer(folder, withheld, url, &accepted);
        let mut said = Vec::new();
        write!(said, "HTTP/1.1 {}\r\nContent-Length: {}\r\n", answer.status, answer.body.len())?;
        for (name, value) in answer.headers {
            write!(said, "{name}: {value}\r\n")?;
        }
        said.extend(b"\r\n");
        if method == "GET" {
            said.extend(answer.body);
        }
        connection.write_all(&said)?;
    }
    Ok(())
}

struct Answer {
    status: &'static str,
    headers: Vec<(&'static str, &'static str)>,
    body: Vec<u8>,
}

fn answer(folder: &Path, withheld: &[&str], url: &str, accepted: &str) -> Answer {
    let found = file_of(folder, url).filter(|file| withheld.iter().all(|name| *file != folder.join(name)));
    let status = if found.is_some() { "200 OK" } else { "404 Not Found" };
    let file = found.unwrap_or_else(|| folder.join("404.html"));
    let mut headers = vec![
        ("Content-Type", media_type(&file)),
        ("Content-Security-Policy", POLICY),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cache-Control", "no-cache"),
        ("Vary", "Accept-Encoding"),
    ];
    for (encoding, suffix) in [("br", ".br"), ("gzip", ".gz")] {
        if accepts(accepted, encoding) {
            let mut name = file.clone().into_os_string();
            name.push(suffix);
            if let Ok(body) = fs::read(name) {
                headers.push(("Content-Encoding", encoding));
                return Answer { status, headers, body };
            }
        }
    }
    Answer { status, headers, body: fs::read(&file).unwrap_or_else(|_| b"Not found\n".to_vec()) }
}

/// The file a URL names. Only plain names are looked up, so that none leads out of the folder.
fn file_of(folder: &Path, url: &str) -> Option<PathBuf> {
    let path = url.split(['?', '#']).next()?.strip_prefix('/')?;
    let path = path.strip_prefix(SUB_PATH).unwrap_or(path);
    let plain = |name: &str| {
        !name.starts_with('.')
            && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'))
    };
    let mut file = folder.to_path_buf();
    for name in path.split('/') {
        if !plain(name) {
            return None;
        }
        file.push(if name.is_empty() { "index.html" } else { name });
    }
    file.is_file().then_some(file)
}

fn accepts(accepted: &str, encoding: &str) -> bool {
    accepted.split(',').any(|offer| {
        let (name, quality) = offer.split_once(';').unwrap_or((offer, ""));
        name.trim() == encoding && quality.trim() != "q=0"
    })
}

fn media_type(file: &Path) -> &'static str {
    match file.extension().and_then(|extension| extension.to_str()).unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A book of a few files in a folder of its own.
    fn book(name: &str) -> PathBuf {
        let folder =
            std::env::temp_dir().join(format!("standing-current-server-{name}-{}", std::process::id()));
        fs::create_dir_all(folder.join("chapter")).expect("a folder for the test");
        for (file, text) in [
            ("index.html", "cover"),
            ("index.html.br", "squeezed"),
            ("chapter/page.html", "page"),
            ("404.html", "lost"),
            ("secret.js", "withheld"),
        ] {
            fs::write(folder.join(file), text).expect("a file for the test");
        }
        folder
    }

    #[test]
    fn pages_are_found_at_the_root_and_under_a_sub_path() {
        let book = book("paths");
        for (url, status, body) in [
            ("/", "200 OK", "cover"),
            ("/index.html?from=bench", "200 OK", "cover"),
            ("/chapter/page.html", "200 OK", "page"),
            ("/a/sub/path/", "200 OK", "cover"),
            ("/a/sub/path/chapter/page.html", "200 OK", "page"),
            ("/a/sub/path/elsewhere.html", "404 Not Found", "lost"),
            ("/chapter/../../../etc/passwd", "404 Not Found", "lost"),
            ("/chapter//page.html", "404 Not Found", "lost"),
            ("/%2e%2e/secret", "404 Not Found", "lost"),
            ("/secret.js", "404 Not Found", "lost"),
            ("/a/sub/path/secret.js?", "404 Not Found", "lost"),
        ] {
            let answer = answer(&book, &["secret.js"], url, "");
            assert_eq!((answer.status, answer.body.as_slice()), (status, body.as_bytes()), "{url}");
        }
    }

    #[test]
    fn compressed_files_go_only_to_those_who_ask() {
        let book = book("compressed");
        for (url, accepted, body) in [
            ("/", "gzip, br", "squeezed"),
            ("/", "gzip, br;q=0", "cover"),
            ("/", "", "cover"),
            ("/chapter/page.html", "br", "page"),
        ] {
            let answer = answer(&book, &[], url, accepted);
            assert_eq!(answer.body, body.as_bytes(), "{url} to one who accepts `{accepted}`");
            assert_eq!(
                answer.headers.iter().any(|(name, _)| *name == "Content-Encoding"),
                body == "squeezed"
            );
        }
    }
}
