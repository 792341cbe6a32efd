//! Holds what `calc-core` says against what others have published or worked out. Nothing expected here comes from our
//! own code, save in `links`, which holds what links once meant.

mod amplifiers;
mod bad;
mod calculators;
mod faults;
mod gates;
mod healthy;
mod job;
mod links;
mod margins;
mod master_volume;
mod model;
mod network;
mod ngspice;
mod power_up;
mod stages;
mod valves;
mod walk;
