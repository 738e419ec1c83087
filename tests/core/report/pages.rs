//! The course report and the page for phones: legible, named, and no wider than a phone.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::courses::{practical, run};
use second_glance::course::SimulatedGroup;
use second_glance::report::{CourseReportOptions, course_report};
use tempfile::tempdir;

/// Least contrast of text. WCAG 2.2, success criterion 1.4.3.
const LEAST: f64 = 4.5;

/// Relative luminance of `#rgb`, `#rrggbb` or `rgb(r,g,b)`. WCAG 2.2, definition of relative
/// luminance.
fn luminance(colour: &str) -> f64 {
    let colour = colour.trim();
    let codes: Vec<f64> = if let Some(inner) = colour.strip_prefix("rgb(") {
        inner.trim_end_matches(')').split(',').map(|c| c.trim().parse().unwrap()).collect()
    } else {
        let digits = colour.strip_prefix('#').unwrap_or_else(|| panic!("a colour: {colour}"));
        let each = digits.len() / 3;
        let code = |i: usize| {
            let part = &digits[i * each..(i + 1) * each];
            let whole = if each == 1 { part.repeat(2) } else { part.to_owned() };
            f64::from(u8::from_str_radix(&whole, 16).unwrap())
        };
        (0..3).map(code).collect()
    };
    let linear = |code: f64| {
        let v = code / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(codes[0]) + 0.7152 * linear(codes[1]) + 0.0722 * linear(codes[2])
}

/// Contrast ratio. WCAG 2.2, definition of contrast ratio.
fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// `(selector, property, value)` of every declaration of a style sheet, those for print left out.
fn declarations(css: &str) -> Vec<(String, String, String)> {
    let mut css = css.split("@media print").next().unwrap().to_owned();
    while let (Some(from), Some(to)) = (css.find("/*"), css.find("*/")) {
        css.replace_range(from..to + 2, "");
    }
    let mut found = Vec::new();
    for rule in css.split('}') {
        let Some((selector, body)) = rule.rsplit_once('{') else { continue };
        let selector = selector.rsplit('{').next().unwrap().trim();
        for declaration in body.split(';') {
            if let Some((property, value)) = declaration.split_once(':') {
                let part = |text: &str| text.trim().to_owned();
                found.push((part(selector), part(property), part(value)));
            }
        }
    }
    found
}

fn values(css: &[(String, String, String)], property: &str) -> Vec<(String, String)> {
    let of = css.iter().filter(|(_, name, _)| name == property);
    of.map(|(selector, _, value)| (selector.clone(), value.clone())).collect()
}

fn style_of(html: &str) -> &str {
    html.split("<style>").nth(1).unwrap().split("</style>").next().unwrap()
}

#[test]
fn the_formula_is_that_of_the_guidelines() {
    // Black on white is 21:1 by definition; #767676 on white is the grey that just meets 4.5:1,
    // 4.54 in the techniques of WCAG (G18) and by hand.
    assert!((contrast("#000", "#fff") - 21.0).abs() < 1e-9);
    assert!((contrast("#767676", "rgb(255,255,255)") - 4.54).abs() < 0.005);
}

/// Every chart has a name, and its text is legible.
fn charts_have_names(html: &str) {
    let charts: Vec<&str> = html.split("<svg").skip(1).collect();
    assert!(charts.len() >= 2);
    for chart in &charts {
        let (head, rest) = chart.split_once('>').unwrap();
        assert!(head.contains("role=\"img\""), "{head}");
        let name = head.split("aria-label=\"").nth(1).unwrap().split('"').next().unwrap();
        assert!(name.len() > 10, "{head}");
        let rest = rest.split("</svg>").next().unwrap();
        for text in rest.split("<text").skip(1) {
            let fill = text.split("fill=\"").nth(1).unwrap().split('"').next().unwrap();
            assert!(contrast(fill, "#fff") >= LEAST, "{fill}");
        }
    }
}

#[test]
fn text_of_the_report_is_legible_and_its_charts_have_names() {
    let dir = tempdir().unwrap();
    let group = SimulatedGroup { learners: 6, seed: 4, ..SimulatedGroup::default() };
    let (data, _) = run(&group, dir.path());
    let course = practical();
    let options = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: true,
        day: "2026-02-01",
    };
    for html in [
        course_report(&data, &options, &|_| {}),
        course_report(&data, &CourseReportOptions { shared: true, ..options }, &|_| {}),
    ] {
        if let Some(folder) = std::env::var_os("SECOND_GLANCE_KEEP") {
            let name = format!("page-{}.html", html.len());
            std::fs::write(std::path::Path::new(&folder).join(name), &html).unwrap();
        }
        let css = declarations(style_of(&html));
        let (texts, grounds) = (values(&css, "color"), values(&css, "background"));
        assert!(texts.len() >= 4 && grounds.len() >= 3, "{texts:?} {grounds:?}");
        for (of, text) in &texts {
            for (on, ground) in &grounds {
                let found = contrast(text, ground);
                assert!(found >= LEAST, "{of} {text} on {on} {ground}: {found:.2}");
            }
        }
        // Cells of tables are shaded one by one; what is written in them is the page's own text,
        // and small.
        let own: Vec<&String> = texts
            .iter()
            .filter(|(of, _)| of == "body" || of == "span.small")
            .map(|(_, colour)| colour)
            .collect();
        assert_eq!(own.len(), 2);
        let shades: Vec<&str> = html
            .split("style=\"background:")
            .skip(1)
            .map(|rest| rest.split('"').next().unwrap())
            .collect();
        assert!(shades.len() > 100);
        // The darkest there can be, whoever answers.
        let darkest = second_glance::report::darkest_cell();
        for shade in shades.into_iter().chain([darkest.as_str()]) {
            let shade = shade.trim_start_matches("background:");
            for text in &own {
                let found = contrast(text, shade);
                assert!(found >= LEAST, "{text} on {shade}: {found:.2}");
            }
        }

        charts_have_names(&html);
        // Whatever can be wide lies in a box that scrolls, and that the keyboard reaches.
        for wide in ["<table", "<svg"] {
            for (at, _) in html.match_indices(wide) {
                let before = &html[..at];
                let opened =
                    before.rfind("<div class=\"wide\" tabindex=\"0\" role=\"region\"").unwrap();
                assert!(!before[opened..].contains("</div>"), "{wide} at {at} stands outside");
            }
        }
        assert!(
            css.iter().any(|(of, name, value)| {
                of == ".wide" && name == "overflow-x" && value == "auto"
            })
        );
    }
}

#[test]
fn text_of_the_page_for_phones_is_legible() {
    let page = include_str!("../../../assets/lecture/page.html");
    let css = declarations(style_of(page));
    // What each kind of text stands on: the page, a button, a pressed or a right one.
    let (texts, grounds) = (values(&css, "color"), values(&css, "background"));
    assert!(texts.len() >= 4 && grounds.len() >= 4, "{texts:?} {grounds:?}");
    for (of, text) in &texts {
        for (on, ground) in &grounds {
            let found = contrast(text, ground);
            assert!(found >= LEAST, "{of} {text} on {on} {ground}: {found:.2}");
        }
    }
}
