//! The calculators of [`MASTER`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::MASTER;

fn main() {
    web::browser::bring(&[&MASTER]);
}
