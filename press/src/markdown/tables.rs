//! Tables: the headings of their columns, how these are aligned, and links that fill a cell.

use super::tree::{Element, Kind, Node};
use pulldown_cmark::Alignment;

/// A table that can be moved sideways where it is wider than the screen, of a `thead` of cells and of rows.
pub(super) fn table(mut parts: Vec<Node>, columns: &[Alignment]) -> Element {
    let rows = parts.split_off(parts.len().min(1));
    let heads = parts.into_iter().flat_map(|head| cells_of(head, columns).map(heading).collect::<Vec<_>>());
    let head = Element::new("tr", heads.collect());
    let rows = rows.into_iter().map(|row| {
        let place = row.place.clone();
        Node { place, ..Element::new("tr", cells_of(row, columns).map(cell).collect()).into() }
    });
    let parts = [Element::new("thead", vec![head.into()]), Element::new("tbody", rows.collect())];
    let table = Element::new("table", parts.map(Node::from).into());
    Element::new("section", vec![table.into()]).with("class", "scroll").with("tabindex", "0")
}

/// The cells of a row, each with its column's class.
fn cells_of(row: Node, columns: &[Alignment]) -> impl Iterator<Item = (Vec<Node>, Option<&'static str>)> {
    let cells = if let Kind::Element(row) = row.kind { row.children } else { Vec::new() };
    let inside = |cell: Node| if let Kind::Element(cell) = cell.kind { cell.children } else { Vec::new() };
    let class = |column: Option<&Alignment>| match column {
        Some(Alignment::Right) => Some("right"),
        Some(Alignment::Center) => Some("centre"),
        _ => None,
    };
    cells.into_iter().enumerate().map(move |(at, cell)| (inside(cell), class(columns.get(at))))
}

/// The heading of a column. A corner that heads no column is no heading.
fn heading((inside, class): (Vec<Node>, Option<&'static str>)) -> Node {
    if inside.is_empty() {
        return Element::new("td", inside).into();
    }
    let mut heading = Element::new("th", inside).with("scope", "col");
    heading.attributes.extend(class.map(|class| ("class", class.to_owned())));
    heading.into()
}

/// A cell. A link that is all it holds is marked: it is pressed like a button.
fn cell((inside, class): (Vec<Node>, Option<&'static str>)) -> Node {
    let is_lone_link = matches!(inside.as_slice(), [Node { kind: Kind::Link { .. }, .. }]);
    let mut cell = Element::new("td", inside);
    if is_lone_link {
        cell = cell.with("data-lone-link", "");
    }
    cell.attributes.extend(class.map(|class| ("class", class.to_owned())));
    cell.into()
}
