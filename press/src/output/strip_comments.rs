//! Scripts and styles as they are sent: without comments and indents, which nobody reads there and every first visit would
//! carry.

/// The lines of a script or a stylesheet that are no comment, without their indents. A comment that begins with `/*!` stays: it is
/// the licence of someone else's work. A comment has lines of its own here,
/// in what we write and in what wasm-bindgen writes; one behind code stays. A text between backticks that runs over lines
/// stays as it is.
#[must_use]
pub fn strip_comments(code: &str) -> String {
    let (mut inside, mut quoted, mut licence) = (false, false, false);
    let mut stripped = String::new();
    for whole in code.lines() {
        let line = whole.trim();
        let kept = if quoted {
            Some(whole)
        } else {
            licence |= line.starts_with("/*!");
            if licence {
                licence = !line.ends_with("*/");
                stripped.extend([line, "\n"]);
                continue;
            }
            let begins = line.starts_with("/*");
            let comment = inside || begins || line.starts_with("//");
            inside = (inside || begins) && !line.ends_with("*/");
            (!comment && !line.is_empty()).then_some(line)
        };
        if let Some(kept) = kept {
            quoted ^= kept.matches('`').count() % 2 == 1;
            stripped.extend([kept, "\n"]);
        }
    }
    stripped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_indents_go_and_code_stays() {
        let script = "// One.\nimport { a } from \"//host/a.js\";\n\n/** Two,\n * over lines. */\nlet b = 1; // behind\n  // Three.\n/* Four. */\n  b / a;\n";
        assert_eq!(
            strip_comments(script),
            "import { a } from \"//host/a.js\";\nlet b = 1; // behind\nb / a;\n"
        );
        let style = "/* Six,\n   over lines. */\n\n.a {\n  color: red; /* behind */\n}\n";
        assert_eq!(strip_comments(style), ".a {\ncolor: red; /* behind */\n}\n");
        let licence = "/*! By somebody.\n *  As is. */\n/** One. */\nlet c = 2;\n";
        assert_eq!(strip_comments(licence), "/*! By somebody.\n*  As is. */\nlet c = 2;\n");
        let text = "let text = `one\n    // two`;\n";
        assert_eq!(strip_comments(text), text);
    }
}
