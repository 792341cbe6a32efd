//! What of a source file is English: its comments, and the sentences in its string literals.

/// What a piece of source is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Comment,
    Text,
    Code,
}

/// The file with a space for everything that is not English, so that what is found in it has its line and column.
///
/// `script` says that it is JavaScript, of which only the comments are read; `sentences`, whether string literals are read.
pub fn english(source: &str, script: bool, sentences: bool) -> String {
    let mut out = String::with_capacity(source.len());
    let mut rest = source;
    let mut before = ' ';
    while !rest.is_empty() {
        let (length, kind) = piece(rest, before, script);
        let (one, others) = rest.split_at(length);
        match kind {
            Kind::Comment => without_code(one, &mut out),
            Kind::Text if sentences && is_sentence(one) => without_code(one, &mut out),
            Kind::Text | Kind::Code => blank(one, &mut out),
        }
        before = one.chars().rfind(|letter| !letter.is_whitespace()).unwrap_or(before);
        rest = others;
    }
    out
}

fn blank(text: &str, out: &mut String) {
    out.extend(text.chars().map(|letter| if letter == '\n' { '\n' } else { ' ' }));
}

/// A text without what is code in it, between backticks.
fn without_code(text: &str, out: &mut String) {
    for (at, part) in text.split('`').enumerate() {
        if at > 0 {
            out.push(' ');
        }
        if at % 2 == 0 { out.push_str(part) } else { blank(part, out) }
    }
}

/// Three words and nothing of a programming or query language.
fn is_sentence(text: &str) -> bool {
    let word = |word: &&str| word.chars().filter(|letter| letter.is_ascii_lowercase()).count() > 1;
    !text.contains(['<', '>', '=', ';', '[', '#'])
        && !text.contains("::")
        && text.split(' ').filter(word).count() > 2
}

/// The length in bytes of what `rest` begins with, and what it is; `before` is the last character of code before it.
fn piece(rest: &str, before: char, script: bool) -> (usize, Kind) {
    let until = |end: &str, from: usize| rest[from..].find(end).map(|at| from + at);
    let first = rest.chars().next().unwrap_or(' ');
    if rest.starts_with("//") {
        (until("\n", 0).unwrap_or(rest.len()), Kind::Comment)
    } else if rest.starts_with("/*") {
        (until("*/", 2).map_or(rest.len(), |at| at + 2), Kind::Comment)
    } else if first == '"' || script && matches!(first, '\'' | '`') {
        (quoted(rest, first), Kind::Text)
    } else if script && first == '/' && "=(,:[!&|?{};".contains(before) {
        (quoted(rest, '/'), Kind::Code)
    } else if !script && first == 'r' && !before.is_alphanumeric() && before != '_' && is_raw(rest) {
        let hashes = rest[1..].find('"').unwrap_or(0);
        let end = format!("\"{}", "#".repeat(hashes));
        (until(&end, hashes + 2).map_or(rest.len(), |at| at + end.len()), Kind::Code)
    } else if !script && first == '\'' {
        (character(rest), Kind::Code)
    } else if first.is_alphanumeric() || first == '_' {
        // A word whole, so that the `r` at its end begins no raw string.
        let end = rest.find(|letter: char| !letter.is_alphanumeric() && letter != '_');
        (if first == 'r' && is_raw(rest) { 1 } else { end.unwrap_or(rest.len()) }, Kind::Code)
    } else {
        (first.len_utf8(), Kind::Code)
    }
}

/// The length of a literal that ends at the same mark, with the marks.
fn quoted(rest: &str, mark: char) -> usize {
    let mut escaped = false;
    for (at, letter) in rest.char_indices().skip(1) {
        if !escaped && letter == mark {
            return at + letter.len_utf8();
        }
        escaped = !escaped && letter == '\\';
    }
    rest.len()
}

fn is_raw(rest: &str) -> bool {
    rest[1..].trim_start_matches('#').starts_with('"')
}

/// A character literal whole; of a lifetime only its mark.
fn character(rest: &str) -> usize {
    let mut letters = rest.char_indices().skip(1);
    match letters.next() {
        Some((_, '\\')) => rest[2..].find('\'').map_or(1, |at| at + 3),
        Some(_) => letters.next().filter(|(_, letter)| *letter == '\'').map_or(1, |(at, _)| at + 1),
        None => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_sentences_keep_their_places_and_code_is_blank() {
        let source =
            "let a = 'x'; // An `anew` sheet.\nfail(\"mains off and wait\", r#\"not // this\"#, \"id\");\n";
        let expected =
            "             // An        sheet.\n     \"mains off and wait\"                          \n";
        assert_eq!(english(source, false, true), expected);
        assert_eq!(english("'a // b'; /* c */ /d\\/e/", true, true).trim(), "/* c */");
    }

    #[test]
    fn a_lifetime_a_quote_in_quotes_and_an_escape_end_where_they_end() {
        let source = "fn a<'a>(b: &'a str) { c('\"', '\\'', \"\\\"\") } // d";
        assert_eq!(english(source, false, true).trim(), "// d");
    }
}
