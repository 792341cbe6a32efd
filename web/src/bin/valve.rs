//! The calculators of [`calc_core::calculators::VALVE`] as a WebAssembly module. A binary, not a `cdylib`, so that the whole
//! program is optimised as one.

web::module!(VALVE);
