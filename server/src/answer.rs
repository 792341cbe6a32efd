//! What is answered to one request.

use std::path::Path;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::header::{
    ACCEPT_ENCODING, CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, IF_MODIFIED_SINCE, LOCATION,
    REFERRER_POLICY, VARY, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderName, HeaderValue, Method, StatusCode};
use axum::response::{IntoResponse, Response};
use tower::ServiceExt;
use tower_http::services::{ServeDir, ServeFile};

use crate::{Host, SUB_PATH, Site, held};

/// The policy of every page, and what only a header can say: no other site may frame the book.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'self'; form-action 'none'; frame-ancestors 'none'";

/// What a careful host says with every file.
const CAREFUL: [(HeaderName, &str); 5] = [
    (CONTENT_SECURITY_POLICY, POLICY),
    (X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (REFERRER_POLICY, "no-referrer"),
    (CACHE_CONTROL, "no-cache"),
    (VARY, "Accept-Encoding"),
];

pub(crate) async fn answer(State(site): State<Arc<Site>>, mut request: Request) -> Response {
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return StatusCode::METHOD_NOT_ALLOWED.into_response();
    }
    // Two editions may be written in one second, and the time of a file tells no finer.
    request.headers_mut().remove(IF_MODIFIED_SINCE);
    let path = request.uri().path().to_owned();
    let folder = held(&site.folder).clone();
    match site.host {
        Host::Careful { withheld } => {
            let below = path.trim_start_matches('/');
            let file = below.strip_prefix(SUB_PATH).unwrap_or(below);
            let shown = Some(file).filter(|file| !withheld.contains(file));
            let mut response = file_of(&folder, shown, request, true).await;
            for (name, value) in CAREFUL {
                response.headers_mut().insert(name, HeaderValue::from_static(value));
            }
            response
        }
        Host::Plain { under, lasting } => {
            let file = path.strip_prefix(under);
            held(&site.asked).push(file.unwrap_or(&path).to_owned());
            // As hosts do that want short addresses. A browser shows no kept page that came by such a way.
            if let Some(short) = path.strip_suffix("index.html") {
                return (StatusCode::FOUND, [(LOCATION, short.to_owned())]).into_response();
            }
            let mut response = file_of(&folder, file, request, false).await;
            if lasting {
                response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static("max-age=600"));
                return response;
            }
            // Anyone who keeps pages must not stumble over a header that servers do send: `Vary: *` forbids it to a
            // browser's store. Firefox puts the worker's own script into such a store, and nothing in it can help that.
            let vary = if path.ends_with("service-worker.js") { "Accept-Encoding" } else { "*" };
            response.headers_mut().insert(VARY, HeaderValue::from_static(vary));
            response
        }
    }
}

/// The file with this name in a folder, or the book's own page for what is not there.
async fn file_of(folder: &Path, file: Option<&str>, mut request: Request, compressed: bool) -> Response {
    if !compressed {
        request.headers_mut().remove(ACCEPT_ENCODING);
    }
    let lost = ServeFile::new(folder.join("404.html")).precompressed_br().precompressed_gzip();
    let files = ServeDir::new(folder).precompressed_br().precompressed_gzip();
    let target = file.and_then(|file| format!("/{file}").parse().ok());
    let answered = match target {
        Some(uri) => {
            *request.uri_mut() = uri;
            files.not_found_service(lost).oneshot(request).await
        }
        None => lost.oneshot(request).await.map(|mut response| {
            *response.status_mut() = StatusCode::NOT_FOUND;
            response
        }),
    };
    let mut response = match answered {
        Ok(response) => response.map(Body::new),
        Err(never) => match never {},
    };
    // Its type is told by its name, which says nothing about its letters.
    let media = response.headers().get(CONTENT_TYPE).and_then(|media| media.to_str().ok());
    let text = media.filter(|media| media.starts_with("text/") && !media.contains("charset"));
    if let Some(media) = text.and_then(|media| format!("{media}; charset=utf-8").parse().ok()) {
        response.headers_mut().insert(CONTENT_TYPE, media);
    }
    response
}
