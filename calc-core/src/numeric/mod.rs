//! Arithmetic that knows nothing of the trade, and the two filters of first order that half of the calculators use.

pub mod high_pass;
pub mod low_pass;
pub mod memo;
pub mod order;
pub mod root;
