//! Prints small books and looks at what comes out. The books are written here; none of it is the handbook.

mod edition;
mod faults;
mod finding;
mod glossary;
mod output;
mod pages;
mod valves;

use press::output::files::Summary;
use press::{BuildError, BuildOptions, print};
use std::fs;
use std::path::PathBuf;

/// A book of a cover, a chapter and a procedure, to be changed and printed.
struct Bench {
    folder: tempfile::TempDir,
}

const COVER: &str = "+++\ntitle = \"A book\"\nkind = \"chapter\"\nsummary = \"For tests.\"\n+++\n\nWords.\n";
const CHAPTER: &str =
    "+++\ntitle = \"The stage\"\nkind = \"chapter\"\nsummary = \"A chapter.\"\n+++\n\n## Why\n\nWords.\n";
const STEPS: &str = "content/2-stage/1-steps.md";
const STEPS_FRONT: &str =
    "+++\ntitle = \"Steps\"\nkind = \"procedure\"\nsummary = \"Do this.\"\ncautions = [\"discharge\"]\n+++\n";
/// The first line of what [`Bench::steps`] is given.
const FIRST: usize = 7;
const CAUTIONS: &str = "[[caution]]\nid = \"discharge\"\nsignal = \"danger\"\ntitle = \"Charged\"\ntext = \"Discharge it **first**.\"\n\n[[caution]]\nid = \"hot\"\nsignal = \"caution\"\ntitle = \"Hot\"\ntext = \"See [why](2-stage/index.md#why).\"\n";

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().expect("a folder for the test") };
        bench.file("content/index.md", COVER);
        bench.file("content/cautions.toml", CAUTIONS);
        bench.file("content/2-stage/index.md", CHAPTER);
        bench.file("press/assets/book.css", "body { margin: 0 }\n");
        bench.file("web/js/loader.js", "// loads\n");
        bench.file("web/js/alive.js", "// wakes\n");
        bench.file("web/js/one-file.js", "// turns pages\n");
        for script in ["bar", "find", "finder", "readings", "minisearch"] {
            bench.file(&format!("web/js/{script}.js"), "// finds\n");
        }
        bench.file("web/js/service-worker.js", "// keeps\n");
        bench.file("web/js/with-job.js", "// marks\n");
        bench.file("web/js/run.js", "// runs\n");
        for name in ["calculators", "job"] {
            bench.file(&format!("webassembly/{name}.js"), &format!("fetch(\"{name}_bg.wasm\");\n"));
            bench.file(&format!("webassembly/{name}_bg.wasm"), "not really\n");
        }
        bench.steps("1. **Do** it.\n");
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn file(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a file stands in a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    /// Writes the text of the procedure below its front matter.
    fn steps(&self, text: &str) {
        self.file(STEPS, &format!("{STEPS_FRONT}{text}"));
    }

    fn print(&self) -> Result<(usize, Summary), BuildError> {
        self.print_as("/", false)
    }

    fn print_as(&self, root: &str, publish: bool) -> Result<(usize, Summary), BuildError> {
        print(&BuildOptions {
            workspace: self.path(""),
            webassembly: self.path("webassembly"),
            out: self.path("out"),
            root: root.into(),
            publish,
        })
    }

    /// A printed page.
    #[track_caller]
    fn page(&self, name: &str) -> String {
        if let Err(stop) = self.print() {
            panic!("{stop}");
        }
        fs::read_to_string(self.path("out").join(name)).expect("a page of this name")
    }

    /// Gives the book an appendix with this glossary.
    fn glossary(&self, rows: &str) {
        let front = |title: &str| {
            format!("+++\ntitle = \"{title}\"\nkind = \"appendix\"\nsummary = \"Words.\"\n+++\n\n")
        };
        self.file("content/9-appendix/index.md", &front("Appendix"));
        let table = format!("{}| Word | What it means |\n|---|---|\n{rows}", front("Glossary"));
        self.file("content/9-appendix/1-glossary.md", &table);
    }

    /// The printed procedure.
    #[track_caller]
    fn printed_steps(&self, text: &str) -> String {
        self.steps(text);
        self.page("stage/steps.html")
    }

    /// What the book is refused for, line by line.
    #[track_caller]
    fn faults(&self) -> Vec<String> {
        match self.print() {
            Err(BuildError::Faults(faults)) => faults.to_string().lines().map(String::from).collect(),
            Err(other) => panic!("{other}"),
            Ok(_) => panic!("the book was printed"),
        }
    }
}
