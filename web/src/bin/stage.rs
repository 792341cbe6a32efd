//! The calculators of [`STAGE`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::STAGE;

fn main() {
    web::browser::bring(&[&STAGE]);
}
