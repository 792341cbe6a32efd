//! Serves the built book on this machine: for `cargo xtask serve`, and for the journeys, which also want to know what was
//! asked for, to exchange the book under way, and to take the server away.

mod answer;

use std::collections::BTreeSet;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use axum::Router;
use tokio::sync::oneshot;

/// How a host answers.
#[derive(Debug, Clone, Copy)]
enum Host {
    /// With the content policy, and compressed files for those who take them; these files are withheld.
    Careful { withheld: &'static [&'static str] },
    /// Below this path only, without policy or compressed files, with short addresses in place of `index.html`. A lasting
    /// host lets browsers keep for ten minutes what it sent.
    Plain { under: &'static str, lasting: bool },
}

/// The book stands here as well, so that pages can be tried below the root of a site.
pub const SUB_PATH: &str = "a/sub/path/";

/// A running server. When it is dropped, nobody answers at its port any more.
#[derive(Debug)]
pub struct Server {
    /// Where the book stands: `http://127.0.0.1:PORT/`, and the path of a plain host.
    pub address: String,
    site: Arc<Site>,
    stop: Option<oneshot::Sender<()>>,
    serving: Option<JoinHandle<()>>,
}

/// The folder that is served, how, and which addresses were asked for.
#[derive(Debug)]
struct Site {
    host: Host,
    folder: Mutex<PathBuf>,
    asked: Mutex<Vec<String>>,
}

impl Server {
    /// Serves a folder as a good host does, at the root and below [`SUB_PATH`]: with the content policy, and compressed
    /// files for those who take them. The files named are withheld, as if they were not there. Port 0 is any free one.
    ///
    /// # Errors
    /// When the port is taken.
    pub fn careful(folder: &Path, port: u16, withheld: &'static [&'static str]) -> io::Result<Self> {
        Self::listening(TcpListener::bind(("127.0.0.1", port))?, folder, Host::Careful { withheld })
    }

    /// Serves a folder as plainly as a host can, below a path (`/`, `/book/`), at a port where nothing stood before:
    /// a browser remembers what did.
    ///
    /// # Errors
    /// When the machine has no free port.
    pub fn plain(folder: &Path, under: &'static str) -> io::Result<Self> {
        Self::at_a_new_port(folder, Host::Plain { under, lasting: false })
    }

    /// The same at the root, and browsers may keep for ten minutes what it sent, as static hosts let them.
    ///
    /// # Errors
    /// When the machine has no free port.
    pub fn lasting(folder: &Path) -> io::Result<Self> {
        Self::at_a_new_port(folder, Host::Plain { under: "/", lasting: true })
    }

    fn at_a_new_port(folder: &Path, host: Host) -> io::Result<Self> {
        static USED: Mutex<BTreeSet<SocketAddr>> = Mutex::new(BTreeSet::new());
        loop {
            let listener = TcpListener::bind(("127.0.0.1", 0))?;
            if held(&USED).insert(listener.local_addr()?) {
                return Self::listening(listener, folder, host);
            }
        }
    }

    fn listening(listener: TcpListener, folder: &Path, host: Host) -> io::Result<Self> {
        let under = match host {
            Host::Careful { .. } => "/",
            Host::Plain { under, .. } => under,
        };
        let address = format!("http://{}{under}", listener.local_addr()?);
        listener.set_nonblocking(true)?;
        let site = Arc::new(Site { host, folder: Mutex::new(folder.to_owned()), asked: Mutex::default() });
        let router = Router::new().fallback(answer::answer).with_state(Arc::clone(&site));
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().build()?;
        let (stop, stopped) = oneshot::channel();
        // A thread of its own, so that those who start a server may be asynchronous or not. With its runtime go all
        // connections that browsers hold open.
        let serving = std::thread::spawn(move || {
            runtime.block_on(async {
                let Ok(listener) = tokio::net::TcpListener::from_std(listener) else { return };
                let serving = tokio::spawn(async move { axum::serve(listener, router).await });
                stopped.await.ok();
                serving.abort();
            });
        });
        Ok(Self { address, site, stop: Some(stop), serving: Some(serving) })
    }

    /// Serves another folder from now on.
    pub fn publish(&self, folder: &Path) {
        folder.clone_into(&mut held(&self.site.folder));
    }

    /// What was asked for since this was last called, below the book's path and without queries.
    pub fn asked(&self) -> Vec<String> {
        std::mem::take(&mut held(&self.site.asked))
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stop.take().map(|stop| stop.send(()));
        // Until the port is closed.
        self.serving.take().map(JoinHandle::join);
    }
}

/// What a lock holds; a thread that panicked with it changes nothing about that.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests;
