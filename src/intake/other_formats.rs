//! Files that are no spectrum with one line a wavelength: what they are, and how to turn them into one.

use super::header::short;

/// How a spectrum is to be laid out, for help.
const WANTED: &str = "export the reflectances as text with commas, one line a wavelength below \
                      `wavelength_nm,over_white,over_black`";
/// Fewest columns named by a wavelength that make a table a wide one.
const WIDE: usize = 4;

/// What a text in XML is, and what to do about it; `None` for other texts.
pub(super) fn other_format(text: &str) -> Option<(String, String)> {
    if !text.trim_start().starts_with('<') {
        return None;
    }
    let root = root_element(text).unwrap_or_default();
    let local = root.rsplit(':').next().unwrap_or_default();
    let message = if local.eq_ignore_ascii_case("cxf") {
        "the file is CxF, the colour exchange format in XML (ISO 17972); nothing of it is read"
            .to_owned()
    } else if root.is_empty() {
        "the file is XML; nothing of it is read".to_owned()
    } else {
        format!("the file is XML that holds `{}`; nothing of it is read", short(root))
    };
    Some((message, WANTED.to_owned()))
}

/// The name of the first element: what follows declarations and comments.
fn root_element(text: &str) -> Option<&str> {
    let mut rest = text;
    loop {
        rest = &rest[rest.find('<')? + 1..];
        if let Some(comment) = rest.strip_prefix("!--") {
            rest = &comment[comment.find("-->")? + 3..];
        } else if rest.starts_with(['?', '!']) {
            rest = &rest[rest.find('>')? + 1..];
        } else {
            let end = rest.find(|c: char| c.is_whitespace() || c == '>' || c == '/');
            return Some(&rest[..end.unwrap_or(rest.len())]);
        }
    }
}

/// What to say of column names that are wavelengths: such a table has one line a measurement and
/// one column a wavelength. `None` for other tables.
pub(super) fn wide_table(names: &[&str]) -> Option<(String, String)> {
    let nm: Vec<f64> = names.iter().filter_map(|name| wavelength(name)).collect();
    let (first, last) = (nm.first()?, nm.last()?);
    let up = nm.windows(2).all(|pair| pair[0] < pair[1]);
    let down = nm.windows(2).all(|pair| pair[0] > pair[1]);
    (nm.len() >= WIDE && (up || down)).then(|| {
        let message = format!(
            "the table is wide: {} of its {} columns are wavelengths, from {first} to {last} nm",
            nm.len(),
            names.len()
        );
        let help = "turn it (transpose it in a spreadsheet): one line a wavelength, with the columns \
                    `wavelength_nm,over_white,over_black`, and one file for each piece";
        (message, help.to_owned())
    })
}

/// A wavelength that a column is named by, such as `400`, `400 nm` or `R400`.
fn wavelength(name: &str) -> Option<f64> {
    let digits = name.trim_start_matches(|c: char| c.is_alphabetic() || "_[( ".contains(c));
    let digits = digits.trim_end_matches(|c: char| c.is_alphabetic() || "_]) ".contains(c));
    digits.parse::<f64>().ok().filter(|nm| (200.0..=2500.0).contains(nm))
}
