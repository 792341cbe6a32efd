//! A few things in the order of a number of theirs.

/// Sorts by this number, the least first; what has the same stays in its order. For lists that a page shows: beyond some
/// hundred entries the standard library's sort is faster. That one is 4 kB of WebAssembly for each type it sorts.
pub fn by_number<T>(items: &mut [T], number: impl Fn(&T) -> f64) {
    for end in 1..items.len() {
        let mut at = end;
        while at > 0 && number(&items[at]).total_cmp(&number(&items[at - 1])).is_lt() {
            items.swap(at, at - 1);
            at -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::by_number;

    #[test]
    fn the_least_comes_first_and_what_is_alike_keeps_its_order() {
        let mut items = [(2.0, 'a'), (-1.0, 'b'), (2.0, 'c'), (0.5, 'd'), (-1.0, 'e')];
        by_number(&mut items, |item| item.0);
        assert_eq!(items.map(|item| item.1), ['b', 'e', 'd', 'a', 'c']);
        by_number(&mut items, |item| -item.0);
        assert_eq!(items.map(|item| item.1), ['a', 'c', 'd', 'b', 'e']);
        by_number(&mut [0.0; 0], |item| *item);
    }
}
