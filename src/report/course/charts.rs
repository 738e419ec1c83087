//! The charts of a course report, as SVG text.

use plotters::coord::Shift;
use plotters::coord::combinators::WithKeyPoints;
use plotters::prelude::*;
use std::error::Error;

const SIZE: (u32, u32) = (640, 360);
const INK: RGBColor = RGBColor(34, 34, 34);
const PALE: RGBColor = RGBColor(200, 200, 200);
/// Lines and bars that mean something, 4.5 to 1 against the page.
const GUIDE: RGBColor = RGBColor(117, 117, 117);
const BLUE: RGBColor = RGBColor(31, 98, 160);
const FONT: (&str, u32) = ("sans-serif", 15);
/// Thresholds on the axes, ΔE00.
const RANGE_DE00: (f64, f64) = (0.4, 8.0);

/// Where the axes are marked, ΔE00.
const TICKS_DE00: [f64; 8] = [0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0];

/// A logarithmic axis of thresholds.
fn axis() -> WithKeyPoints<LogCoord<f64>> {
    (RANGE_DE00.0..RANGE_DE00.1).log_scale().with_key_points(TICKS_DE00.to_vec())
}

/// A series of thresholds: `(ΔE00, standard error of ln τ)`.
pub(super) struct Series<'a> {
    pub name: &'a str,
    pub thresholds: Vec<(f64, f64)>,
}

/// A chart that cannot be drawn is left out; its numbers are in the tables.
fn svg(
    size: (u32, u32),
    draw: impl FnOnce(&DrawingArea<SVGBackend<'_>, Shift>) -> Result<(), Box<dyn Error>>,
) -> Option<String> {
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
        draw(&area).ok()?;
        area.present().ok()?;
    }
    Some(text)
}

fn inside(de00: f64) -> f64 {
    de00.clamp(RANGE_DE00.0 * 1.001, RANGE_DE00.1 * 0.999)
}

fn whole(value: &f64) -> String {
    format!("{value:.0}")
}

fn number(value: &f64) -> String {
    format!("{value:.1}")
}

/// Share of the group at or below each threshold, with each one's standard error.
pub(super) fn distribution(series: &[Series<'_>], cut_de00: f64) -> Option<String> {
    svg(SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(44)
            .y_label_area_size(58)
            .build_cartesian_2d(axis(), 0.0..100.0)?;
        chart
            .configure_mesh()
            .light_line_style(WHITE)
            .bold_line_style(PALE.mix(0.6))
            .label_style(FONT)
            .axis_desc_style(FONT)
            .x_labels(8)
            .x_label_formatter(&number)
            .y_label_formatter(&whole)
            .x_desc("threshold, ΔE00 (left: sees smaller differences)")
            .y_desc("learners, %")
            .draw()?;
        chart.draw_series(LineSeries::new(
            [(cut_de00, 0.0), (cut_de00, 100.0)],
            GUIDE.stroke_width(2),
        ))?;
        for (index, one) in series.iter().enumerate() {
            let (colour, filled) = if index == 0 { (INK, false) } else { (BLUE, true) };
            let mut sorted = one.thresholds.clone();
            sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
            let n = sorted.len().max(1) as f64;
            let at = |i: usize| 100.0 * (i as f64 + 0.5) / n;
            chart.draw_series(sorted.iter().enumerate().map(|(i, (t, sem))| {
                let ends = [(inside(t * (-sem).exp()), at(i)), (inside(t * sem.exp()), at(i))];
                PathElement::new(ends.to_vec(), colour.mix(0.25))
            }))?;
            let style = if filled { colour.filled() } else { colour.stroke_width(1) };
            chart
                .draw_series(
                    sorted
                        .iter()
                        .enumerate()
                        .map(|(i, (t, _))| Circle::new((inside(*t), at(i)), 3, style)),
                )?
                .label(one.name)
                .legend(move |(x, y)| Circle::new((x + 8, y), 4, style));
        }
        chart
            .configure_series_labels()
            .position(SeriesLabelPosition::LowerRight)
            .label_font(FONT)
            .background_style(WHITE.mix(0.8))
            .draw()?;
        Ok(())
    })
}

/// How many learners have a threshold in each bin: `(low, high, count)`; bins that may not be shown
/// have none.
pub(super) fn histogram(bins: &[(f64, f64, Option<u32>)]) -> Option<String> {
    let most = bins.iter().filter_map(|b| b.2).max().unwrap_or(1).max(5);
    svg(SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(44)
            .y_label_area_size(58)
            .build_cartesian_2d(axis(), 0.0..f64::from(most) * 1.1)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .light_line_style(WHITE)
            .bold_line_style(PALE.mix(0.6))
            .label_style(FONT)
            .axis_desc_style(FONT)
            .x_labels(8)
            .x_label_formatter(&number)
            .y_label_formatter(&whole)
            .x_desc("threshold, ΔE00")
            .y_desc("learners")
            .draw()?;
        chart.draw_series(bins.iter().filter_map(|(low, high, count)| {
            let top = f64::from((*count)?);
            Some(Rectangle::new(
                [(inside(*low), 0.0), (inside(*high), top)],
                BLUE.mix(0.7).filled(),
            ))
        }))?;
        chart.draw_series(bins.iter().filter(|b| b.2.is_none()).map(|(low, high, _)| {
            let style = GUIDE.filled();
            Rectangle::new([(inside(*low), 0.0), (inside(*high), f64::from(most) * 0.05)], style)
        }))?;
        Ok(())
    })
}

