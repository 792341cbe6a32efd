//! What a calculator asks: fields and how they are read, laid out, written as a line and as a link.

pub(crate) mod ask;
pub(crate) mod field;
mod layout;
pub(crate) mod line;
mod link;
mod point;
mod points;
pub(crate) mod problem;

pub use ask::{Ask, Question, if_wanted};
pub use field::{Choice, Field, Kind, ToleranceField, Whose, tolerance_id};
pub use layout::{Filled, Section, filled};
pub use line::{Inputs, from_line, to_line};
pub use link::{Aside, Link};
pub use point::Point;
pub use points::{Form, Side};
pub use problem::{Impossible, Problem};
