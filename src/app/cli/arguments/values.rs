//! Values that have bounds.

/// What is wrong with a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum ValueError {
    #[error("a number of seconds from 0 to 600")]
    Seconds,
    #[error("width x height in pixels, each 64 to 8192, such as 1280x600")]
    Size,
}

/// A number of seconds, 0 to 600.
pub(crate) fn seconds(text: &str) -> Result<f64, ValueError> {
    match text.parse::<f64>() {
        Ok(value) if (0.0..=600.0).contains(&value) => Ok(value),
        _ => Err(ValueError::Seconds),
    }
}

/// Width and height, 64 to 8192 pixels each, written as `1280x600`.
pub(crate) fn size(text: &str) -> Result<(u32, u32), ValueError> {
    let parse = |part: &str| part.parse::<u32>().ok().filter(|side| (64..=8192).contains(side));
    text.split_once('x')
        .and_then(|(width, height)| Some((parse(width)?, parse(height)?)))
        .ok_or(ValueError::Size)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_and_seconds_have_bounds() {
        assert_eq!(size("1280x600"), Ok((1280, 600)));
        for bad in ["1280", "0x600", "1280x", "x", "9000x600", "12.5x600"] {
            assert!(size(bad).is_err(), "{bad}");
        }
        assert_eq!(seconds("2"), Ok(2.0));
        for bad in ["-1", "NaN", "601", ""] {
            assert!(seconds(bad).is_err(), "{bad}");
        }
    }
}
