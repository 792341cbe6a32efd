//! The three engines that read the book, and the driver that steers a browser of each.

use std::io::{BufRead, BufReader, Read};
use std::net::{TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How long a driver may take to listen.
const PATIENCE: Duration = Duration::from_secs(20);

/// What shows pages and runs their scripts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    /// That of most desktops and phones. Only here is there a debugging protocol, for screens, colour schemes and faults.
    Chromium,
    /// Firefox's own.
    Firefox,
    /// The tablet's, in its edition for GTK.
    WebKit,
}

/// Makes of each journey, a function that is given an engine, three tests: `journey::chromium` and so on.
#[macro_export]
macro_rules! in_every_engine {
    ($($journey:ident),+ $(,)?) => { $(
        mod $journey {
            use ::tests::engine::Engine;

            #[::tokio::test(flavor = "multi_thread")]
            async fn chromium() -> ::thirtyfour::error::WebDriverResult<()> {
                super::$journey(Engine::Chromium).await
            }

            #[::tokio::test(flavor = "multi_thread")]
            async fn firefox() -> ::thirtyfour::error::WebDriverResult<()> {
                super::$journey(Engine::Firefox).await
            }

            #[::tokio::test(flavor = "multi_thread")]
            async fn webkit() -> ::thirtyfour::error::WebDriverResult<()> {
                super::$journey(Engine::WebKit).await
            }
        }
    )+ };
}

impl Engine {
    /// Whether a browser that names itself so has this engine. Those of other engines claim kinship for old pages' sake.
    #[must_use]
    pub fn names_itself(self, agent: &str) -> bool {
        match self {
            Self::Chromium => agent.contains("Chrome/"),
            Self::Firefox => agent.contains("Firefox/") && agent.contains("Gecko/"),
            Self::WebKit => agent.contains("AppleWebKit/") && !agent.contains("Chrome/"),
        }
    }

    /// What a new browser is asked to be.
    #[must_use]
    pub fn capabilities(self) -> Value {
        match self {
            Self::Chromium => json!({
                "browserName": "chrome",
                "goog:loggingPrefs": { "browser": "ALL" },
                "goog:chromeOptions": {
                    "binary": "/usr/bin/chromium",
                    "args": [
                        "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                        "--disable-background-networking", "--disable-component-update", "--disable-sync",
                    ],
                },
            }),
            Self::Firefox => json!({
                "browserName": "firefox",
                "moz:firefoxOptions": {
                    "binary": "/usr/bin/firefox-esr",
                    "args": ["-headless"],
                    "prefs": {
                        // Else the console of the pages would not be printed.
                        "devtools.console.stdout.content": true,
                        // What it repairs in other people's pages would be printed among it.
                        "extensions.webcompat.perform_injections": false,
                        "extensions.webcompat.perform_ua_overrides": false,
                        "extensions.webcompat.enable_interventions": false,
                        "extensions.webcompat.enable_shims": false,
                    },
                },
            }),
            // The driver knows which browser it belongs to.
            Self::WebKit => json!({}),
        }
    }

    const fn driver(self) -> &'static str {
        match self {
            Self::Chromium => "chromedriver",
            Self::Firefox => "geckodriver",
            Self::WebKit => "WebKitWebDriver",
        }
    }
}

/// A running driver. Each browser has its own, for the drivers of Firefox and WebKit steer no more than one.
///
/// A shell is between, with a group of processes to itself: when its input ends, because the driver is dropped or the
/// tests are over, however they ended, it ends driver and browser.
pub struct Driver {
    shell: Child,
    /// Where it listens.
    pub address: String,
    printed: Arc<Mutex<String>>,
}

/// Starts the words after it and, when its input ends, asks what it started to end, then ends whatever is left.
const SHELL: &str = r#""$@" & read -r _; kill $!; wait; kill -KILL 0"#;

impl Driver {
    /// Starts a driver and waits until it listens.
    ///
    /// # Panics
    /// When it does not.
    #[must_use]
    pub fn start(engine: Engine) -> Self {
        let name = engine.driver();
        let port = TcpListener::bind(("127.0.0.1", 0)).and_then(|listener| listener.local_addr());
        let port = port.expect("a free port").port();
        let mut shell = Command::new("sh")
            .args(["-c", SHELL, "sh", name, &format!("--port={port}")])
            // WebKit's sandbox does not work for root; the only pages it is shown are ours.
            .env("WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS", "1")
            .process_group(0)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("a shell");
        let printed = Arc::default();
        hear(shell.stdout.take().expect("its output"), &printed);
        hear(shell.stderr.take().expect("its complaints"), &printed);
        let driver = Self { shell, address: format!("http://127.0.0.1:{port}"), printed };
        let started = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(started.elapsed() < PATIENCE, "{name} does not listen; run `cargo xtask test`");
            std::thread::sleep(Duration::from_millis(10));
        }
        driver
    }

    /// What driver and browser have printed before the line with this word, which is forgotten with it. Nothing as long
    /// as the word has not come.
    #[must_use]
    pub fn printed_before(&self, word: &str) -> Option<String> {
        let mut printed = self.printed.lock().unwrap_or_else(PoisonError::into_inner);
        let (before, rest) = printed.split_once(word)?;
        let (before, rest) =
            (before.rsplit_once('\n').map_or("", |(before, _)| before).to_owned(), rest.to_owned());
        *printed = rest;
        Some(before)
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        self.shell.stdin.take();
        self.shell.wait().ok();
    }
}

/// Takes in what is printed, line by line, until nothing more can come.
fn hear(output: impl Read + Send + 'static, printed: &Arc<Mutex<String>>) {
    let printed = Arc::clone(printed);
    std::thread::spawn(move || {
        for line in BufReader::new(output).lines().map_while(Result::ok) {
            let mut printed = printed.lock().unwrap_or_else(PoisonError::into_inner);
            printed.push_str(&line);
            printed.push('\n');
        }
    });
}
