//! Addresses of pages, and ways between files.

/// The list of sources.
pub const SOURCES: &str = "appendix/sources.html";
/// The table of valves.
pub const VALVES: &str = "appendix/valves.html";
/// The whole book as one file, beside the pages of the published book.
pub const ONE_FILE: &str = "standing-current.html";

/// The address of `to` seen from the page at `from`, both from the root of the book.
#[must_use]
pub fn relative(from: &str, to: &str) -> String {
    "../".repeat(from.matches('/').count()) + to
}

/// Where a source is in the list of sources, seen from a page at `from`.
#[must_use]
pub fn source(from: &str, id: &str) -> String {
    format!("{}#{}", relative(from, SOURCES), source_anchor(id))
}

/// The id of a source in the list. A source may be named after a valve; an id begins with a letter.
#[must_use]
pub fn source_anchor(id: &str) -> String {
    format!("source-{id}")
}

/// The file that `way` leads to from the folder of `file`.
#[must_use]
pub fn beside(file: &str, way: &str) -> String {
    let mut parts: Vec<&str> = file.split('/').collect();
    parts.pop();
    for part in way.split('/') {
        match part {
            "." | "" => {}
            ".." => drop(parts.pop()),
            part => parts.push(part),
        }
    }
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_are_followed_from_the_folder_of_the_file() {
        assert_eq!(beside("content/3-x/1-a.md", "2-b.md"), "content/3-x/2-b.md");
        assert_eq!(beside("content/3-x/1-a.md", "../4-y/./index.md"), "content/4-y/index.md");
        assert_eq!(beside("content/cautions.toml", "1-z/a.md"), "content/1-z/a.md");
    }

    #[test]
    fn addresses_are_relative_at_every_depth() {
        assert_eq!(relative("index.html", "a/b.html"), "a/b.html");
        assert_eq!(relative("a/b.html", "index.html"), "../index.html");
        assert_eq!(relative("a/b/c.html", "book.css"), "../../book.css");
    }
}
