//! How far what a valve's model gives may be off: the one rule for every calculator that asks a model.
//!
//! ```text
//! I_a  = k_m k_v I_model(V)                 at these voltages
//! I_g2 = k_s k_w I_g2,model                 where the model's grid is moved so that its anode draws the same I_a
//! g_m  = k_g k_w g_m,model    1/r_a = k_w / k_r · 1/r_a,model            the same
//! ```
//!
//! All k are 100 %. k_m, k_s, k_g and k_r carry what the model is off its own data sheet: the worst of the data sheet's rows against
//! the model, cut-off left out, for each kind of figure. k_v and k_w carry the spread of real valves about their average.
//! The two are asked apart, so that an answer can say which of them matters most. A tolerance has one width for both sides;
//! where the rows are lopsided it is the wider one, and the words give both.
//!
//! Units: shares. Source: the residuals of each fit, worked out beside it (`build/models.rs`); that valves spread by 30 % is
//! common practice, no source.

use super::Fitted;
use crate::calculator::Ask;
use crate::quantity::unit::PER_CENT;
use crate::quantity::{Ratio, writing};

/// How far the figures of a data sheet lie from what its model gives there, as shares of the model's: -0.1 for a tenth below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// How far the figure that lies lowest is from the model’s.
    pub low: f64,
    /// The highest figure, as [`Self::low`].
    pub high: f64,
    /// What the model's figure carries: the wider side, and 15 % at least, because a few rows that are met prove little.
    pub wide: f64,
    /// The same as a field takes it, in whole per cent.
    pub margin: &'static str,
}

/// A model against its own data sheet, cut-off left out. `None` where no row gives the figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetSpan {
    /// Anode current, at the row's voltages.
    pub anode: Span,
    /// Screen current, at the row's anode current, as are the rest.
    pub screen: Option<Span>,
    /// gm, at the row's anode current.
    pub gm: Option<Span>,
    /// ra, at the row's anode current.
    pub ra: Option<Span>,
    /// The amplification factor, gm times ra.
    pub mu: Option<Span>,
}

/// For a figure that no row of the data sheet gives, and for a valve without a model, whose answers say that there is none.
const NO_ROW: &str = "50 %";

/// The spread of valves of one type about their average.
const SPREAD: &str = "30 %";
/// The same, as a share.
const SPREAD_SHARE: f64 = 0.3;

/// The same of the amplification factor, which the winding of the grid sets.
const SPREAD_OF_MU: &str = "20 %";

fn ask(
    a: &mut Ask,
    id: &'static str,
    symbol: &'static str,
    name: &'static str,
    margin: &'static str,
) -> Ratio {
    let hint = if name.starts_with("Model") {
        "How far its data-sheet figures are from the model that was fitted to them."
    } else {
        "Valves of one type, about their average. Common practice, no source. If you have measured yours, type its \
         share and its margin."
    };
    let asked = a.usual().quantity(id, symbol, name, "100 %").hint(hint);
    asked.within("20 %", "500 %").tolerance(margin).get()
}

fn sheet(fitted: Option<&Fitted>, figure: fn(&SheetSpan) -> Option<Span>) -> &'static str {
    fitted.and_then(|fitted| figure(&fitted.sheet)).map_or(NO_ROW, |span| span.margin)
}

/// k_m: the data sheet's anode current against the model's.
pub fn ask_anode(a: &mut Ask, fitted: Option<&Fitted>) -> Ratio {
    let margin = sheet(fitted, |sheet| Some(sheet.anode));
    ask(a, "model-share", "k_m", "Model against its data sheet: anode current", margin)
}

/// k_s: the data sheet's screen current against the model's, at one anode current.
pub fn ask_screen(a: &mut Ask, fitted: Option<&Fitted>) -> Ratio {
    let margin = sheet(fitted, |sheet| sheet.screen);
    ask(a, "screen-share", "k_s", "Model against its data sheet: screen current", margin)
}

/// k_g: the data sheet's gm against the model's, at one anode current.
pub fn ask_gm(a: &mut Ask, fitted: Option<&Fitted>) -> Ratio {
    let margin = sheet(fitted, |sheet| sheet.gm);
    ask(a, "gm-share", "k_g", "Model against its data sheet: gm", margin)
}

/// k_r: the data sheet's anode resistance against the model's, at one anode current.
pub fn ask_ra(a: &mut Ask, fitted: Option<&Fitted>) -> Ratio {
    let margin = sheet(fitted, |sheet| sheet.ra);
    ask(a, "ra-share", "k_r", "Model against its data sheet: anode resistance", margin)
}

/// k_µ: the data sheet's amplification factor against the model's, at one anode current.
pub fn ask_mu(a: &mut Ask, fitted: Option<&Fitted>) -> Ratio {
    let margin = sheet(fitted, |sheet| sheet.mu);
    ask(a, "mu-share", "k_µ", "Model against its data sheet: amplification factor", margin)
}

/// k_v: a valve's anode current against the average one's, at the same voltages.
pub fn ask_valve(a: &mut Ask) -> Ratio {
    ask(a, "valve-share", "k_v", "Spread of real valves: anode current", SPREAD)
}

/// k_w: what of a valve goes with its anode current, as its slopes and its screen current, against the average one's at the
/// same anode current. `id` is the field's own.
pub fn ask_valve_at_current(a: &mut Ask, id: &'static str, name: &'static str) -> Ratio {
    ask(a, id, "k_w", name, SPREAD)
}

/// k_u: a valve's amplification factor against the average one's.
pub fn ask_valve_mu(a: &mut Ask) -> Ratio {
    ask(a, "valve-mu", "k_u", "Spread of real valves: amplification factor", SPREAD_OF_MU)
}

impl Span {
    /// The two ends, as `−12 % to +16 %`.
    #[must_use]
    pub fn words(&self) -> String {
        let end = |share: f64| {
            let sign = if share > 0.0 { "+" } else { "" };
            format!("{sign}{}", writing::engineering(share, &PER_CENT, 2, writing::Rounding::Nearest))
        };
        format!("{} to {}", end(self.low), end(self.high))
    }
}

impl Fitted {
    /// How far a change of current that follows the model's slope may be off: less than its value, and more.
    #[must_use]
    pub fn slope_off(&self) -> (f64, f64) {
        let wide = self.sheet.gm.map_or(0.5, |gm| gm.wide);
        (1.0 - (1.0 - wide) * (1.0 - SPREAD_SHARE), (1.0 + wide) * (1.0 + SPREAD_SHARE) - 1.0)
    }

    /// How far the data sheet's rows lie from the model, and the real valves from their average, in a sentence or two.
    #[must_use]
    pub fn margin_words(&self) -> String {
        let SheetSpan { anode, screen, gm, ra, mu } = self.sheet;
        let named = [
            (Some(anode), "anode current"),
            (screen, "screen current"),
            (gm, "gm"),
            (ra, "anode resistance"),
            // Of a pentode nobody asks for it.
            (mu.filter(|_| screen.is_none()), "amplification factor"),
        ];
        let spans: Vec<String> = named
            .into_iter()
            .filter_map(|(span, name)| {
                span.map(|span| format!("{name} {} (counted as ±{})", span.words(), span.margin))
            })
            .collect();
        format!(
            "The data-sheet figures of the {} differ from the model by: {}. Each counts as its wider side, and as \
             15\u{a0}% at least. Real valves spread by ±{SPREAD} about their average (common practice, no source): \
             that is counted separately.",
            self.valve,
            spans.join(", ")
        )
    }
}
