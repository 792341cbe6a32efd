//! The book as it is in `content/`: chapters, pages in reading order, cautions.
//!
//! A folder is a chapter, a Markdown file a page; the number before a name gives the order and vanishes from the address, so
//! `3-output-stage/2-set-idle-current.md` is read after `…/1-…` and becomes `output-stage/set-idle-current.html`.

use super::cautions::{self, Caution};
use super::front_matter::{self, Front, Kind};
use crate::BuildError;
use crate::fault::Faults;
use crate::markdown::tree::Node;
use crate::read::text as read_text;
use crate::read::toml_text::TomlText;
use crate::source_text::{SourceLocation, SourceText};
use job::block::{Fault, Raw, Shared};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// What is in a page.
#[derive(Debug)]
pub enum Body {
    /// Text of the handbook.
    Markdown(SourceText),
    /// What press wrote itself: lists and tables of what `calc-core` knows.
    Written(Vec<Node>),
}

/// One page.
#[derive(Debug)]
pub struct Page {
    /// The file it comes from, from the workspace root.
    pub file: Arc<str>,
    /// Where it goes, from the root of the book: `output-stage/set-idle-current.html`.
    pub path: String,
    /// What it says about itself.
    pub front: Front,
    /// What is in it.
    pub body: Body,
}

impl Page {
    /// A page of the appendix that press writes itself.
    pub(crate) fn written(what: &str, path: &str, title: &str, summary: &str, nodes: Vec<Node>) -> Self {
        let front = Front {
            title: title.into(),
            kind: Kind::Appendix,
            summary: summary.into(),
            cautions: Vec::new(),
            needs: Vec::new(),
            sources: Vec::new(),
            hands_near_circuit: false,
        };
        Self {
            file: format!("{what}, written by press").into(),
            path: path.into(),
            front,
            body: Body::Written(nodes),
        }
    }
}

/// A chapter: its pages as indices into [`Book::pages`].
#[derive(Debug)]
pub struct Chapter {
    /// The page that opens it; the appendix may do without.
    pub start: Option<usize>,
    /// The pages after that one that the contents list.
    pub pages: Vec<usize>,
}

/// The whole book.
#[derive(Debug, Default)]
pub struct Book {
    /// All pages in reading order; the first is the cover.
    pub pages: Vec<Page>,
    /// The chapters in order.
    pub chapters: Vec<Chapter>,
    /// The chapter of each page; the cover has none.
    pub chapter_of: Vec<Option<usize>>,
    /// Cautions by id.
    pub cautions: BTreeMap<String, Caution>,
    /// Readings that several procedures take.
    pub readings: Shared,
    /// Every file under `content/`, from the workspace root.
    pub files: Vec<String>,
    by_file: BTreeMap<String, usize>,
}

/// Reads `content/readings.toml`; none if there is no such file.
fn shared_readings(workspace: &Path, faults: &Faults) -> Result<Shared, BuildError> {
    let file = "content/readings.toml";
    let path = workspace.join(file);
    if !path.exists() {
        return Ok(Shared::new());
    }
    let piece = SourceText::new(file.into(), read_text(&path)?, 1);
    let mut readings = Shared::new();
    let Some(toml) = TomlText::read(&piece, "shared readings", faults) else { return Ok(readings) };
    for (name, raw) in &toml.block {
        if let Raw::Table(reading) = raw {
            readings.insert(name.clone(), reading.clone());
        } else {
            let right = format!("write [{name}] on a line of its own, and its keys below");
            toml.complain("", vec![Fault::new(name, "", "is not a reading", right)], faults);
        }
    }
    Ok(readings)
}

impl Book {
    /// Reads `content/` under `workspace`.
    ///
    /// # Errors
    /// When a file or folder cannot be read. What is wrong *in* a file goes to `faults`.
    pub fn read(workspace: &Path, faults: &Faults) -> Result<Self, BuildError> {
        let mut book = Self {
            cautions: cautions::read(workspace, faults)?,
            readings: shared_readings(workspace, faults)?,
            ..Self::default()
        };
        let content = workspace.join("content");
        let (files, folders) = entries(&content)?;
        book.files.extend(files.iter().map(|name| format!("content/{name}")));
        for name in files.iter().filter(|name| name.ends_with(".md")) {
            let file = format!("content/{name}").into();
            if name == "index.md" {
                book.add_page(workspace, &file, "", None, faults)?;
            } else {
                faults.add(
                    &first_line(&file),
                    "page",
                    "is in no chapter",
                    "move it into a folder of content/",
                );
            }
        }
        if !files.iter().any(|name| name == "index.md") {
            faults.add(
                &first_line(&"content/index.md".into()),
                "cover",
                "is missing",
                "write content/index.md",
            );
        }
        for folder in folders {
            book.add_chapter(workspace, &folder, faults)?;
        }
        Ok(book)
    }

    /// The page made from `file`.
    #[must_use]
    pub fn page_of(&self, file: &str) -> Option<&Page> {
        self.by_file.get(file).map(|index| &self.pages[*index])
    }

    /// The files of all pages.
    pub fn page_files(&self) -> impl Iterator<Item = &str> {
        self.by_file.keys().map(String::as_str)
    }

