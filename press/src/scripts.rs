//! Scripts as they are sent: without the comments, which nobody reads there and every first visit would carry.

/// The lines of a script that are no comment. A comment has lines of its own here, in what we write and in what
/// wasm-bindgen writes; one behind code stays.
#[must_use]
pub fn without_comments(script: &str) -> String {
    let mut inside = false;
    let code = script.lines().filter(|line| {
        let line = line.trim();
        let begins = line.starts_with("/*");
        let comment = inside || begins || line.starts_with("//");
        inside = (inside || begins) && !line.ends_with("*/");
        !comment
    });
    code.fold(String::new(), |text, line| text + line + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_go_and_code_stays() {
        let script = "// One.\nimport { a } from \"//host/a.js\";\n\n/** Two,\n * over lines. */\nlet b = 1; // behind\n  // Three.\n/* Four. */\nb / a;\n";
        assert_eq!(
            without_comments(script),
            "import { a } from \"//host/a.js\";\n\nlet b = 1; // behind\nb / a;\n"
        );
    }
}
