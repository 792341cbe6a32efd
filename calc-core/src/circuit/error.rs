//! Why a network has no answer, naming the part or the node.

/// Why a network has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// A part's value cannot be.
    #[error("“{part}”: its {what} is {found}; it must be {allowed}")]
    BadValue {
        /// The name of the part.
        part: String,
        /// Which of its values.
        what: &'static str,
        /// What was given, in SI units.
        found: f64,
        /// The values that are allowed, in words.
        allowed: &'static str,
    },
    /// Two parts have one name.
    #[error("two parts are called “{part}”; give each its own name")]
    Repeated {
        /// The name that was given twice.
        part: String,
    },
    /// Nothing in the network has this name.
    #[error(
        "the network has no {kind} “{name}”{}",
        nearest.as_ref().map(|nearest| format!("; is it “{nearest}”?")).unwrap_or_default()
    )]
    Unknown {
        /// What was looked for: a node, a part, …
        kind: &'static str,
        /// What was asked for.
        name: String,
        /// The nearest name there is.
        nearest: Option<String>,
    },
    /// Nothing ties a node's voltage to the chassis.
    #[error("the node “{node}” floats: no path leads from it to the chassis")]
    Floating {
        /// The name of the node.
        node: String,
    },
    /// A current may have any value: sources, or windings and sources, that close a loop without resistance.
    #[error("the current through “{part}” is not determined: it closes a loop without resistance")]
    Loop {
        /// The name of the part.
        part: String,
    },
    /// The values lie so far apart that no digit of the answer is sure.
    #[error("“{at}” cannot be worked out: the values round it lie too far apart")]
    Lost {
        /// The node or the part.
        at: String,
    },
    /// No operating point was found.
    #[error("no operating point was found: “{node}” does not settle")]
    NoConvergence {
        /// The node, or the part, that moves most.
        node: String,
    },
    /// In the course of time the steps became too small, or too many.
    #[error("the course in time stops at {time} s: “{node}” does not settle")]
    Stalled {
        /// The moment at which it happened, in seconds from the beginning.
        time: f64,
        /// The node, or the part, that moves most.
        node: String,
    },
    /// A voltage or current is beyond what a number holds.
    #[error("“{at}” is beyond what a number holds")]
    NotFinite {
        /// The node or the part.
        at: String,
    },
    /// A sweep needs a source that carries a signal.
    #[error("no source carries a signal, so there is nothing to sweep; give one an amplitude")]
    Silent,
    /// What was asked of an analysis cannot be.
    #[error("{what} is {found}; it must be {allowed}")]
    BadAnalysis {
        /// What of the analysis is wrong.
        what: &'static str,
        /// What was given, in SI units.
        found: f64,
        /// The values that are allowed, in words.
        allowed: &'static str,
    },
}