    fn add_chapter(&mut self, workspace: &Path, folder: &str, faults: &Faults) -> Result<(), BuildError> {
        let (mut files, folders) = entries(&workspace.join("content").join(folder))?;
        self.files.extend(files.iter().map(|name| format!("content/{folder}/{name}")));
        for inner in folders {
            let (inner_files, _) = entries(&workspace.join("content").join(folder).join(&inner))?;
            self.files.extend(inner_files.iter().map(|name| format!("content/{folder}/{inner}/{name}")));
            for name in inner_files.iter().filter(|name| name.ends_with(".md")) {
                let place = first_line(&format!("content/{folder}/{inner}/{name}").into());
                faults.add(
                    &place,
                    "page",
                    "is in a folder of a folder",
                    format!("move it to content/{folder}/"),
                );
            }
        }
        files.retain(|name| name.ends_with(".md"));
        let Some(index) = files.iter().position(|name| name == "index.md") else {
            if !files.is_empty() {
                let file = format!("content/{folder}/index.md").into();
                faults.add(&first_line(&file), "start of the chapter", "is missing", format!("write {file}"));
            }
            return Ok(());
        };
        files.swap(0, index);
        files[1..].sort_by(|a, b| order(a).cmp(&order(b)));
        let chapter = self.chapters.len();
        self.chapters.push(Chapter { start: None, pages: Vec::new() });
        let slug = slug(folder).to_string();
        for name in files {
            let file = format!("content/{folder}/{name}").into();
            let Some(page) = self.add_page(workspace, &file, &slug, Some(chapter), faults)? else {
                continue;
            };
            match name.as_str() {
                "index.md" => self.chapters[chapter].start = Some(page),
                _ => self.chapters[chapter].pages.push(page),
            }
        }
        Ok(())
    }

    fn add_page(
        &mut self,
        workspace: &Path,
        file: &Arc<str>,
        folder: &str,
        chapter: Option<usize>,
        faults: &Faults,
    ) -> Result<Option<usize>, BuildError> {
        let text = read_text(&workspace.join(&**file))?.replace("\r\n", "\n");
        let name = file.rsplit('/').next().map_or("", |name| name.trim_end_matches(".md"));
        let path = [folder, slug(name)]
            .iter()
            .filter(|part| !part.is_empty())
            .copied()
            .collect::<Vec<_>>()
            .join("/")
            + ".html";
        if !path
            .bytes()
            .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || b"-/.".contains(&byte))
        {
            faults.add(
                &first_line(file),
                "name of the file",
                "does not make an address",
                "use a to z, 0 to 9 and -, as in 2-set-idle-current.md",
            );
        }
        let Some((front, body)) = front_matter::read(file, &text, faults) else {
            return Ok(None);
        };
        let index = self.push(Page { file: file.clone(), path, front, body: Body::Markdown(body) }, chapter);
        self.by_file.insert(file.to_string(), index);
        Ok(Some(index))
    }

    /// Adds the pages that press writes itself, each with whether contents list it: they end the chapter `appendix`, or the
    /// book where there is none. Then no two pages may have the same address.
    pub fn add_appendix(&mut self, pages: impl IntoIterator<Item = (Page, bool)>, faults: &Faults) {
        let appendix = self.chapters.iter().position(|chapter| {
            chapter.start.is_some_and(|start| self.pages[start].path.starts_with("appendix/"))
        });
        let chapter = appendix.unwrap_or_else(|| {
            self.chapters.push(Chapter { start: None, pages: Vec::new() });
            self.chapters.len() - 1
        });
        for (page, is_listed) in pages {
            let page = self.push(page, Some(chapter));
            if is_listed {
                self.chapters[chapter].pages.push(page);
            }
        }
        self.refuse_shared_paths(faults);
    }

    fn push(&mut self, page: Page, chapter: Option<usize>) -> usize {
        self.pages.push(page);
        self.chapter_of.push(chapter);
        self.pages.len() - 1
    }

    fn refuse_shared_paths(&self, faults: &Faults) {
        let mut taken: BTreeMap<&str, &Page> = BTreeMap::new();
        for page in &self.pages {
            if let Some(other) = taken.insert(&page.path, page) {
                faults.add(
                    &first_line(&page.file),
                    format!("address {}", page.path),
                    format!("is taken by {}", other.file),
                    "rename one of the files",
                );
            }
        }
    }
}

/// The first line of a file, for what is wrong with the file as a whole.
#[must_use]
pub fn first_line(file: &Arc<str>) -> SourceLocation {
    SourceLocation { file: file.clone(), line: 1 }
}

/// A file's or folder's name without the number that orders it.
fn slug(name: &str) -> &str {
    match name.split_once('-') {
        Some((number, rest)) if number.bytes().all(|byte| byte.is_ascii_digit()) => rest,
        _ => name,
    }
}

/// Numbered names by number, then the others; equal ones by name.
fn order(name: &str) -> (u32, &str) {
    let number = name.split_once('-').and_then(|(number, _)| number.parse().ok());
    (number.unwrap_or(u32::MAX), name)
}

/// The files and the folders in a folder, each in reading order, hidden ones left out.
fn entries(folder: &Path) -> Result<(Vec<String>, Vec<String>), BuildError> {
    let (mut files, mut folders) = (Vec::new(), Vec::new());
    for entry in std::fs::read_dir(folder).map_err(BuildError::at(folder))? {
        let entry = entry.map_err(BuildError::at(folder))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        if entry.path().is_dir() { folders.push(name) } else { files.push(name) }
    }
    for names in [&mut files, &mut folders] {
        names.sort_by(|a, b| order(a).cmp(&order(b)));
    }
    Ok((files, folders))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_ordered_by_number_and_not_by_letter() {
        let mut names = ["10-z.md", "9-a.md", "index.md", "1-b.md", "x-ray.md"];
        names.sort_by(|a, b| order(a).cmp(&order(b)));
        assert_eq!(names, ["1-b.md", "9-a.md", "10-z.md", "index.md", "x-ray.md"]);
        assert_eq!(slug("10-z"), "z");
        assert_eq!(slug("x-ray"), "x-ray");
    }
}
