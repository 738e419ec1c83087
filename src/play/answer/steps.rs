//! Steps along options.

/// The place so many steps on, around the ends.
pub(super) const fn moved(from: usize, by: i32, count: usize) -> usize {
    if count == 0 {
        return 0;
    }
    (from as i64 + by as i64).rem_euclid(count as i64) as usize
}
