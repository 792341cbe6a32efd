//! What differs between two states of an element's HTML. Where both have the same elements in the same order, it is
//! enough to set the texts and attributes that are others: the browser then keeps its elements, works out no more of the
//! page again than has changed, and anyone who is in a link or a table stays there.
//!
//! The HTML is our own (`maud`): every attribute in double quotes or bare, every element closed or void, `<`, `>`, `&`
//! and `"` escaped. What it is not built of is none of our business, and is set as a whole.

/// A text or an attribute that is another.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Change {
    /// Which node, counted over elements and texts in the order of the document.
    pub(crate) node: usize,
    /// The attribute; `None` for the text itself.
    pub(crate) attribute: Option<String>,
    /// The text that it replaces.
    pub(crate) was: String,
    /// The text that is put in its place.
    pub(crate) value: String,
}

/// A piece of HTML: `<p class="a">`, `</p>`, or what is between two of them.
fn pieces(html: &str) -> impl Iterator<Item = &str> {
    let mut rest = html;
    std::iter::from_fn(move || {
        let end = match rest.strip_prefix('<') {
            // A `>` in an attribute is escaped, so the first one closes.
            Some(tag) => tag.find('>').map_or(rest.len(), |at| at + 2),
            None => rest.find('<').unwrap_or(rest.len()),
        };
        let (piece, after) = rest.split_at(end);
        rest = after;
        (!piece.is_empty()).then_some(piece)
    })
}

/// The name of a tag and its attributes: of `<a href="b" c>`, `a`, and `href` with `b`, `c` with nothing.
fn tag(piece: &str) -> (&str, impl Iterator<Item = (&str, &str)>) {
    let inside = piece.trim_matches(['<', '>']);
    let (name, mut rest) = inside.split_once(' ').unwrap_or((inside, ""));
    let attributes = std::iter::from_fn(move || {
        let end = rest.find(['=', ' ']).unwrap_or(rest.len());
        let (attribute, after) = rest.split_at(end);
        let quoted = after.strip_prefix("=\"").and_then(|value| value.split_once('"'));
        let (value, after) = quoted.unwrap_or(("", after));
        rest = after.strip_prefix(' ').unwrap_or(after);
        (!attribute.is_empty()).then_some((attribute, value))
    });
    (name, attributes)
}

fn unescaped(text: &str) -> String {
    let mut parts = text.split('&');
    let mut plain = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (name, rest) = part.split_once(';').unwrap_or(("", part));
        plain.push(match name {
            "lt" => '<',
            "gt" => '>',
            "quot" => '"',
            // What the view writes knows no other.
            _ => '&',
        });
        plain.push_str(rest);
    }
    plain
}

/// What has to be set to make `now` of `before`, and how many elements there are to be; `None` where they are others.
pub(crate) fn changes(before: &str, now: &str) -> Option<(u32, Vec<Change>)> {
    let (mut before, mut now) = (pieces(before), pieces(now));
    let mut changes = vec![];
    let (mut node, mut elements) = (0, 0);
    loop {
        let (old, new) = match (before.next(), now.next()) {
            (Some(old), Some(new)) => (old, new),
            (None, None) => return Some((elements, changes)),
            _ => return None,
        };
        if old.starts_with('<') != new.starts_with('<') {
            return None;
        }
        if old.starts_with("</") || new.starts_with("</") {
            if old != new {
                return None;
            }
            continue;
        }
        if old != new {
            if old.starts_with('<') {
                attributes(node, old, new, &mut changes)?;
            } else {
                changes.push(Change { node, attribute: None, was: unescaped(old), value: unescaped(new) });
            }
        }
        node += 1;
        elements += u32::from(new.starts_with('<'));
    }
}

fn attributes(node: usize, old: &str, new: &str, changes: &mut Vec<Change>) -> Option<()> {
    let ((old_name, mut old), (new_name, mut new)) = (tag(old), tag(new));
    if old_name != new_name {
        return None;
    }
    loop {
        match (old.next(), new.next()) {
            (Some((name, was)), Some((same, is))) if name == same => {
                if was != is {
                    let attribute = Some(name.to_owned());
                    changes.push(Change { node, attribute, was: unescaped(was), value: unescaped(is) });
                }
            }
            (None, None) => return Some(()),
            _ => return None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(node: usize, attribute: Option<&str>, was: &str, value: &str) -> Change {
        Change { node, attribute: attribute.map(str::to_owned), was: was.to_owned(), value: value.to_owned() }
    }

    #[test]
    fn texts_and_attributes_that_are_others_are_named_with_their_node() {
        let before = "<p class=\"a\" hidden>1 &lt; 2<br><b>x</b></p><p>same</p>";
        let now = "<p class=\"b&quot;\" hidden>2 &gt; 1<br><b>y &amp;lt;</b></p><p>same</p>";
        let expected = [
            change(0, Some("class"), "a", "b\""),
            change(1, None, "1 < 2", "2 > 1"),
            change(4, None, "x", "y &lt;"),
        ];
        assert_eq!(changes(before, now), Some((4, expected.into())));
        assert_eq!(changes(now, now), Some((4, vec![])));
    }

    #[test]
    fn other_elements_are_set_as_a_whole() {
        for (before, now) in [
            ("", "<p>a</p>"),
            ("<p>a</p>", ""),
            ("<p>a</p>", "<b>a</b>"),
            ("<p>a</p>", "<p></p>"),
            ("<p>a</p>", "<p><b>a</b></p>"),
            ("<p>a</p>", "<p class=\"b\">a</p>"),
            ("<p a=\"1\">a</p>", "<p b=\"1\">a</p>"),
            ("<p>a<b>c</b></p>", "<p><b>c</b>a</p>"),
        ] {
            assert_eq!(changes(before, now), None, "{before} → {now}");
        }
    }
}
