//! The frame (skeleton for the first build).
use std::collections::BTreeMap;
/// What the reader typed, by field id.
pub type Inputs = BTreeMap<String, String>;
