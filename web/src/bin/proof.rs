//! The calculators of [`PROOF`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::PROOF;

fn main() {
    web::browser::bring(&[&PROOF]);
}