/// False alarms, percent, against thresholds.
pub(super) fn false_alarms(points: &[(f64, f64)], limit: f64) -> Option<String> {
    svg(SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(44)
            .y_label_area_size(58)
            .build_cartesian_2d(axis(), 0.0..100.0)?;
        chart
            .configure_mesh()
            .light_line_style(WHITE)
            .bold_line_style(PALE.mix(0.6))
            .label_style(FONT)
            .axis_desc_style(FONT)
            .x_labels(8)
            .x_label_formatter(&number)
            .y_label_formatter(&whole)
            .x_desc("threshold, ΔE00")
            .y_desc("false alarms, %")
            .draw()?;
        chart.draw_series(LineSeries::new(
            [(RANGE_DE00.0, limit), (RANGE_DE00.1, limit)],
            GUIDE.stroke_width(2),
        ))?;
        chart.draw_series(
            points.iter().map(|(t, fa)| Circle::new((inside(*t), *fa), 3, BLUE.mix(0.5).filled())),
        )?;
        Ok(())
    })
}

/// Thresholds after against before; the band holds changes that may be error.
pub(super) fn before_after(pairs: &[(f64, f64)], factor: f64) -> Option<String> {
    svg(SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(44)
            .y_label_area_size(58)
            .build_cartesian_2d(axis(), axis())?;
        chart
            .configure_mesh()
            .light_line_style(WHITE)
            .bold_line_style(PALE.mix(0.6))
            .label_style(FONT)
            .axis_desc_style(FONT)
            .x_labels(8)
            .y_labels(8)
            .x_label_formatter(&number)
            .y_label_formatter(&number)
            .x_desc("threshold before, ΔE00")
            .y_desc("threshold after, ΔE00")
            .draw()?;
        let (low, high) = RANGE_DE00;
        let band = [
            (low, low / factor),
            (high * factor, high),
            (high, high),
            (high, high * factor),
            (low / factor, low),
            (low, low),
        ];
        chart.draw_series([Polygon::new(band.to_vec(), PALE.mix(0.35))])?;
        for end in [factor, factor.recip()] {
            let edge = [
                (low.max(low / end), low.max(low * end)),
                (high.min(high / end), high.min(high * end)),
            ];
            chart.draw_series([PathElement::new(edge.to_vec(), GUIDE.stroke_width(1))])?;
        }
        chart.draw_series(LineSeries::new([(low, low), (high, high)], GUIDE.stroke_width(1)))?;
        chart.draw_series(
            pairs
                .iter()
                .map(|(b, a)| Circle::new((inside(*b), inside(*a)), 3, BLUE.mix(0.6).filled())),
        )?;
        Ok(())
    })
}

/// One learner's thresholds with intervals: `(name, threshold, low, high)`.
pub(super) fn profile(rows: &[(String, f64, f64, f64)], cut_de00: f64) -> Option<String> {
    let count = rows.len().max(1) as f64;
    svg((SIZE.0, 60 + 44 * rows.len() as u32), |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(44)
            .y_label_area_size(10)
            .build_cartesian_2d(
                (0.3..10.0).log_scale().with_key_points(TICKS_DE00.to_vec()),
                0.0..count,
            )?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .disable_y_axis()
            .light_line_style(WHITE)
            .bold_line_style(PALE.mix(0.6))
            .label_style(FONT)
            .axis_desc_style(FONT)
            .x_labels(8)
            .x_label_formatter(&number)
            .x_desc("threshold, ΔE00")
            .draw()?;
        chart.draw_series(LineSeries::new(
            [(cut_de00, 0.0), (cut_de00, count)],
            GUIDE.stroke_width(2),
        ))?;
        for (index, (name, value, low, high)) in rows.iter().enumerate() {
            let y = count - index as f64 - 0.6;
            let ends = vec![(low.max(0.3), y), (high.min(10.0), y)];
            chart.draw_series([PathElement::new(ends, INK.stroke_width(2))])?;
            chart.draw_series([Circle::new((value.clamp(0.3, 10.0), y), 5, BLUE.filled())])?;
            chart.draw_series([Text::new(name.clone(), (0.31, y + 0.42), FONT)])?;
        }
        Ok(())
    })
}
