//! The tree: what is in a page, from the text down to its words.
//!
//! Elements and words come of Markdown or of what press writes itself. [`Kind::Html`] is finished: calculators, drawings and
//! formulas, which nothing looks into any more. The other kinds are yet to be replaced by a pass.

use crate::source_text::{SourceLocation, SourceText};
use math_core::MathDisplay;
use maud::Markup;

/// Nodes in a row; words, elements and `Markup` become nodes.
macro_rules! nodes {
    ($($node:expr),* $(,)?) => { vec![$($crate::markdown::tree::Node::from($node)),*] };
}
pub(crate) use nodes;

/// What stands somewhere in a page.
#[derive(Debug, Clone)]
pub struct Node {
    /// What it is.
    pub kind: Kind,
    /// Where it was written; `None` of what press writes itself.
    pub place: Option<SourceLocation>,
}

/// What a node is.
#[derive(Debug, Clone)]
pub enum Kind {
    /// An HTML element.
    Element(Element),
    /// Words, not escaped.
    Text(String),
    /// Code in a line of text, not escaped.
    Code(String),
    /// Finished HTML, which goes into the page as it is.
    Html(String),
    /// Several nodes that stand where one stood.
    Group(Vec<Node>),
    /// A link as it was written, and what it is around.
    Link {
        /// Where it leads, in the writer's terms: `../1-survey/index.md#list`, `source:ID`.
        to: String,
        /// Its words.
        inner: Vec<Node>,
    },
    /// A formula in LaTeX.
    Formula {
        /// The LaTeX.
        latex: String,
        /// Whether it is in a line or on its own.
        display: MathDisplay,
    },
    /// A figure that stands alone between blank lines.
    Figure {
        /// The way to its SVG file from the file it is named in.
        file: String,
        /// What is below it.
        caption: String,
    },
    /// A fenced block.
    Block {
        /// The word behind the fence, which says what it is.
        word: String,
        /// What is in it.
        body: SourceText,
    },
    /// A calculator, found sound; it is printed when the pages of all others are known.
    Calculator(web::Block),
}

/// An HTML element.
#[derive(Debug, Clone)]
pub struct Element {
    /// Its name, in small letters.
    pub name: &'static str,
    /// Its attributes in order, values not escaped; an empty value is written as the bare name.
    pub attributes: Vec<(&'static str, String)>,
    /// What is in it.
    pub children: Vec<Node>,
}

impl Element {
    /// An element without attributes.
    pub fn new(name: &'static str, children: Vec<Node>) -> Self {
        Self { name, attributes: Vec::new(), children }
    }

    /// A heading of the second level.
    #[must_use]
    pub fn heading(id: &str, words: &str) -> Self {
        Self::new("h2", nodes![words]).with("id", id)
    }

    /// The same with one attribute more.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((name, value.into()));
        self
    }

    /// The value of an attribute.
    #[must_use]
    pub fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(known, _)| *known == name).map(|(_, value)| value.as_str())
    }

    /// The level of a heading, 1 to 6; `None` of other elements.
    #[must_use]
    pub fn heading_level(&self) -> Option<u8> {
        let level = HEADINGS.iter().position(|name| *name == self.name)?;
        u8::try_from(level + 1).ok()
    }

    /// Written at this place.
    #[must_use]
    pub fn at(self, place: SourceLocation) -> Node {
        Node { kind: Kind::Element(self), place: Some(place) }
    }
}

/// Headings by their level.
pub const HEADINGS: [&str; 6] = ["h1", "h2", "h3", "h4", "h5", "h6"];

impl Kind {
    /// Written at this place.
    #[must_use]
    pub fn at(self, place: SourceLocation) -> Node {
        Node { kind: self, place: Some(place) }
    }

    /// Finished HTML that press wrote.
    #[must_use]
    pub fn html(html: impl Into<String>) -> Self {
        Self::Html(html.into())
    }
}

impl From<Kind> for Node {
    fn from(kind: Kind) -> Self {
        Self { kind, place: None }
    }
}

impl From<Element> for Node {
    fn from(element: Element) -> Self {
        Kind::Element(element).into()
    }
}

impl From<&str> for Node {
    fn from(words: &str) -> Self {
        Kind::Text(words.to_owned()).into()
    }
}

impl From<String> for Node {
    fn from(words: String) -> Self {
        Kind::Text(words).into()
    }
}

impl From<Markup> for Node {
    fn from(html: Markup) -> Self {
        Kind::Html(html.into_string()).into()
    }
}

impl From<Vec<Node>> for Node {
    fn from(nodes: Vec<Node>) -> Self {
        Kind::Group(nodes).into()
    }
}

impl Node {
    fn children(&self) -> &[Self] {
        match &self.kind {
            Kind::Element(Element { children, .. })
            | Kind::Group(children)
            | Kind::Link { inner: children, .. } => children,
            _ => &[],
        }
    }

    fn children_mut(&mut self) -> &mut [Self] {
        match &mut self.kind {
            Kind::Element(Element { children, .. })
            | Kind::Group(children)
            | Kind::Link { inner: children, .. } => children,
            _ => &mut [],
        }
    }

    /// The element that it is, if it is one.
    #[must_use]
    pub fn element(&self) -> Option<&Element> {
        if let Kind::Element(element) = &self.kind { Some(element) } else { None }
    }
}

/// Looks at every node in the order of the page, each before what is in it.
pub fn visit<'t>(nodes: &'t [Node], look: &mut impl FnMut(&'t Node)) {
    for node in nodes {
        look(node);
        visit(node.children(), look);
    }
}

/// Changes every node in the order of the page, each before what is in it then.
pub fn change(nodes: &mut [Node], one: &mut impl FnMut(&mut Node)) {
    for node in nodes {
        one(node);
        change(node.children_mut(), one);
    }
}

/// The words of nodes, without what marks them; of a formula its LaTeX.
#[must_use]
pub fn words(nodes: &[Node]) -> String {
    let mut words = String::new();
    visit(nodes, &mut |node| match &node.kind {
        Kind::Text(text) if text == "\n" => words.push(' '),
        Kind::Text(text) | Kind::Code(text) | Kind::Formula { latex: text, .. } => words.push_str(text),
        _ => {}
    });
    words
}
