//! A browser with the book open in it.
//!
//! A journey has it to itself and starts with nothing remembered, save that the book may lie on the device already
//! ([`Browser::open_new`] has not even that).
//! Starting a browser costs seconds, so that one that is dropped is handed on to the next journey of its engine, cleared,
//! unless something was done to it that lasts.

use std::ops::Deref;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::error::WebDriverResult;
use thirtyfour::{By, Capabilities, WebDriver, WebElement};

use crate::engine::{Driver, Engine};
use crate::site::given;

/// How long a page may take for anything before a journey gives up.
const PATIENCE: Duration = Duration::from_secs(20);

/// A phone held upright and a tablet on the bench, in CSS pixels.
pub const PHONE: (u32, u32) = (390, 844);
/// See [`PHONE`].
pub const TABLET: (u32, u32) = (810, 1080);

/// Browsers that a journey is done with.
static IDLE: Mutex<Vec<Idle>> = Mutex::new(Vec::new());

struct Idle {
    // Closed first, while there is still a driver to close it.
    session: WebDriver,
    engine: Engine,
    driver: Arc<Driver>,
}

/// A browser for one journey.
pub struct Browser {
    // Closed first, while there is still a driver to close it.
    session: WebDriver,
    engine: Engine,
    driver: Arc<Driver>,
    book: String,
    /// Whether it would not be as new for another journey.
    worn: AtomicBool,
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.worn.load(Ordering::Relaxed) && !std::thread::panicking() {
            let (session, driver) = (self.session.clone(), Arc::clone(&self.driver));
            let idle = Idle { session, engine: self.engine, driver };
            IDLE.lock().unwrap_or_else(PoisonError::into_inner).push(idle);
        }
    }
}

impl Deref for Browser {
    type Target = WebDriver;

    fn deref(&self) -> &WebDriver {
        &self.session
    }
}

