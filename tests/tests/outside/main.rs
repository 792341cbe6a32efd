//! Holds what `calc-core` says against what others have published or worked out. Nothing expected here comes from our
//! own code, save in `links`, which holds what links once meant.

mod amplifiers;
mod calculators;
mod differential;
mod fault_table;
mod faults;
mod gates;
mod hard;
mod healthy;
mod inverse;
mod job;
mod links;
mod margins;
mod master_volume;
mod model;
mod model_margin;
mod network;
mod ngspice;
mod power_up;
mod stages;
mod valves;
