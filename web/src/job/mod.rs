//! The job in the browser: where it is kept, the pages that show it, what calculators learn of it.
//!
//! - [`store`] keeps jobs on this device; a change is on disk when its promise is kept.
//! - [`mirror`] puts the current job's values where a calculator finds them at once.
//! - [`view`] is the HTML of the blocks `jobs`, `survey` and `sheet`; `press` prints it, [`wake`] brings it to life.
//!
//! The library exports nothing to JavaScript from here: `bin/jobs.rs` does, so that no other module carries this.

mod exchange;
mod form;
pub mod keep;
pub mod mirror;
mod photo;
pub mod run;
mod sheet;
mod shelf;
pub mod store;
mod survey;
pub mod view;
mod wake;

use job::Time;

pub use wake::wake;

/// Now, by the device's clock.
#[must_use]
pub fn now() -> Time {
    Time::from_millis(js_sys::Date::now())
}

/// A name that no other job or photograph has.
#[must_use]
pub fn new_id() -> String {
    let part = || (js_sys::Math::random() * f64::from(u32::MAX)) as u32;
    format!("{:08x}{:08x}{:08x}", part(), part(), part())
}
