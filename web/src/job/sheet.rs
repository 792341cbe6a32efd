//! The hand-over sheet of the current job, or of a link; and the link of a sheet.

use job::Job;
use job::share::sheet_link;
use web_sys::Element;

use super::mount::addresses;
use super::store::Store;
use super::view;
use crate::platform::{page, share};

/// Shows the hand-over sheet in the page's address, else that of the current job.
pub(super) async fn set(store: &Store) {
    let (came, unread) = match page::fragment().as_deref().and_then(sheet_link::read) {
        Some(Ok(came)) => (Some(came), None),
        Some(Err(why)) => (None, Some(why)),
        None => (None, None),
    };
    let html = match came {
        Some(came) => view::came(&came.doubts).into_string() + &view::sheet(&came.job, &[]).into_string(),
        None => unread.map(|why| view::unread(&why).into_string()).unwrap_or_default() + &own(store).await,
    };
    page::set_html("sheet-content", &html);
}

/// The hand-over sheet of the current job and what makes a link of it; without a job blanks, as printed.
async fn own(store: &Store) -> String {
    let found = store.on_bench().await;
    let id = found.as_ref().map(|job| job.id.as_str());
    page::set_attribute(page::by_id("sheet").as_ref(), "data-of", id);
    let Some(job) = found else { return view::sheet(&Job::default(), &[]).into_string() };
    let pictures = addresses(store, &job).await;
    view::sheet(&job, &pictures).into_string() + &view::link().into_string()
}

pub(super) async fn pressed(store: &Store, button: &Element) {
    match button.get_attribute("data-act").as_deref() {
        Some("own-sheet") => {
            page::set_fragment("");
            set(store).await;
        }
        Some("sheet-link") => {
            // Of the job whose hand-over sheet this is.
            let id = page::closest(button, "[data-of]").and_then(|sheet| sheet.get_attribute("data-of"));
            if let Ok(job) = store.load(&id.unwrap_or_default()).await {
                let address = page::address(&sheet_link::written(&job));
                page::set_html("sheet-link", &view::link_made(&address, share::takes_links()).into_string());
            }
        }
        _ => {}
    }
}

/// Copies or sends the link that stands there. Nothing is waited for before: the browser allows it for the press alone.
pub(super) fn given(button: &Element) {
    let address = page::first("#sheet-link a").and_then(|link| link.get_attribute("href"));
    share::give(button, "A hand-over sheet", &address.unwrap_or_default());
}
