//! The pages that press writes itself, from what `calc-core` knows and from the tables that the tests read.

pub mod checks;
pub mod sources;
pub mod valves;

use crate::fault::Faults;
use crate::read::book::Page;
use std::path::Path;

/// All of them in reading order, each with whether the contents of the chapter list it.
#[must_use]
pub fn pages(workspace: &Path, faults: &Faults) -> Vec<(Page, bool)> {
    let listed = |page| (page, true);
    // The valve table lists the pages of the valves; in every contents they would be a list of type numbers.
    let unlisted = |page| (page, false);
    let mut pages = vec![listed(valves::table())];
    pages.extend(valves::pages().map(unlisted));
    pages.extend(checks::page(workspace, faults).map(listed));
    pages.push(listed(sources::page()));
    pages
}
