//! Sorting and gathering that is compiled once.
//!
//! `slice::sort_by` is compiled anew for every type and every comparison, and so is what
//! `collect` sorts by for a map or a set: some 3 kB each time, forty times over on the page,
//! for lists that are mostly short. Here places are sorted and the comparison is called
//! through a pointer. The order is the same: equal elements stay as they were.

use std::cmp::Ordering;

/// As `slice::sort_by`.
pub(crate) fn sort_by<T>(list: &mut [T], compare: impl Fn(&T, &T) -> Ordering) {
    let mut places: Vec<usize> = (0..list.len()).collect();
    places_by(&mut places, &|a, b| compare(&list[a], &list[b]));
    for start in 0..places.len() {
        // Around a circle of places: what stood at `start` is carried along to its end.
        let mut at = start;
        loop {
            let from = std::mem::replace(&mut places[at], at);
            if from == start {
                break;
            }
            list.swap(at, from);
            at = from;
        }
    }
}

/// As `slice::sort`.
pub(crate) fn sort<T: Ord>(list: &mut [T]) {
    sort_by(list, T::cmp);
}

/// Sorts places in another list.
pub(crate) fn places_by(places: &mut [usize], compare: &dyn Fn(usize, usize) -> Ordering) {
    places.sort_by(|a, b| compare(*a, *b));
}

/// As `collect`, for maps and sets: element by element, without sorting them first.
pub(crate) fn gathered<T, C: Default + Extend<T>>(elements: impl IntoIterator<Item = T>) -> C {
    let mut all = C::default();
    all.extend(elements);
    all
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_order_is_that_of_the_library(list in proptest::collection::vec((0_u8..20, any::<u8>()), 0..200)) {
            let mut theirs = list.clone();
            theirs.sort_by_key(|element| std::cmp::Reverse(element.0));
            let mut ours = list.clone();
            sort_by(&mut ours, |a, b| b.0.cmp(&a.0));
            prop_assert_eq!(&ours, &theirs);

            theirs.sort();
            sort(&mut ours);
            prop_assert_eq!(&ours, &theirs);

            let mut theirs: Vec<usize> = (0..list.len()).collect();
            let mut ours = theirs.clone();
            theirs.sort_by_key(|&i| list[i].0);
            places_by(&mut ours, &|a, b| list[a].0.cmp(&list[b].0));
            prop_assert_eq!(ours, theirs);

            let theirs: BTreeMap<u8, u8> = list.iter().copied().collect();
            let ours: BTreeMap<u8, u8> = gathered(list);
            prop_assert_eq!(ours, theirs);
        }
    }
}
