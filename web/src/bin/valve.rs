//! The calculators of [`VALVE`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::VALVE;

fn main() {
    web::browser::bring(&[&VALVE]);
}
