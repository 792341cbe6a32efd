//! The calculators of [`BIAS`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::BIAS;

fn main() {
    web::browser::bring(&[&BIAS]);
}
