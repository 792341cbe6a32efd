//! A drawing of a circuit or its wiring, as data: lines, symbols, letters. Whoever shows it draws it.
//!
//! Units are those of a phone's column, about 310 across: letters are then as large there as the text's. `y` runs down.

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Its name among the files that can be saved: `schematic`.
    pub name: &'static str,
    /// What it shows.
    pub title: String,
    /// What one sees in it, and what cannot be drawn, for every reader.
    pub description: String,
    /// How wide and how high.
    pub size: (f64, f64),
    /// What is drawn.
    pub shapes: Vec<Shape>,
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through these points.
    Line(Vec<(f64, f64)>),
    /// The same, dashed: a screen.
    Dashed(Vec<(f64, f64)>),
    /// Where lines join.
    Dot(f64, f64),
    /// A symbol with its middle here; upright, or lying.
    Symbol(Symbol, f64, f64, Lies),
    /// Letters that begin, stand or end here.
    Label(f64, f64, Anchor, String),
}

/// A symbol of IEC 60617, as long as [`Symbol::LENGTH`] from end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symbol {
    /// A resistor, or a track.
    Resistor,
    /// A capacitor.
    Capacitor,
    /// A connection to the chassis, hanging from its middle.
    Chassis,
    /// The grid of a valve, its lead from the left.
    Grid,
    /// The arrow of a wiper, its tip at the middle, coming from the right.
    Wiper,
}

impl Symbol {
    /// Of a resistor or capacitor, with its leads.
    pub const LENGTH: f64 = 48.0;
}

/// Which way a symbol lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// From above to below.
    Upright,
    /// From left to right.
    Across,
}

/// Which part of the letters stands at their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Their beginning.
    Start,
    /// Their middle.
    Middle,
    /// Their end.
    End,
}

impl Drawing {
    /// Adds a line. Kept out of line, as are the others: a drawing is made of a hundred such calls.
    #[inline(never)]
    pub fn line(&mut self, points: &[(f64, f64)]) {
        self.shapes.push(Shape::Line(points.to_vec()));
    }

    /// Adds letters.
    #[inline(never)]
    pub fn label(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        self.shapes.push(Shape::Label(x, y, anchor, text.to_owned()));
    }

    /// Adds a symbol.
    #[inline(never)]
    pub fn symbol(&mut self, symbol: Symbol, x: f64, y: f64, lies: Lies) {
        self.shapes.push(Shape::Symbol(symbol, x, y, lies));
    }
}
