//! What a measurement found: a sentence, the psychometric function, false alarms, timing.

use crate::app::ui::page::{Page, back_at_once, nothing};
use crate::app::ui::theme;
use crate::app::ui::widgets::{card, paragraph, section, small};
use crate::play::cautions::CAUTIONS;
use crate::play::intents::Intent;
use crate::play::measuring::report_of;
use crate::play::records::Records;
use crate::psychophysics::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00, Proportion};
use crate::report::{AxisChart, MeasurementReport, PUBLISHED, Sensitivity, axis_in_words};
use bevy::prelude::*;
use bevy_egui::egui::{self, RichText, Stroke, Ui};
use egui_plot::{
    AxisHints, HLine, Line, LineStyle, MarkerShape, Plot, PlotPoint, PlotPoints, PlotUi, Points,
    Polygon, Text, VLine,
};

/// How to take the published values.
const NO_PASS_MARK: &str = "ISO/TR 28642:2016 reads findings by such values. They are not a pass \
mark: studies with one tooth in a mouth found about twice as much.";
/// Height of a plot, points.
const PLOT_HEIGHT: f32 = 250.0;

/// The measured session whose result is to be shown.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeasuredSession(pub i64);

/// The report on screen, written once on entering it.
#[derive(Resource, Debug, Default, Clone, PartialEq)]
pub struct MeasuredView(pub Option<Result<MeasurementReport, String>>);

pub(crate) fn write_report(
    session: Option<Res<MeasuredSession>>,
    records: Res<Records>,
    mut view: ResMut<MeasuredView>,
) {
    view.0 =
        session.map(|session| report_of(&records, session.0).map_err(|error| error.to_string()));
}

/// Draws the result.
pub fn draw(ui: &mut Ui, view: &MeasuredView) -> Vec<Intent> {
    let beside =
        |ui: &mut Ui, asked: &mut Vec<Intent>| back_at_once(ui, "Back to the levels", asked);
    Page::new("What you see").show(ui, beside, nothing, |ui, _| match &view.0 {
        Some(Ok(report)) => report_cards(ui, report),
        Some(Err(error)) => paragraph(ui, &format!("There is no result yet: {error}.")),
        None => paragraph(ui, "There is no result yet."),
    })
}

fn report_cards(ui: &mut Ui, report: &MeasurementReport) {
    card(ui, |ui| {
        ui.add(egui::Label::new(RichText::new(&report.headline).size(20.0)).wrap());
    });
    ui.add_space(6.0);
    card(ui, |ui| {
        let columns = if report.charts.len() > 1 && ui.available_width() > 700.0 { 2 } else { 1 };
        for row in report.charts.chunks(columns) {
            ui.columns(columns, |columns| {
                for (ui, chart) in columns.iter_mut().zip(row) {
                    plot(ui, chart, report.false_alarms);
                }
            });
        }
        small(
            ui,
            "Line: share of smiles in which you name the tooth that differs. Circles: your \
             answers, larger for more smiles. Band: 95 % interval of the threshold, where the \
             sensitivity d' is 2. Dotted level: how often you named a tooth where nothing \
             differed.",
        );
        small(ui, &format!("Dashed: published {PUBLISHED}. {NO_PASS_MARK}"));
    });
    ui.add_space(6.0);
    if !report.sensitivity.is_empty() {
        card(ui, |ui| sensitivity(ui, &report.sensitivity));
        ui.add_space(6.0);
    }
    card(ui, |ui| {
        section(ui, "In words");
        for line in &report.findings {
            wrapped(ui, line);
        }
    });
    ui.add_space(6.0);
    card(ui, |ui| {
        section(ui, "How it was shown");
        for line in &report.timing {
            wrapped(ui, line);
        }
        wrapped(
            ui,
            "This display was not calibrated: the numbers hold for this screen and room, and are \
             not to be compared with another person's.",
        );
    });
    ui.add_space(6.0);
    small(ui, &CAUTIONS.replace('\n', " "));
}

/// d′ at the published values, a row an axis.
fn sensitivity(ui: &mut Ui, rows: &[Sensitivity]) {
    section(ui, "Sensitivity at the published values");
    ui.add_space(2.0);
    egui::Grid::new("sensitivity").num_columns(3).spacing([28.0, 5.0]).show(ui, |ui| {
        ui.label("");
        for (word, value) in
            [("perceptible", PERCEPTIBILITY_DE00), ("acceptable", ACCEPTABILITY_DE00)]
        {
            ui.label(RichText::new(format!("d' at {value} ΔE00 ({word})")).strong());
        }
        ui.end_row();
        for row in rows {
            ui.label(format!("Differences {}", axis_in_words(row.axis)));
            ui.label(&row.at_perceptibility);
            ui.label(&row.at_acceptability);
            ui.end_row();
        }
    });
    ui.add_space(2.0);
    small(
        ui,
        "d' says how far such a tooth stands out from your noise, whatever your caution: 0 is not \
         at all, 2 is your threshold, above 4 is hardly ever missed.",
    );
}

fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(egui::Label::new(text).wrap());
}

/// One axis. ΔE00 is drawn on a logarithmic scale.
fn plot(ui: &mut Ui, chart: &AxisChart, false_alarms: Proportion) {
    let name = axis_in_words(chart.estimate.axis);
    ui.label(RichText::new(format!("Differences {name}")).strong());
    let ticks = [0.3, 0.5, 0.8, 1.2, 1.8, 3.0, 6.0_f64];
    let x_axis = AxisHints::new_x()
        .label("difference, ΔE00")
        .formatter(|mark, _| format!("{:.1}", 10.0_f64.powf(mark.value)));
    let y_axis = AxisHints::new_y()
        .label("named, %")
        .formatter(|mark, _| format!("{:.0}", 100.0 * mark.value));
    Plot::new(("measured", name))
        .height(PLOT_HEIGHT)
        .custom_x_axes(vec![x_axis])
        .custom_y_axes(vec![y_axis])
        .x_grid_spacer(move |_| {
            let mark = |value: &f64| egui_plot::GridMark { value: value.log10(), step_size: 1.0 };
            ticks.iter().map(mark).collect()
        })
        .include_x(at(0.3))
        .include_x(at(6.5))
        .include_y(0.0)
        .include_y(1.16)
        .show_grid([false, true])
        .y_grid_spacer(|_| {
            let mark = |quarter: u32| {
                let value = f64::from(quarter) / 4.0;
                egui_plot::GridMark { value, step_size: 1.0 }
            };
            (0..=4).map(mark).collect()
        })
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .show_x(false)
        .show_y(false)
        .show(ui, |plot| {
            found(plot, chart, false_alarms);
        });
}

/// Where ΔE00 lies on the axis.
fn at(de00: f64) -> f64 {
    de00.log10()
}

/// What was found, with the published values.
fn found(plot: &mut PlotUi<'_>, chart: &AxisChart, false_alarms: Proportion) {
    let interval = chart.estimate.threshold_de00;
    if chart.estimate.measured {
        let (low, high) = (at(interval.low), at(interval.high));
        let band = vec![[low, 0.0], [high, 0.0], [high, 1.0], [low, 1.0]];
        plot.polygon(
            Polygon::new("", PlotPoints::from(band))
                .fill_color(theme::GUIDE.gamma_multiply(0.35))
                .stroke(Stroke::NONE),
        );
        plot.vline(VLine::new("", at(interval.value)).stroke(Stroke::new(2.0, theme::INK)));
    }
    for (value, word) in [(PERCEPTIBILITY_DE00, "perceptible"), (ACCEPTABILITY_DE00, "acceptable")]
    {
        plot.vline(
            VLine::new("", at(value))
                .stroke(Stroke::new(1.5, theme::EDGE))
                .style(LineStyle::dashed_dense()),
        );
        let label = RichText::new(format!(" {word}")).size(13.0).color(theme::INK);
        plot.text(
            Text::new("", PlotPoint::new(at(value), 1.08), label).anchor(egui::Align2::LEFT_CENTER),
        );
    }
    if let Some(rate) = false_alarms.value() {
        plot.hline(
            HLine::new("", rate)
                .stroke(Stroke::new(1.5, theme::EDGE))
                .style(LineStyle::dotted_dense()),
        );
    }
    // A curve that nothing was measured of would be the program's guess.
    if chart.estimate.measured {
        let curve: Vec<[f64; 2]> = chart.curve.iter().map(|[x, y]| [at(*x), *y]).collect();
        plot.line(Line::new("", PlotPoints::from(curve)).stroke(Stroke::new(2.5, theme::INK)));
    }
    for observed in &chart.observed {
        let Some(share) = observed.found.value() else { continue };
        let radius = 3.0 + 1.2 * (observed.found.total as f32).sqrt();
        plot.points(
            Points::new("", PlotPoints::from(vec![[at(observed.de00), share]]))
                .shape(MarkerShape::Circle)
                .radius(radius)
                .color(theme::INK)
                .filled(false),
        );
    }
}
