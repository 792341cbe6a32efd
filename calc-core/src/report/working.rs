//! The working: each step as a formula, then with the reader's own numbers in it, then the result.
//!
//! A formula is written once, as an expression over named values, and shown twice. It can also be worked out, so that
//! a test holds the working shown against the answer given.

use std::ops::{Add, Div, Mul, Sub};
use std::rc::Rc;

use crate::quantity::unit::Unit;
use crate::quantity::{Quantity, writing};

/// One step of the working. What a search found has no formula: its step says what it satisfies and states the value.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Why this step, in a sentence or less.
    pub says: String,
    /// The symbol of what is worked out, as `I_a`.
    pub symbol: &'static str,
    /// The formula, which comes to the value.
    pub formula: Expr,
    /// The result in SI units.
    pub value: f64,
    /// The result as written.
    pub result: String,
}

/// A formula over named values. Counted by reference: a clone shares its parts, and to pass one on is to move a pointer.
#[derive(Debug, Clone, PartialEq)]
pub struct Expr(Rc<Node>);

/// What a formula is made of.
#[derive(Debug, PartialEq)]
pub enum Node {
    /// A value with a symbol, such as a reading or the result of an earlier step.
    Named {
        /// The symbol, as `I_k`; `_` begins the index.
        symbol: &'static str,
        /// The value with its unit.
        shown: String,
        /// The value in SI units.
        value: f64,
    },
    /// A plain number.
    Number(f64),
    /// a + b
    Sum(Expr, Expr),
    /// a − b
    Difference(Expr, Expr),
    /// a × b
    Product(Expr, Expr),
    /// a over b
    Quotient(Expr, Expr),
    /// a squared
    Square(Expr),
    /// The square root of a
    Root(Expr),
    /// A function of a
    Applied(Function, Expr),
}

/// A function in a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// The logarithm to the base ten.
    Lg,
    /// The natural logarithm.
    Ln,
    /// The angle whose tangent it is, in degrees.
    Arctan,
}

impl Function {
    /// As it is written before what it is of.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Lg => "lg",
            Self::Ln => "ln",
            Self::Arctan => "arctan",
        }
    }

    fn of(self, value: f64) -> f64 {
        match self {
            Self::Lg => libm::log10(value),
            Self::Ln => libm::log(value),
            Self::Arctan => libm::atan(value).to_degrees(),
        }
    }
}

/// A named value for a formula: `named("I_k", cathode_current)`.
pub fn named<Q: Quantity>(symbol: &'static str, quantity: Q) -> Expr {
    named_in(symbol, quantity.si(), Q::UNIT)
}

/// A named value in SI units, shown in `unit`.
#[must_use]
pub fn named_in(symbol: &'static str, value: f64, unit: &Unit) -> Expr {
    Expr::shown_as(symbol, writing::repeated(value, unit), value)
}

/// 2π, which is written so and not as the number that it is.
#[must_use]
pub fn two_pi() -> Expr {
    Expr::shown_as("2π", "6.283".to_owned(), std::f64::consts::TAU)
}

/// A plain number in a formula.
#[must_use]
pub fn number(value: f64) -> Expr {
    Expr::of(Node::Number(value))
}

impl Step {
    /// Whether there is nothing to work out: the value was found by a search, typed, or taken from a table.
    #[must_use]
    pub fn is_stated(&self) -> bool {
        matches!(self.formula.node(), Node::Named { symbol, .. } if *symbol == self.symbol)
    }
}

impl Expr {
    // Kept out of line: the reports are made of calls of it.
    #[inline(never)]
    fn of(node: Node) -> Self {
        Self(Rc::new(node))
    }

    /// A named value, in SI units, that is shown in words of its own, such as `290 K`.
    #[must_use]
    pub fn shown_as(symbol: &'static str, shown: String, value: f64) -> Self {
        Self::of(Node::Named { symbol, shown, value })
    }

    /// What it is made of, for the view that writes it out.
    #[must_use]
    pub fn node(&self) -> &Node {
        &self.0
    }

    /// The square of this.
    #[must_use]
    pub fn squared(self) -> Self {
        Self::of(Node::Square(self))
    }

    /// The square root of this.
    #[must_use]
    pub fn root(self) -> Self {
        Self::of(Node::Root(self))
    }

    /// This ratio of voltages in decibels, 20 lg of it.
    #[must_use]
    pub fn decibels(self) -> Self {
        number(20.0) * Self::of(Node::Applied(Function::Lg, self))
    }

    /// What one pole loses, in decibels, where this is the frequency over its corner; or, of a high-pass, the other way round.
    #[must_use]
    pub fn one_pole(self) -> Self {
        number(10.0) * Self::of(Node::Applied(Function::Lg, number(1.0) + self.squared()))
    }

    /// The natural logarithm of this.
    #[must_use]
    pub fn ln(self) -> Self {
        Self::of(Node::Applied(Function::Ln, self))
    }

    /// The angle whose tangent this is, in degrees.
    #[must_use]
    pub fn arctan(self) -> Self {
        Self::of(Node::Applied(Function::Arctan, self))
    }

    /// What the formula comes to, in SI units.
    #[must_use]
    pub fn value(&self) -> f64 {
        match self.node() {
            Node::Named { value, .. } | Node::Number(value) => *value,
            Node::Sum(a, b) => a.value() + b.value(),
            Node::Difference(a, b) => a.value() - b.value(),
            Node::Product(a, b) => a.value() * b.value(),
            Node::Quotient(a, b) => a.value() / b.value(),
            Node::Square(a) => a.value() * a.value(),
            Node::Root(a) => libm::sqrt(a.value()),
            Node::Applied(function, a) => function.of(a.value()),
        }
    }
}

macro_rules! operators {
    ($($operation:ident, $method:ident, $node:ident;)*) => {
        $(impl $operation for Expr {
            type Output = Self;
            #[inline(never)]
            fn $method(self, other: Self) -> Self {
                Self::of(Node::$node(self, other))
            }
        })*
    };
}

operators! {
    Add, add, Sum;
    Sub, sub, Difference;
    Mul, mul, Product;
    Div, div, Quotient;
}
