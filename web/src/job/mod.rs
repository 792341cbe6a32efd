//! The job in the browser: where it is kept, the pages that show it, what calculators learn of it.
//!
//! - [`store`] keeps jobs on this device; a change is on disk when its promise is kept.
//! - [`current_job`] is what calculators and the line of STOPs need of it, written with it.
//! - [`view`] is the HTML of the blocks `jobs`, `survey` and `sheet`; `press` prints it, [`mount`] brings it to life.
//!
//! The library exports nothing to JavaScript from here: `bin/job.rs` does, so that the module of the calculators does not
//! carry this.

pub mod current_job;
mod exchange;
mod form;
mod job_list;
pub mod keep;
mod mount;
mod photo;
mod press;
pub mod run;
mod sheet;
pub mod store;
mod survey;
mod turns;
pub mod view;

use job::Time;

pub use mount::mount;

/// Now, by the device's clock.
#[must_use]
pub fn now() -> Time {
    Time::from_millis(js_sys::Date::now())
}

/// Milliseconds since the page was opened, by a clock that nobody sets.
pub(crate) fn steady() -> f64 {
    web_sys::window().and_then(|window| window.performance()).map_or(0.0, |clock| clock.now())
}

/// A name that no other job or photograph has.
#[must_use]
pub fn new_id() -> String {
    let part = || (js_sys::Math::random() * f64::from(u32::MAX)) as u32;
    format!("{:08x}{:08x}{:08x}", part(), part(), part())
}
