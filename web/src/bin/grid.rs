//! The calculators of [`GRID`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::GRID;

fn main() {
    web::browser::bring(&[&GRID]);
}
