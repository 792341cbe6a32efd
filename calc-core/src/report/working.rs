//! The working: each step as a formula, then with the reader's own numbers in it, then the result.
//!
//! A formula is written once, as an expression over named values, and shown twice. It can also be worked out, so that
//! a test holds the working shown against the answer given.

use std::ops::{Add, Div, Mul, Sub};

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

/// A formula over named values.
#[derive(Debug, Clone, PartialEq)]
pub enum Expr {
    /// A named value.
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
    Sum(Box<Expr>, Box<Expr>),
    /// a − b
    Difference(Box<Expr>, Box<Expr>),
    /// a × b
    Product(Box<Expr>, Box<Expr>),
    /// a over b
    Quotient(Box<Expr>, Box<Expr>),
    /// a squared
    Square(Box<Expr>),
    /// The square root of a
    Root(Box<Expr>),
    /// A function of a
    Applied(Function, Box<Expr>),
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
    Expr::Named { symbol, shown: writing::repeated(value, unit), value }
}

/// A plain number in a formula.
#[must_use]
pub fn number(value: f64) -> Expr {
    Expr::Number(value)
}

impl Step {
    /// Whether there is nothing to work out: the value was found by a search, typed, or taken from a table.
    #[must_use]
    pub fn is_stated(&self) -> bool {
        matches!(&self.formula, Expr::Named { symbol, .. } if *symbol == self.symbol)
    }
}

impl Expr {
    /// This times itself.
    #[must_use]
    pub fn squared(self) -> Self {
        Self::Square(Box::new(self))
    }

    /// The square root of this.
    #[must_use]
    pub fn root(self) -> Self {
        Self::Root(Box::new(self))
    }

    /// This ratio of voltages in decibels, 20 lg of it.
    #[must_use]
    pub fn decibels(self) -> Self {
        number(20.0) * Self::Applied(Function::Lg, Box::new(self))
    }

    /// What one pole loses, in decibels, where this is the frequency over its corner; or, of a high-pass, the other way round.
    #[must_use]
    pub fn one_pole(self) -> Self {
        number(10.0) * Self::Applied(Function::Lg, Box::new(number(1.0) + self.squared()))
    }

    /// The natural logarithm of this.
    #[must_use]
    pub fn ln(self) -> Self {
        Self::Applied(Function::Ln, Box::new(self))
    }

    /// The angle whose tangent this is, in degrees.
    #[must_use]
    pub fn arctan(self) -> Self {
        Self::Applied(Function::Arctan, Box::new(self))
    }

    /// What the formula comes to, in SI units.
    #[must_use]
    pub fn value(&self) -> f64 {
        match self {
            Self::Named { value, .. } | Self::Number(value) => *value,
            Self::Sum(a, b) => a.value() + b.value(),
            Self::Difference(a, b) => a.value() - b.value(),
            Self::Product(a, b) => a.value() * b.value(),
            Self::Quotient(a, b) => a.value() / b.value(),
            Self::Square(a) => a.value() * a.value(),
            Self::Root(a) => libm::sqrt(a.value()),
            Self::Applied(function, a) => function.of(a.value()),
        }
    }
}

macro_rules! operators {
    ($($operation:ident, $method:ident, $node:ident;)*) => {
        $(impl $operation for Expr {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                Self::$node(Box::new(self), Box::new(other))
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
