//! A tree as HTML: the one place where words are escaped and lines are broken.

use super::tree::{Element, Kind, Node};

/// Elements that hold nothing and have no end.
const VOID: [&str; 2] = ["br", "hr"];

/// Elements that begin on a line of their own, wherever the one before ended.
const BEGIN_A_LINE: [&str; 6] = ["p", "ul", "ol", "li", "blockquote", "hr"];

/// Elements whose content begins on the next line.
const OPEN_A_LINE: [&str; 7] = ["ul", "ol", "blockquote", "section", "table", "thead", "tbody"];

/// Elements that end their line.
const END_A_LINE: [&str; 17] = [
    "p",
    "ul",
    "ol",
    "li",
    "blockquote",
    "section",
    "table",
    "thead",
    "tbody",
    "tr",
    "br",
    "hr",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
];

/// The nodes as HTML. What no pass has replaced is not written.
#[must_use]
pub fn html(nodes: &[Node]) -> String {
    let mut html = String::new();
    write(nodes, &mut html);
    html
}

fn write(nodes: &[Node], html: &mut String) {
    for node in nodes {
        match &node.kind {
            Kind::Element(element) => write_element(element, html),
            Kind::Text(words) => escape(words, html),
            Kind::Code(code) => {
                html.push_str("<code>");
                escape(code, html);
                html.push_str("</code>");
            }
            Kind::Html(finished) => html.push_str(finished),
            Kind::Group(nodes) => write(nodes, html),
            Kind::Link { .. }
            | Kind::Formula { .. }
            | Kind::Figure { .. }
            | Kind::Block { .. }
            | Kind::Calculator(_) => {}
        }
    }
}

fn write_element(Element { name, attributes, children }: &Element, html: &mut String) {
    if BEGIN_A_LINE.contains(name) && !html.is_empty() && !html.ends_with('\n') {
        html.push('\n');
    }
    html.extend(["<", name]);
    for (attribute, value) in attributes {
        html.extend([" ", attribute]);
        if !value.is_empty() {
            html.push_str("=\"");
            escape_quoted(value, html);
            html.push('"');
        }
    }
    html.push('>');
    if OPEN_A_LINE.contains(name) {
        html.push('\n');
    }
    write(children, html);
    if !VOID.contains(name) {
        html.extend(["</", name, ">"]);
    }
    if END_A_LINE.contains(name) {
        html.push('\n');
    }
}

/// Words made safe between tags.
fn escape(words: &str, html: &mut String) {
    for letter in words.chars() {
        match letter {
            '&' => html.push_str("&amp;"),
            '<' => html.push_str("&lt;"),
            '>' => html.push_str("&gt;"),
            other => html.push(other),
        }
    }
}

/// A value made safe between quotes.
fn escape_quoted(value: &str, html: &mut String) {
    for (at, part) in value.split('"').enumerate() {
        if at > 0 {
            html.push_str("&quot;");
        }
        escape(part, html);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::markdown::tree::nodes;

    fn written(nodes: Vec<Node>) -> String {
        html(&nodes)
    }

    #[test]
    fn words_and_values_are_escaped_and_finished_html_is_not() {
        let link =
            Element::new("a", nodes!["R < 1 & \"so\""]).with("href", "a?\"b\"&c").with("data-lone", "");
        assert_eq!(
            written(nodes![link, Kind::html("<i>&amp;</i>")]),
            "<a href=\"a?&quot;b&quot;&amp;c\" data-lone>R &lt; 1 &amp; \"so\"</a><i>&amp;</i>"
        );
    }

    #[test]
    fn blocks_stand_on_lines_of_their_own() {
        let list =
            Element::new("ul", nodes![Element::new("li", nodes!["a", Element::new("p", nodes!["b"])])]);
        assert_eq!(written(nodes!["x", list]), "x\n<ul>\n<li>a\n<p>b</p>\n</li>\n</ul>\n");
    }
}
