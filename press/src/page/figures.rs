//! Figures: SVG files drawn for the book, set into the page itself so that they take its colours and print with it.

use super::Context;
use crate::address::beside;
use crate::fault::{Faults, nearest};
use crate::markdown::tree::{Kind, Node, change};
use crate::source_text::{SourceLocation, SourceText};
use maud::{Markup, PreEscaped, html};
use roxmltree::{Document, Node as Xml};

/// Colours that follow the page from light to dark to paper.
const COLOURS: [&str; 4] = ["none", "currentColor", "inherit", "transparent"];

/// Puts the drawing of each figure in its place.
pub(super) fn print(context: &Context<'_>, nodes: &mut [Node]) {
    change(nodes, &mut |node| {
        let Node { kind: Kind::Figure { file, caption }, place } = node else { return };
        let Some(svg) = place.as_ref().and_then(|place| read(context, file, place)) else { return };
        if let Some(printed) = printed(&svg, caption, context.faults) {
            node.kind = Kind::Html(printed.into_string());
        }
    });
}

/// The SVG file that `way` leads to from the file at `place`.
fn read(context: &Context<'_>, way: &str, place: &SourceLocation) -> Option<SourceText> {
    let file = beside(&place.file, way);
    let fault = |wrong: &str, right: &str| {
        context.faults.add(place, format!("figure \"{way}\""), wrong, right);
        None
    };
    if !file.ends_with(".svg") {
        return fault("is not an SVG file", "draw it as SVG, or make a table of it");
    }
    match std::fs::read_to_string(context.workspace.join(&file)) {
        Ok(svg) => Some(SourceText::new(file.into(), svg, 1)),
        Err(_) => {
            let figures = context.book.files.iter().map(String::as_str).filter(|name| name.ends_with(".svg"));
            fault(&format!("there is no {file}"), &nearest(&file, figures))
        }
    }
}

/// The figure in `svg` with the caption below it, or `None` when the faults say why not.
fn printed(svg: &SourceText, caption: &str, faults: &Faults) -> Option<Markup> {
    let document = match Document::parse(&svg.text) {
        Ok(document) => document,
        Err(error) => {
            let place = SourceLocation { file: svg.file.clone(), line: error.pos().row as usize };
            faults.add(&place, "figure", format!("not SVG: {error}"), "correct the drawing");
            return None;
        }
    };
    let root = document.root_element();
    check(svg, root, faults);
    let drawing = PreEscaped(drawing(&svg.text, root));
    let title = said(root, "title").unwrap_or_default();
    Some(html! {
        figure.drawing {
            section.scroll tabindex="0" aria-label={ "Figure: " (title) } { (drawing) }
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    })
}

/// The drawing without prolog, as a picture with a size: one of its units is one CSS pixel, so that its lettering keeps its height.
fn drawing(text: &str, root: Xml<'_, '_>) -> String {
    let body = text[root.range()].trim_start_matches("<svg").trim_end();
    let mut opening =
        String::from(if root.attribute("role").is_none() { "<svg role=\"img\"" } else { "<svg" });
    let view_box = root.attribute("viewBox").map(|view_box| view_box.split_whitespace().collect::<Vec<_>>());
    if let (None, None, Some([_, _, width, height])) =
        (root.attribute("width"), root.attribute("height"), view_box.as_deref())
    {
        opening += &format!(" width=\"{width}\" height=\"{height}\"");
    }
    opening + body
}

fn check(svg: &SourceText, root: Xml<'_, '_>, faults: &Faults) {
    let fault = |node: Xml<'_, '_>, found: String, wrong: &str, right: &str| {
        faults.add(&svg.place(node.range().start), found, wrong, right)
    };
    if !root.has_tag_name(("http://www.w3.org/2000/svg", "svg")) {
        fault(
            root,
            format!("<{}>", root.tag_name().name()),
            "is not a drawing",
            "begin with <svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"…\">",
        );
    }
    if root.attribute("role").is_some_and(|role| role != "img") || root.attribute("viewBox").is_none() {
        fault(
            root,
            "<svg>".into(),
            "has no viewBox, or a role other than img",
            "write <svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 640 320\">",
        );
    }
    for (name, of) in [("title", "what it is"), ("desc", "what it shows, for those who cannot see it")] {
        if said(root, name).is_none_or(|said| said.trim().is_empty()) {
            fault(
                root,
                "figure".into(),
                &format!("has no <{name}>"),
                &format!("begin it with <{name}>{of}</{name}>"),
            );
        }
    }
    for node in root.descendants().filter(Xml::is_element) {
        let name = node.tag_name().name();
        if [
            "script",
            "style",
            "foreignObject",
            "image",
            "a",
            "animate",
            "animateTransform",
            "animateMotion",
            "set",
        ]
        .contains(&name)
        {
            fault(
                node,
                format!("<{name}>"),
                "has no place in a figure",
                "draw with shapes, paths and text alone",
            );
        }
        for attribute in node.attributes() {
            let (key, value) = (attribute.name(), attribute.value());
            let written = format!("{key}=\"{value}\"");
            if key == "style" || key.starts_with("on") {
                fault(
                    node,
                    written,
                    "is forbidden by the content policy",
                    "write fill, stroke and font-size as attributes",
                );
            } else if key == "href" && !value.starts_with('#') {
                fault(
                    node,
                    written,
                    "leads out of the figure",
                    "use what the figure itself defines: href=\"#…\"",
                );
            } else if ["fill", "stroke", "stop-color"].contains(&key)
                && !COLOURS.contains(&value)
                && !value.starts_with("url(#")
            {
                fault(node, written, "stays the same in dark and in print", "nearest: \"currentColor\"");
            }
        }
    }
}

fn said<'a>(root: Xml<'a, '_>, name: &str) -> Option<&'a str> {
    root.children().find(|node| node.tag_name().name() == name)?.text()
}
