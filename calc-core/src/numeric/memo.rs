//! The last thing found, kept for anyone who asks for the same again.

use std::cell::RefCell;

/// What was found last, and for what. Turning one knob asks for much that another key would change.
pub struct MemoLast<K, V>(RefCell<Option<(K, V)>>);

impl<K: PartialEq, V: Clone> MemoLast<K, V> {
    /// A memo that holds nothing yet.
    #[must_use]
    pub const fn new() -> Self {
        Self(RefCell::new(None))
    }

    /// What is kept for this, or else what `find` finds.
    pub fn of(&self, key: K, find: impl FnOnce(&K) -> V) -> V {
        let mut last = self.0.borrow_mut();
        match &*last {
            Some((kept, found)) if *kept == key => found.clone(),
            _ => {
                let found = find(&key);
                *last = Some((key, found.clone()));
                found
            }
        }
    }
}

impl<K: PartialEq, V: Clone> Default for MemoLast<K, V> {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::MemoLast;

    #[test]
    fn the_same_is_found_once_and_another_anew() {
        let last = MemoLast::new();
        let mut asked = vec![];
        for key in [1, 1, 2, 1] {
            let found = last.of(key, |key| {
                asked.push(*key);
                key * 10
            });
            assert_eq!(found, key * 10);
        }
        assert_eq!(asked, [1, 2, 1]);
    }
}
