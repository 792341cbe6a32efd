//! What is worked out when someone looks, and not before: a table of faults or a netlist is as much work as the answer.

use std::fmt::{self, Debug, Formatter};
use std::rc::Rc;

/// Something that is made each time it is asked for, from what it was made with.
pub struct Lazy<T>(Rc<dyn Fn() -> T>);

impl<T> Lazy<T> {
    /// It is made like this.
    pub fn new(make: impl Fn() -> T + 'static) -> Self {
        Self(Rc::new(make))
    }

    /// Works it out; every call does so again.
    #[must_use]
    pub fn get(&self) -> T {
        (self.0)()
    }
}

/// What is there already.
impl<T: Clone + 'static> From<T> for Lazy<T> {
    fn from(made: T) -> Self {
        Self::new(move || made.clone())
    }
}

impl<T> Clone for Lazy<T> {
    fn clone(&self) -> Self {
        Self(Rc::clone(&self.0))
    }
}

impl<T> Debug for Lazy<T> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str("Lazy")
    }
}

impl<T: PartialEq> PartialEq for Lazy<T> {
    fn eq(&self, other: &Self) -> bool {
        self.get() == other.get()
    }
}
