//! Shows a calculator.
use calc_core::calculator::Inputs;
/// One calculator as it stands in a page.
pub struct Block {
    /// Anchor of the block, unique in its page.
    pub id: String,
    /// Which calculator.
    pub calculator: String,
    /// The inputs that differ from the calculator's defaults.
    pub inputs: Inputs,
}
/// The block as HTML, with the default already worked.
#[must_use]
pub fn printed(block: &Block) -> String {
    format!("<section class=\"calculator\" id=\"{}\" data-calculator=\"{}\"></section>", block.id, block.calculator)
}
