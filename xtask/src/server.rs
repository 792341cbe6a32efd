//! Serves the built book as a plain web server would: with the content policy, the right types, the compressed
//! files where they are asked for, and the book's own page for what is not there.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Result, anyhow};
use tiny_http::{Header, Method, Request, Response};

/// The policy of every page, and what only a header can say: no other site may frame the book.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; form-action 'none'; frame-ancestors 'none'";

/// The book stands here as well, so that pages can be tried below the root of a site.
pub const SUB_PATH: &str = "a/sub/path/";

/// Requests answered at one time; a browser opens up to six connections.
const WORKERS: usize = 6;

/// A running server; it stops when this is dropped.
pub struct Server {
    listening: Arc<tiny_http::Server>,
    /// `http://127.0.0.1:PORT/`
    pub address: String,
}

impl Server {
    /// Serves a folder, save the files of it that are withheld. Port 0 takes any free one.
    ///
    /// # Errors
    /// When the port is taken.
    pub fn start(folder: &str, port: u16, withheld: &'static [&'static str]) -> Result<Self> {
        let listening = tiny_http::Server::http(("127.0.0.1", port)).map_err(|error| {
            anyhow!("cannot listen on port {port}: {error}; try `cargo xtask serve {}`", port.wrapping_add(1))
        })?;
        let listening = Arc::new(listening);
        for _ in 0..WORKERS {
            let (server, folder) = (Arc::clone(&listening), PathBuf::from(folder));
            std::thread::spawn(move || {
                while let Ok(request) = server.recv() {
                    // A reader who has gone away is no fault.
                    respond(request, &folder, withheld).ok();
                }
            });
        }
        let address = format!("http://{}/", listening.server_addr());
        Ok(Self { listening, address })
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        (0..WORKERS).for_each(|_| self.listening.unblock());
    }
}

fn respond(request: Request, folder: &Path, withheld: &[&str]) -> std::io::Result<()> {
    if !matches!(request.method(), Method::Get | Method::Head) {
        return request.respond(Response::empty(405));
    }
    let accepted = request.headers().iter().find(|header| header.field.equiv("Accept-Encoding"));
    let accepted = accepted.map_or("", |header| header.value.as_str());
    let answer = answer(folder, withheld, request.url(), accepted);
    let mut response = Response::from_data(answer.body).with_status_code(answer.status);
    for (name, value) in answer.headers {
        response.add_header(Header::from_bytes(name, value).expect("a header made of plain words"));
    }
    request.respond(response)
}

struct Answer {
    status: u16,
    headers: Vec<(&'static str, &'static str)>,
    body: Vec<u8>,
}

fn answer(folder: &Path, withheld: &[&str], url: &str, accepted: &str) -> Answer {
    let found = file_of(folder, url).filter(|file| withheld.iter().all(|name| *file != folder.join(name)));
    let status = if found.is_some() { 200 } else { 404 };
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
            ("/", 200, "cover"),
            ("/index.html?from=bench", 200, "cover"),
            ("/chapter/page.html", 200, "page"),
            ("/a/sub/path/", 200, "cover"),
            ("/a/sub/path/chapter/page.html", 200, "page"),
            ("/a/sub/path/elsewhere.html", 404, "lost"),
            ("/chapter/../../../etc/passwd", 404, "lost"),
            ("/chapter//page.html", 404, "lost"),
            ("/%2e%2e/secret", 404, "lost"),
            ("/secret.js", 404, "lost"),
            ("/a/sub/path/secret.js?", 404, "lost"),
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
