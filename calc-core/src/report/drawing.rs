//! A drawing of a circuit or its wiring, as data: lines, symbols, letters. Anyone who shows it draws it.
//!
//! Units are those of a phone's column, about 310 across: letters are then as large there as the text's. `y` runs down.

/// A circuit or its wiring, as lines, symbols and letters on a page 310 wide.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Its name among the files that can be saved: `schematic`.
    pub name: &'static str,
    /// What it shows, as its heading.
    pub title: String,
    /// What one sees in it, and what cannot be drawn, for every reader.
    pub description: String,
    /// How wide and how high.
    pub size: (f64, f64),
    /// Its parts, the first at the back.
    pub shapes: Vec<Shape>,
}

/// A part of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through these points.
    Line(Vec<(f64, f64)>),
    /// The same, dashed: a screen.
    Dashed(Vec<(f64, f64)>),
    /// A joint of lines, at this place.
    Dot(f64, f64),
    /// A circle about this place, so far from it.
    Ring(f64, f64, f64),
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
    /// A capacitor, its two bars across the line.
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

/// Which part of the letters is at their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The letters begin at their place.
    Start,
    /// The letters stand about their place.
    Middle,
    /// The letters end at their place.
    End,
}

impl Drawing {
    /// Adds a line. Kept out of line, as are the others: a drawing is made of a hundred such calls.
    #[inline(never)]
    pub fn line(&mut self, points: &[(f64, f64)]) {
        self.shapes.push(Shape::Line(points.to_vec()));
    }

    /// Writes a text at a place.
    #[inline(never)]
    pub fn label(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        self.shapes.push(Shape::Label(x, y, anchor, text.to_owned()));
    }

    /// Draws the symbol of a part about a place.
    #[inline(never)]
    pub fn symbol(&mut self, symbol: Symbol, x: f64, y: f64, lies: Lies) {
        self.shapes.push(Shape::Symbol(symbol, x, y, lies));
    }
}

#[cfg(test)]
impl Drawing {
    /// The labels that a line, a symbol or the edge of the drawing goes through. Letters are taken to be half as wide again as
    /// they are narrow: an em of 18, and 9 for each.
    pub(crate) fn crossed_labels(&self) -> Vec<String> {
        let mut found = Vec::new();
        for shape in &self.shapes {
            let Shape::Label(x, y, anchor, text) = shape else { continue };
            #[expect(clippy::cast_precision_loss)]
            let width = 9.0 * text.chars().count() as f64;
            let left = match anchor {
                Anchor::Start => *x,
                Anchor::Middle => x - width / 2.0,
                Anchor::End => x - width,
            };
            let label = [left, y - 12.0, left + width, y + 2.0];
            let within =
                label[0] >= 0.0 && label[1] >= 0.0 && label[2] <= self.size.0 && label[3] <= self.size.1;
            if !within || self.shapes.iter().any(|shape| shape.crosses(label)) {
                found.push(format!("“{text}” at {x}, {y}"));
            }
        }
        found
    }
}

#[cfg(test)]
impl Shape {
    /// Whether it goes through a box: left, top, right, bottom.
    fn crosses(&self, [left, top, right, bottom]: [f64; 4]) -> bool {
        match self {
            Self::Line(points) | Self::Dashed(points) => points.windows(2).any(|ends| {
                // Points along it, one for each unit.
                let [(x0, y0), (x1, y1)] = [ends[0], ends[1]];
                let steps = libm::hypot(x1 - x0, y1 - y0).ceil().max(1.0);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                (0..=steps as u32).any(|step| {
                    let share = f64::from(step) / steps;
                    let (x, y) = (x0 + share * (x1 - x0), y0 + share * (y1 - y0));
                    x > left && x < right && y > top && y < bottom
                })
            }),
            Self::Symbol(Symbol::Resistor | Symbol::Capacitor, x, y, lies) => {
                let (across, along) = (6.0, Symbol::LENGTH / 2.0);
                let (wide, high) = if *lies == Lies::Across { (along, across) } else { (across, along) };
                x + wide > left && x - wide < right && y + high > top && y - high < bottom
            }
            // A ring may stand round a label: a wire's number.
            Self::Symbol(..) | Self::Dot(..) | Self::Ring(..) | Self::Label(..) => false,
        }
    }
}
