//! The calculators of [`DRIVE`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole program is
//! optimised as one.

use calc_core::calculators::DRIVE;

fn main() {
    web::browser::bring(&[&DRIVE]);
}
