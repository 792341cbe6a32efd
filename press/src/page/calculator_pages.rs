//! The page of each calculator, which links from everywhere lead to.

use super::{Context, Draft};
use crate::address::relative;
use crate::calculators;
use crate::fault::nearest;
use crate::markdown::tree;
use crate::read::book::Page;
use crate::read::front_matter::Kind;
use crate::source_text::SourceLocation;
use std::collections::BTreeMap;

/// How a link to a calculator begins in the content.
pub const SCHEME: &str = "calculator:";

/// The address of each calculator's page, from the root of the book, and the id of its first block there.
pub struct CalculatorPages<'a>(BTreeMap<String, (&'a str, String)>);

impl<'a> CalculatorPages<'a> {
    /// Finds them: the first page of its kind that holds the calculator, or else the first page.
    #[must_use]
    pub fn of(drafts: &[Draft<'a>]) -> Self {
        let mut pages = BTreeMap::new();
        let (own, others): (Vec<_>, Vec<_>) =
            drafts.iter().partition(|draft| draft.page.front.kind == Kind::Calculator);
        for draft in own.into_iter().chain(others) {
            let mut here = BTreeMap::new();
            tree::visit(&draft.nodes, &mut |node| {
                if let tree::Kind::Calculator(block) = &node.kind {
                    here.entry(block.calculator.clone())
                        .or_insert((draft.page.path.as_str(), block.id.clone()));
                }
            });
            for (calculator, home) in here {
                pages.entry(calculator).or_insert(home);
            }
        }
        Self(pages)
    }

    /// The page of a calculator, from the root of the book, and the id of its block there.
    #[must_use]
    pub fn home(&self, calculator: &str) -> Option<(&str, &str)> {
        self.0.get(calculator).map(|(path, block)| (*path, block.as_str()))
    }

    /// The address of a calculator's page seen from `page`. Where no page holds it, a fault at `place`.
    pub fn address(
        &self,
        calculator: &str,
        page: &Page,
        place: &SourceLocation,
        context: &Context<'_>,
    ) -> Option<String> {
        let found = self.home(calculator).map(|(path, _)| relative(&page.path, path));
        if found.is_none() {
            let right = if calculators::ids().any(|known| known == calculator) {
                "give it a page with a calculator block".to_owned()
            } else {
                nearest(calculator, self.0.keys().map(String::as_str))
            };
            let written = format!("link \"{SCHEME}{calculator}\"");
            context.faults.add(place, written, "no page holds this calculator", right);
        }
        found
    }
}
