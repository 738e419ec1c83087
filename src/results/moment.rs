//! Days and times as results hold them: RFC 3339 in UTC.

/// Whether a text is a day such as `2026-01-31`, of the years 2000 to 2999.
pub(super) fn is_day(text: &str) -> bool {
    let bytes = text.as_bytes();
    let number = |range: std::ops::Range<usize>| -> Option<u32> {
        let digits = bytes.get(range)?;
        digits.iter().try_fold(0, |n, digit| {
            digit.is_ascii_digit().then(|| n * 10 + u32::from(digit - b'0'))
        })
    };
    bytes.len() == 10
        && bytes[4] == b'-'
        && bytes[7] == b'-'
        && number(0..4).is_some_and(|year| (2000..3000).contains(&year))
        && number(5..7).is_some_and(|month| (1..=12).contains(&month))
        && number(8..10).is_some_and(|day| (1..=31).contains(&day))
}

pub(super) fn is_moment(text: &str) -> bool {
    let bytes = text.as_bytes();
    let two = |at: usize, below: u32| {
        bytes.get(at..at + 2).is_some_and(|d| {
            d.iter().all(u8::is_ascii_digit)
                && u32::from(d[0] - b'0') * 10 + u32::from(d[1] - b'0') < below
        })
    };
    let sharp = |at: usize, c: u8| bytes.get(at) == Some(&c);
    let parts = bytes.get(19..bytes.len().saturating_sub(1)).unwrap_or_default();
    text.get(..10).is_some_and(is_day)
        && sharp(10, b'T')
        && two(11, 24)
        && sharp(13, b':')
        && two(14, 60)
        && sharp(16, b':')
        && two(17, 61)
        && bytes.len() >= 20
        && bytes.last() == Some(&b'Z')
        && (parts.is_empty()
            || (parts[0] == b'.'
                && (2..=10).contains(&parts.len())
                && parts[1..].iter().all(u8::is_ascii_digit)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_those_of_rfc_3339_in_utc() {
        for good in ["2026-01-31T09:30:00Z", "2026-12-01T23:59:60Z", "2026-01-31T09:30:00.250Z"] {
            assert!(is_moment(good), "{good}");
        }
        for bad in [
            "",
            "Z",
            "2026-01-31",
            "2026-01-31T09:30:00",
            "2026-01-31 09:30:00Z",
            "2026-13-31T09:30:00Z",
            "2026-01-31T24:30:00Z",
            "2026-01-31T09:30:00.Z",
            "2026-01-31T09:30:00x5Z",
            "2026-01-31T09:30:00+01:00",
            "-026-01-31T09:30:00Z",
            "9999-01-31T09:30:00Z",
            "2026-01-31T09:30:00éZ",
        ] {
            assert!(!is_moment(bad), "{bad}");
        }
    }
}
