//! Formulas as MathML, which browsers set and screen readers say; each once with symbols and once with the reader's
//! own numbers.

use calc_core::calculator::{Expr, Node, Step};
use calc_core::quantity::{unit::ONE, writing};
use maud::{Markup, html};

/// A symbol such as `I_g2` in running text; nothing for an empty one.
pub(super) fn symbol(symbol: &str) -> Markup {
    html! { @if !symbol.is_empty() { math { (identifier(symbol)) } } }
}

/// A formula with its symbols, as MathML.
pub(crate) fn mathml(formula: &Expr) -> String {
    html! { math { (expression(formula, Shown::Symbols)) } }.into_string()
}

/// One step: why, the formula, the numbers in it, the result.
pub(super) fn step(step: &Step) -> Markup {
    let Step { says, symbol, formula, result, .. } = step;
    html! {
        li {
            p { (says) }
            @if step.is_stated() {
                p.formula { math { mrow { (identifier(symbol)) mo { "=" } mtext { (result) } } } }
            } @else {
                p.formula { math { mrow { (identifier(symbol)) mo { "=" } (expression(formula, Shown::Symbols)) } } }
                p.formula { math { mrow { mo { "=" } (expression(formula, Shown::Numbers)) mo { "=" } mtext { (result) } } } }
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Shown {
    Symbols,
    Numbers,
}

/// `P_a / P_a,max` as two identifiers with a stroke; `I_g2` as a letter with an index.
fn identifier(symbol: &str) -> Markup {
    if let Some((upper, lower)) = symbol.split_once('/') {
        return html! { mrow { (identifier(upper.trim_end())) mo { "/" } (identifier(lower.trim_start())) } };
    }
    match symbol.split_once('_') {
        Some((letter, index)) => html! { msub { mi { (letter) } mtext { (index) } } },
        None => html! { mi { (symbol) } },
    }
}

fn expression(expression: &Expr, shown: Shown) -> Markup {
    let part = |part: &Expr| self::expression(part, shown);
    let factor = |factor: &Expr| {
        bracketed(factor, shown, matches!(factor.node(), Node::Sum(..) | Node::Difference(..)))
    };
    match expression.node() {
        Node::Named { symbol, .. } if shown == Shown::Symbols => identifier(symbol),
        Node::Named { shown, .. } => html! { mtext { (shown) } },
        Node::Number(value) => html! { mn { (writing::repeated(*value, &ONE)) } },
        Node::Sum(a, b) => html! { mrow { (part(a)) mo { "+" } (part(b)) } },
        Node::Difference(a, b) => html! { mrow { (part(a)) mo { "−" } (factor(b)) } },
        Node::Product(a, b) => html! { mrow { (factor(a)) mo { "×" } (factor(b)) } },
        Node::Quotient(a, b) => html! { mfrac { (part(a)) (part(b)) } },
        Node::Square(a) => {
            // 18 V² would square the unit alone.
            let single = matches!(a.node(), Node::Named { .. }) && shown == Shown::Symbols;
            html! { msup { (bracketed(a, shown, !single)) mn { "2" } } }
        }
        Node::Root(a) => html! { msqrt { (part(a)) } },
        Node::Applied(function, a) => {
            let single = matches!(a.node(), Node::Named { .. } | Node::Quotient(..));
            html! { mrow { mi { (function.name()) } mo { "\u{2061}" } (bracketed(a, shown, !single)) } }
        }
    }
}

fn bracketed(inner: &Expr, shown: Shown, brackets: bool) -> Markup {
    let inner = expression(inner, shown);
    if brackets {
        html! { mrow { mo { "(" } (inner) mo { ")" } } }
    } else {
        inner
    }
}
