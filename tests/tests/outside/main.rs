//! Holds what `calc-core` says against what others have published or worked out. Nothing expected here comes from our
//! own code.

mod calculators;
mod margins;
mod model;
mod network;
mod ngspice;
mod valves;
