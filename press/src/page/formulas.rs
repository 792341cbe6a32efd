//! Formulas: LaTeX in the text, MathML in the page, without script, style or picture.

use crate::markdown::tree::{Element, Kind, nodes};
use math_core::{LatexToMathML, MathCoreConfig, MathDisplay};

/// Turns formulas into MathML.
pub struct Formulas(LatexToMathML);

/// The content policy allows no style attribute; math-core needs these two, to line up equations, and the stylesheet has them.
const ALIGNED: [(&str, &str); 2] = [
    (" style=\"text-align: right;justify-items: end;padding-right: 0;\"", " class=\"right\""),
    (" style=\"text-align: left;justify-items: start;padding-left: 0;\"", " class=\"left\""),
];

impl Formulas {
    /// Ready to convert.
    ///
    /// # Errors
    /// Never with this configuration, which has no macros of its own; what math-core says otherwise.
    pub fn new() -> Result<Self, String> {
        LatexToMathML::new(MathCoreConfig::default()).map(Self).map_err(|(error, ..)| error.to_string())
    }

    /// A formula as it is in a page: one that is on its own can be moved sideways.
    ///
    /// # Errors
    /// What is wrong with the formula, in words.
    pub fn printed(&self, latex: &str, display: MathDisplay) -> Result<Kind, String> {
        let formula = Kind::Html(self.mathml(latex, display)?);
        Ok(match display {
            MathDisplay::Inline => formula,
            MathDisplay::Block => Kind::Element(
                Element::new("span", nodes![formula])
                    .with("class", "formula")
                    .with("role", "group")
                    .with("aria-label", "Formula")
                    .with("tabindex", "0"),
            ),
        })
    }

    fn mathml(&self, latex: &str, display: MathDisplay) -> Result<String, String> {
        let found = self.0.convert_with_local_state(latex, display).map_err(|error| error.to_string())?;
        let plain = ALIGNED.iter().fold(found.mathml, |mathml, (style, class)| mathml.replace(style, class));
        if plain.contains(" style=") {
            return Err("needs a style attribute, which the content policy forbids".into());
        }
        Ok(plain)
    }
}
