//! A browser with the book open in it.
//!
//! Every journey opens its own and starts with nothing remembered. It is closed when it is dropped, which needs a runtime
//! of several threads: `#[tokio::test(flavor = "multi_thread")]`.

use std::ops::Deref;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::error::WebDriverResult;
use thirtyfour::{By, Capabilities, WebDriver, WebElement};

use crate::site::given;

/// How long a page may take for anything before a journey gives up.
const PATIENCE: Duration = Duration::from_secs(20);

/// A phone held upright and a tablet on the bench, in CSS pixels.
pub const PHONE: (u32, u32) = (390, 844);
/// See [`PHONE`].
pub const TABLET: (u32, u32) = (810, 1080);

/// A browser of its own for one journey.
pub struct Browser {
    driver: WebDriver,
    book: String,
}

impl Deref for Browser {
    type Target = WebDriver;

    fn deref(&self) -> &WebDriver {
        &self.driver
    }
}

impl Browser {
    /// Opens a browser on a tablet's screen.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open() -> WebDriverResult<Self> {
        Self::open_at(given("BOOK_URL")).await
    }

    /// Opens a browser for the book that stands at an address.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub async fn open_at(book: String) -> WebDriverResult<Self> {
        let chromium = json!({
            "browserName": "chrome",
            "goog:loggingPrefs": { "browser": "ALL" },
            "goog:chromeOptions": {
                "binary": "/usr/bin/chromium",
                "args": [
                    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                    "--disable-background-networking", "--disable-component-update", "--disable-sync",
                ],
            },
        });
        let driver =
            WebDriver::new(given("WEBDRIVER_URL"), serde_json::from_value::<Capabilities>(chromium)?).await?;
        let browser = Self { driver, book };
        browser.screen(TABLET).await?;
        Ok(browser)
    }

    /// Opens a page of the book.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn page(&self, path: &str) -> WebDriverResult<()> {
        self.driver.goto(format!("{}{path}", self.book)).await
    }

    /// Opens a page and waits until all its calculators are alive.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn living_page(&self, path: &str) -> WebDriverResult<()> {
        self.page(path).await?;
        self.until(
            &format!("the calculators of {path} come alive"),
            "return !document.querySelector('[data-calculator]:not([data-alive])')",
        )
        .await
    }

    /// Runs a script in the page and gives what it returns.
    ///
    /// # Errors
    /// When the script throws.
    pub async fn script(&self, script: &str) -> WebDriverResult<Value> {
        Ok(self.driver.execute(script, Vec::new()).await?.json().clone())
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
        self.driver.find(By::Css(selector)).await
    }

    /// Gives the browser a command of its debugging protocol.
    ///
    /// # Errors
    /// When the browser refuses it.
    pub async fn debug(&self, command: &str, with: Value) -> WebDriverResult<Value> {
        self.driver.cdp().send_raw(command, with).await
    }

    /// Shows pages on a screen of this size.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn screen(&self, (width, height): (u32, u32)) -> WebDriverResult<()> {
        let screen = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": true });
        self.debug("Emulation.setDeviceMetricsOverride", screen).await.map(drop)
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

    /// What the browser has complained of since it was last asked.
    ///
    /// # Errors
    /// When the browser fails.
    pub async fn complaints(&self) -> WebDriverResult<Vec<String>> {
        let log = self.driver.browser_log().await?;
        Ok(log.into_iter().map(|entry| format!("{}: {}", entry.level, entry.message)).collect())
    }
}
