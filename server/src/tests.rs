//! Servers of a book of a few files, asked over a connection as a browser does.

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;

use tempfile::TempDir;

use super::*;

fn book() -> TempDir {
    let book = tempfile::tempdir().unwrap();
    fs::create_dir(book.path().join("chapter")).unwrap();
    for (file, text) in [
        ("index.html", "cover"),
        ("index.html.br", "squeezed"),
        ("chapter/page.html", "page"),
        ("404.html", "lost"),
        ("secret.js", "withheld"),
        ("code.wasm", "code"),
        ("book.webmanifest", "manifest"),
    ] {
        fs::write(book.path().join(file), text).unwrap();
    }
    book
}

/// What a server says to a request: status, headers in small letters, body.
fn said(server: &Server, request: &str) -> (String, String, String) {
    let host = server.address.strip_prefix("http://").unwrap().split('/').next().unwrap();
    let mut connection = TcpStream::connect(host).unwrap();
    write!(connection, "{request}\r\nHost: {host}\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    connection.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    let (status, headers) = head.split_once("\r\n").unwrap();
    let status = status.strip_prefix("HTTP/1.1 ").unwrap();
    (status.to_owned(), headers.to_lowercase(), body.to_owned())
}

fn get(server: &Server, url: &str) -> (String, String, String) {
    said(server, &format!("GET {url} HTTP/1.1"))
}

#[test]
fn pages_are_found_at_the_root_and_under_a_sub_path() {
    let book = book();
    let server = Server::careful(book.path(), 0, &["secret.js"]).unwrap();
    for (url, status, body) in [
        ("/", "200 OK", "cover"),
        ("/index.html?from=bench", "200 OK", "cover"),
        ("/chapter/page.html", "200 OK", "page"),
        ("/a/sub/path/", "200 OK", "cover"),
        ("/a/sub/path/chapter/page.html", "200 OK", "page"),
        ("/a/sub/path/elsewhere.html", "404 Not Found", "lost"),
        ("/chapter/../../../etc/passwd", "404 Not Found", "lost"),
        ("/%2e%2e/secret", "404 Not Found", "lost"),
        ("/%2e%2e/%2e%2e/%2e%2e/%2e%2e/etc/passwd", "404 Not Found", "lost"),
        ("/secret.js", "404 Not Found", "lost"),
        ("/a/sub/path/secret.js?", "404 Not Found", "lost"),
    ] {
        let (was, headers, answer) = get(&server, url);
        assert_eq!((was.as_str(), answer.as_str()), (status, body), "{url}");
        assert!(headers.contains("content-security-policy: default-src 'none'"), "{url}");
    }
    assert_eq!(said(&server, "POST / HTTP/1.1").0, "405 Method Not Allowed");
}

#[test]
fn compressed_files_go_only_to_those_who_ask() {
    let book = book();
    let server = Server::careful(book.path(), 0, &[]).unwrap();
    for (url, accepted, body) in [
        ("/", "gzip, br", "squeezed"),
        ("/", "gzip, br;q=0", "cover"),
        ("/", "", "cover"),
        ("/chapter/page.html", "br", "page"),
    ] {
        let request = format!("GET {url} HTTP/1.1\r\nAccept-Encoding: {accepted}");
        let (_, headers, answer) = said(&server, &request);
        assert_eq!(answer, body, "{url} to one who accepts `{accepted}`");
        assert_eq!(headers.contains("content-encoding: br"), body == "squeezed");
    }
}

#[test]
fn files_are_of_the_type_that_browsers_insist_on() {
    let book = book();
    let server = Server::careful(book.path(), 0, &[]).unwrap();
    for (url, media) in [
        ("/", "text/html; charset=utf-8"),
        ("/secret.js", "text/javascript; charset=utf-8"),
        ("/code.wasm", "application/wasm"),
        ("/book.webmanifest", "application/manifest+json"),
    ] {
        let headers = get(&server, url).1;
        assert!(headers.contains(&format!("content-type: {media}")), "{url}: {headers}");
    }
}

#[test]
fn a_plain_host_notes_what_it_is_asked_and_can_be_given_another_book() {
    let (one, other) = (book(), book());
    fs::write(other.path().join("index.html"), "another").unwrap();
    let server = Server::plain(one.path(), "/book/").unwrap();
    assert_eq!(get(&server, "/book/").2, "cover");
    let (status, headers, _) = get(&server, "/book/chapter/index.html");
    assert!(status == "302 Found" && headers.contains("location: /book/chapter/"), "{headers}");
    server.publish(other.path());
    let (_, headers, body) = get(&server, "/book/?once=more");
    assert!(body == "another" && headers.contains("vary: *") && !headers.contains("policy"), "{headers}");
    assert_eq!(get(&server, "/index").0, "404 Not Found");
    assert_eq!(server.asked(), ["", "chapter/index.html", "", "/index"]);
    assert!(server.asked().is_empty());
}

#[test]
fn a_server_that_is_dropped_is_gone_with_its_connections() {
    let book = book();
    let server = Server::plain(book.path(), "/").unwrap();
    let host = server.address["http://".len()..].trim_end_matches('/').to_owned();
    let mut held_open = TcpStream::connect(&host).unwrap();
    write!(held_open, "GET / HTTP/1.1\r\nHost: {host}\r\n\r\n").unwrap();
    held_open.read_exact(&mut [0; 12]).unwrap();
    drop(server);
    // What was sent before can still be read; then comes the end.
    let mut rest = Vec::new();
    held_open.read_to_end(&mut rest).ok();
    assert!(TcpStream::connect(&host).is_err());
}
