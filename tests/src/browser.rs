//! A browser with the book open in it.
//!
//! Every journey opens its own and starts with nothing remembered. It is closed when it is dropped, which needs a runtime
//! of several threads: `#[tokio::test(flavor = "multi_thread")]`.

use std::ops::Deref;
use std::path::Path;
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

/// A browser of its own for one journey.
pub struct Browser {
    // Closed first, while there is still a driver to close it.
    session: WebDriver,
    engine: Engine,
    driver: Driver,
    book: String,
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

    /// Opens a browser for the book that stands at an address.
    ///
    /// # Errors
    /// When it cannot be opened.
    ///
    /// # Panics
    /// When it turns out to have another engine.
    pub async fn open_at(engine: Engine, book: String) -> WebDriverResult<Self> {
        Self::open_as(engine, book, engine.capabilities()).await
    }

    /// Opens a Chromium that remembers in a folder what it keeps, for whoever opens it there again.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open_in(profile: &Path) -> WebDriverResult<Self> {
        let mut wanted = Engine::Chromium.capabilities();
        if let Some(words) = wanted["goog:chromeOptions"]["args"].as_array_mut() {
            words.push(format!("--user-data-dir={}", profile.display()).into());
        }
        Self::open_as(Engine::Chromium, given("BOOK_URL"), wanted).await
    }

    async fn open_as(engine: Engine, book: String, wanted: Value) -> WebDriverResult<Self> {
        let driver = Driver::start(engine);
        let wanted = serde_json::from_value::<Capabilities>(wanted)?;
        let session = WebDriver::new(&driver.address, wanted).await?;
        let browser = Self { session, engine, driver, book };
        let agent = browser.script("return navigator.userAgent").await?;
        assert!(
            agent.as_str().is_some_and(|agent| engine.names_itself(agent)),
            "{engine:?} was asked for and {agent} came"
        );
        browser.screen(TABLET).await?;
        Ok(browser)
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

    /// Waits until a script returns something true.
    ///
    /// # Errors
    /// When the script throws.
    ///
    /// # Panics
    /// When what is waited for does not come.
    pub async fn until(&self, what: &str, script: &str) -> WebDriverResult<()> {
        let started = Instant::now();
        while self.script(script).await? != Value::Bool(true) {
            assert!(started.elapsed() < PATIENCE, "waited in vain: {what}");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        Ok(())
    }

    /// The only element that a selector finds, or the first.
    ///
    /// # Errors
    /// When there is none.
    pub async fn element(&self, selector: &str) -> WebDriverResult<WebElement> {
        self.session.find(By::Css(selector)).await
    }

    /// Gives the browser a command of its debugging protocol, which only Chromium has.
    ///
    /// # Errors
    /// When the browser refuses it.
    pub async fn debug(&self, command: &str, with: Value) -> WebDriverResult<Value> {
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
            self.debug("Emulation.setDeviceMetricsOverride", screen).await.map(drop)
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
        const WORD: &str = "Whatever was complained of stands before this.";
        self.script(&format!("console.error({WORD:?})")).await?;
        let started = Instant::now();
        loop {
            if let Some(printed) = self.driver.printed_before(WORD) {
                // The browser has troubles of its own: `console.error: NAME: …` and `JavaScript error: chrome://…`.
                // A page's words stand in quotes, and its values in brackets.
                let complaint = |line: &&str| match line.split_once(": ") {
                    Some((of, what)) if of.starts_with("console.") => what.starts_with(['"', '(']),
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
