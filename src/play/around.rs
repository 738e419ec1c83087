//! Steps along lists whose ends are joined.

/// The place so many steps on from `from` in a list of `count`, backwards below 0; before the first
/// comes the last. 0 in an empty list.
#[must_use]
pub const fn around(from: usize, by: i32, count: usize) -> usize {
    if count == 0 {
        return 0;
    }
    (from as i64 + by as i64).rem_euclid(count as i64) as usize
}

#[cfg(test)]
mod tests {
    use super::around;

    #[test]
    fn after_the_last_comes_the_first_and_before_the_first_the_last() {
        let found =
            [(0, 1), (3, 1), (0, -1), (2, -5), (1, 9), (2, 0)].map(|(f, b)| around(f, b, 4));
        assert_eq!(found, [1, 0, 3, 1, 2, 2]);
        assert_eq!(around(0, -1, 1), 0);
        assert_eq!(around(5, 1, 0), 0, "there is nowhere to go");
    }
}