impl Browser {
    /// Opens a browser on a tablet's screen.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open(engine: Engine) -> WebDriverResult<Self> {
        Self::open_at(engine, given("BOOK_URL")).await
    }

    /// Opens a browser for the book that is at an address.
    ///
    /// # Errors
    /// When it cannot be opened.
    ///
    /// # Panics
    /// When it turns out to have another engine.
    pub async fn open_at(engine: Engine, book: String) -> WebDriverResult<Self> {
        // What belongs to files cannot be cleared away from elsewhere.
        let lasting = book.starts_with("file:");
        while !lasting && let Some(browser) = Self::handed_on(engine, &book) {
            // One that a failed journey left behind may be past use.
            if matches!(browser.clear().await, Ok(true)) {
                return Ok(browser);
            }
            browser.worn.store(true, Ordering::Relaxed);
        }
        let browser = Self::start(engine, book, engine.capabilities()).await?;
        browser.worn.store(lasting, Ordering::Relaxed);
        Ok(browser)
    }

    /// Opens a browser that nothing was ever kept in, not even the book.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open_new(engine: Engine) -> WebDriverResult<Self> {
        Self::start(engine, given("BOOK_URL"), engine.capabilities()).await
    }

    /// Opens a Chromium that remembers in a folder what it keeps, for anyone who opens it there again.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open_in(profile: &Path) -> WebDriverResult<Self> {
        let mut wanted = Engine::Chromium.capabilities();
        if let Some(words) = wanted["goog:chromeOptions"]["args"].as_array_mut() {
            words.push(format!("--user-data-dir={}", profile.display()).into());
        }
        let browser = Self::start(Engine::Chromium, given("BOOK_URL"), wanted).await?;
        browser.worn.store(true, Ordering::Relaxed);
        Ok(browser)
    }

    async fn start(engine: Engine, book: String, wanted: Value) -> WebDriverResult<Self> {
        let driver = Arc::new(Driver::start(engine));
        let wanted = serde_json::from_value::<Capabilities>(wanted)?;
        let session = WebDriver::new(&driver.address, wanted).await?;
        let browser = Self { session, engine, driver, book, worn: AtomicBool::new(false) };
        let agent = browser.script("return navigator.userAgent").await?;
        assert!(
            agent.as_str().is_some_and(|agent| engine.names_itself(agent)),
            "{engine:?} was asked for and {agent} came"
        );
        browser.screen(TABLET).await?;
        Ok(browser)
    }

    /// A browser that another journey is done with.
    fn handed_on(engine: Engine, book: &str) -> Option<Self> {
        let mut idle = IDLE.lock().unwrap_or_else(PoisonError::into_inner);
        let at = idle.iter().position(|idle| idle.engine == engine)?;
        let Idle { session, engine, driver } = idle.remove(at);
        Some(Self { session, engine, driver, book: book.to_owned(), worn: AtomicBool::new(false) })
    }

    /// Takes away what an earlier journey left: windows, all that was kept at the book's address save the book itself, and
    /// what the browser complained of. Says whether all of it went.
    async fn clear(&self) -> WebDriverResult<bool> {
        const FORGET: &str = "
            const done = arguments[arguments.length - 1];
            localStorage.clear();
            sessionStorage.clear();
            const gone = ({ name }) => new Promise((resolve, reject) => {
                const request = indexedDB.deleteDatabase(name);
                request.onsuccess = resolve;
                request.onerror = reject;
            });
            indexedDB.databases().then(all => Promise.all(all.map(gone))).then(() => done(true), () => done(false));";
        let windows = self.session.windows().await?;
        let (first, others) = windows.split_first().expect("an open window");
        for window in others {
            self.session.switch_to_window(window.clone()).await?;
            self.session.close_window().await?;
        }
        self.session.switch_to_window(first.clone()).await?;
        // A file on which no script of the book's runs.
        self.page("book.css").await?;
        let gone = self.session.execute_async(FORGET, Vec::new()).await?.convert::<bool>()?;
        self.complaints().await?;
        self.screen(TABLET).await?;
        Ok(gone)
    }

    /// Opens a page of the book.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn page(&self, path: &str) -> WebDriverResult<()> {
        self.session.goto(format!("{}{path}", self.book)).await
    }

    /// Opens a page and waits until all its calculators are alive.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn living_page(&self, path: &str) -> WebDriverResult<()> {
        self.page(path).await?;
        self.until(
            &format!("the calculators and the job of {path} come alive"),
            "return !document.querySelector(':is([data-calculator], [data-job]):not([data-alive])')",
        )
        .await
    }

    /// Runs a script in the page and gives what it returns.
    ///
    /// # Errors
    /// When the script throws.
    pub async fn script(&self, script: &str) -> WebDriverResult<Value> {
        Ok(self.session.execute(script, Vec::new()).await?.json().clone())
    }

    /// Waits until a script returns something true. A script that fails is tried again, too: while a page gives way to
    /// another, a driver has nothing to run it in.
    ///
    /// # Errors
    /// When the script still throws at the end.
    ///
    /// # Panics
    /// When what is waited for does not come.
    pub async fn until(&self, what: &str, script: &str) -> WebDriverResult<()> {
        let started = Instant::now();
        loop {
            match self.script(script).await {
                Ok(Value::Bool(true)) => return Ok(()),
                Ok(found) => assert!(started.elapsed() < PATIENCE, "waited in vain: {what}: {found}"),
                Err(why) if started.elapsed() >= PATIENCE => return Err(why),
                Err(_) => {}
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// The only element that a selector finds, or the first. What sticks to the edge of the screen does not cover it: a
    /// driver scrolls no further than to that edge, where a reader goes on.
    ///
    /// # Errors
    /// When there is none.
    pub async fn element(&self, selector: &str) -> WebDriverResult<WebElement> {
        let found = self.session.find(By::Css(selector)).await?;
        let clear = "
            const within = (edge) => edge && !edge.contains(arguments[0]) ? edge.getBoundingClientRect() : undefined;
            const at = arguments[0].getBoundingClientRect();
            const edges = [...document.querySelectorAll('.bar, .dock')].map(within).filter((edge) => edge);
            const covered = at.top < 0 || at.bottom > innerHeight || edges.some((edge) => at.bottom > edge.top && at.top < edge.bottom);
            const sticks = arguments[0].closest('.bar, .dock, .keys, .run-bar, dialog');
            if (covered && at.height && !sticks) arguments[0].scrollIntoView({ block: 'center' });";
        self.session.execute(clear, vec![found.to_json()?]).await?;
        Ok(found)
    }

    /// The first element that a selector finds, as soon as there is one, in the middle of the screen.
    ///
    /// # Errors
    /// When the browser fails.
    ///
    /// # Panics
    /// When there comes none.
    pub async fn awaited(&self, selector: &str) -> WebDriverResult<WebElement> {
        let script = format!(
            "const found = document.querySelector({selector:?}); found?.scrollIntoView({{ block: 'center' }}); return found"
        );
        let started = Instant::now();
        loop {
            let found = self.session.execute(&*script, Vec::new()).await?;
            if !found.json().is_null() {
                return found.element();
            }
            assert!(started.elapsed() < PATIENCE, "waited in vain: {selector}");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Gives the browser a command of its debugging protocol, which only Chromium has. What it brings about may last.
    ///
    /// # Errors
    /// When the browser refuses it.
    pub async fn debug(&self, command: &str, with: Value) -> WebDriverResult<Value> {
        self.worn.store(true, Ordering::Relaxed);
        self.session.cdp().send_raw(command, with).await
    }

    /// Shows pages on a screen of this size. Elsewhere than in Chromium it is that of the window, of which the browser
    /// takes some of the height for itself, and Firefox shows no window as narrow as a phone.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn screen(&self, (width, height): (u32, u32)) -> WebDriverResult<()> {
        if self.engine == Engine::Chromium {
            let screen = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": true });
            self.session.cdp().send_raw("Emulation.setDeviceMetricsOverride", screen).await.map(drop)
        } else {
            self.session.set_window_rect(0, 0, width, height).await.map(drop)
        }
    }

    /// Shows pages as a reader sees them who prefers `light` or `dark`.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn scheme(&self, scheme: &str) -> WebDriverResult<()> {
        let media = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.debug("Emulation.setEmulatedMedia", media).await.map(drop)
    }

    /// Runs a script at the start of every page from now on, before the page's own.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn before_pages(&self, script: &str) -> WebDriverResult<()> {
        self.debug("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script })).await.map(drop)
    }

    /// What the browser has complained of since it was last asked. WebKit's console cannot be read from outside (when it
    /// is steered, it prints nothing): there it is what the page itself complains of.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn complaints(&self) -> WebDriverResult<Vec<String>> {
        match self.engine {
            Engine::Chromium => {
                let log = self.session.browser_log().await?;
                Ok(log.into_iter().map(|entry| format!("{}: {}", entry.level, entry.message)).collect())
            }
            Engine::Firefox => self.printed().await,
            Engine::WebKit => {
                let said = "return [...document.querySelectorAll('.stopped')].map(said => said.innerText)";
                Ok(serde_json::from_value(self.script(said).await?)?)
            }
        }
    }
    /// What has come from Firefox's console since it was last asked. It comes in its own time: a word of ours shows when
    /// all before it is there, and that the console can be read at all.
    async fn printed(&self) -> WebDriverResult<Vec<String>> {
        const WORD: &str = "What was complained of is before this.";
        const REPAIRED: &str = "\"Skipping\" ";
        self.script(&format!("console.error({WORD:?})")).await?;
        let started = Instant::now();
        loop {
            if let Some(printed) = self.driver.printed_before(WORD) {
                // The browser has troubles of its own: `console.error: NAME: …`, `JavaScript error: chrome://…`,
                // errors from `resource://…`; and it tells which sites' pages it repairs. A page's words are in quotes, and
                // its values in brackets.
                let complaint = |line: &&str| match line.split_once(": ") {
                    Some((of, what)) if of.starts_with("console.") && of != "console.info" => {
                        what.starts_with(['"', '('])
                            && !what.contains("\"resource://")
                            && !what.starts_with(REPAIRED)
                    }
                    Some(("JavaScript error", what)) => what.starts_with("http") || what.starts_with("file"),
                    _ => false,
                };
                return Ok(printed.lines().filter(complaint).map(str::to_owned).collect());
            }
            assert!(started.elapsed() < PATIENCE, "Firefox's console cannot be read");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }
}
