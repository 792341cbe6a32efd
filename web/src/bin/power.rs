//! The calculators of [`calc_core::calculators::POWER`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole
//! program is optimised as one.

web::module!(POWER);
