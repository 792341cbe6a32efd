//! Formulas as MathML, which browsers set and screen readers say; each once with symbols and once with the reader's
//! own numbers.

use calc_core::calculator::{Expr, Step};
use leptos::prelude::*;

/// A symbol such as `I_g2` in running text; nothing for an empty one.
pub(super) fn symbol(symbol: &'static str) -> Option<AnyView> {
    (!symbol.is_empty()).then(|| view! { <math>{identifier(symbol)}</math> }.into_any())
}

/// One step: why, the formula, the numbers in it, the result.
pub(super) fn step(step: Step) -> AnyView {
    let Step { says, symbol, formula, result, .. } = step;
    view! {
        <li>
            <p>{says}</p>
            <p class="formula"><math><mrow>{identifier(symbol)}<mo>"="</mo>{expression(&formula, Shown::Symbols)}</mrow></math></p>
            <p class="formula">
                <math><mrow><mo>"="</mo>{expression(&formula, Shown::Numbers)}<mo>"="</mo><mtext>{result}</mtext></mrow></math>
            </p>
        </li>
    }
    .into_any()
}

#[derive(Clone, Copy, PartialEq)]
enum Shown {
    Symbols,
    Numbers,
}

/// `P_a / P_a,max` as two identifiers with a stroke; `I_g2` as a letter with an index.
fn identifier(symbol: &'static str) -> AnyView {
    if let Some((upper, lower)) = symbol.split_once(" / ") {
        return view! { <mrow>{identifier(upper)}<mo>"/"</mo>{identifier(lower)}</mrow> }.into_any();
    }
    match symbol.split_once('_') {
        Some((letter, index)) => view! { <msub><mi>{letter}</mi><mtext>{index}</mtext></msub> }.into_any(),
        None => view! { <mi>{symbol}</mi> }.into_any(),
    }
}

fn expression(expression: &Expr, shown: Shown) -> AnyView {
    let part = |part: &Expr| self::expression(part, shown);
    match expression {
        Expr::Named { symbol, .. } if shown == Shown::Symbols => identifier(symbol),
        Expr::Named { shown, .. } => view! { <mtext>{shown.clone()}</mtext> }.into_any(),
        Expr::Number(value) => view! { <mn>{value.to_string()}</mn> }.into_any(),
        Expr::Sum(a, b) => view! { <mrow>{part(a)}<mo>"+"</mo>{part(b)}</mrow> }.into_any(),
        Expr::Difference(a, b) => view! { <mrow>{part(a)}<mo>"−"</mo>{bracketed(b, shown)}</mrow> }.into_any(),
        Expr::Product(a, b) => view! { <mrow>{bracketed(a, shown)}<mo>"×"</mo>{bracketed(b, shown)}</mrow> }.into_any(),
        Expr::Quotient(a, b) => view! { <mfrac>{part(a)}{part(b)}</mfrac> }.into_any(),
        Expr::Square(a) => view! { <msup>{squared(a, shown)}<mn>"2"</mn></msup> }.into_any(),
        Expr::Root(a) => view! { <msqrt>{part(a)}</msqrt> }.into_any(),
    }
}

/// A sum or difference inside a product stands in brackets.
fn bracketed(expr: &Expr, shown: Shown) -> AnyView {
    let inner = expression(expr, shown);
    match expr {
        Expr::Sum(..) | Expr::Difference(..) => view! { <mrow><mo>"("</mo>{inner}<mo>")"</mo></mrow> }.into_any(),
        _ => inner,
    }
}

/// What is squared stands in brackets unless it is one symbol.
fn squared(expr: &Expr, shown: Shown) -> AnyView {
    let inner = expression(expr, shown);
    match expr {
        Expr::Named { .. } if shown == Shown::Symbols => inner,
        _ => view! { <mrow><mo>"("</mo>{inner}<mo>")"</mo></mrow> }.into_any(),
    }
}
