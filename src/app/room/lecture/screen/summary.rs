//! What the room saw, at the end.

use crate::app::room::lecture::screen::{scale, write};
use crate::app::ui::page::Page;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body, paragraph, section, small};
use crate::play::intents::Intent;
use crate::play::intents::RoomIntent;
use crate::play::keys::{KeyContext, label};
use crate::play::lecture::Lecture;
use crate::psychophysics::Proportion;
use crate::words::count;
use bevy_egui::egui::{self, Align2, Rect, Stroke, StrokeKind, Ui, pos2, vec2};

/// What the group found and took for a restoration, by question; before against after.
pub(crate) fn summary(ui: &mut Ui, lecture: &Lecture) -> Vec<Intent> {
    let k = scale(ui.max_rect());
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| {
        let done = Intent::Room(RoomIntent::Begin);
        if big_button(ui, &label(KeyContext::RoomOver, &done, false)).clicked() {
            asked.push(done);
        }
        let save = Intent::Room(RoomIntent::Save);
        if !lecture.record().items().is_empty()
            && big_button(ui, &label(KeyContext::RoomOver, &save, false)).clicked()
        {
            asked.push(save);
        }
    };
    let below = |ui: &mut Ui| {
        if let Some(file) = lecture.saved() {
            small(ui, &format!("Written to {}", file.display()));
        }
    };
    Page::new("What the room saw").show(ui, beside, below, |ui, _| {
        comparison(ui, lecture, k);
        for (place, part) in lecture.record().parts().into_iter().enumerate() {
            ui.add_space(theme::GAP);
            section(ui, &part.part.title);
            body(
                ui,
                &format!(
                    "{}. Restorations found: {}. Taken for restored without one: {}.",
                    count(part.asked, "smile", "smiles"),
                    share(part.hits),
                    share(part.false_alarms)
                ),
            );
            ui.push_id(place, |ui| items(ui, lecture, &part.part.title));
        }
        if lecture.record().items().is_empty() {
            paragraph(ui, "Nothing was asked.");
        }
        ui.add_space(theme::GAP);
        small(ui, &crate::play::cautions::CAUTIONS.replace('\n', " "));
    })
}

fn share(of: Proportion) -> String {
    of.value().map_or_else(
        || "not counted".to_owned(),
        |share| format!("{:.0} % ({} of {})", 100.0 * share, of.successes, of.total),
    )
}

fn comparison(ui: &mut Ui, lecture: &Lecture, k: f32) {
    let Some(compared) = lecture.record().comparison() else { return };
    let [before, after] = compared.means.map(|mean| 100.0 * mean);
    let change = compared.change;
    let width = ui.available_width();
    let (area, response) = ui.allocate_exact_size(vec2(width, 150.0 * k), egui::Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "share of right answers")
    });
    let painter = ui.painter();
    let track = width - 360.0 * k;
    for (row, (name, percent)) in
        [(&compared.titles[0], before), (&compared.titles[1], after)].into_iter().enumerate()
    {
        let y = area.top() + (30.0 + 56.0 * row as f32) * k;
        let name_at = pos2(area.left(), y);
        write(painter, name_at, Align2::LEFT_CENTER, name, 30.0 * k, theme::INK);
        let from = pos2(area.left() + 180.0 * k, y - 18.0 * k);
        let whole = Rect::from_min_size(from, vec2(track, 36.0 * k));
        painter.rect_filled(whole, 2.0, theme::GUIDE);
        let mut filled = whole;
        filled.set_width(whole.width() * (percent / 100.0) as f32);
        painter.rect_filled(filled, 2.0, theme::PAPER);
        painter.rect_stroke(whole, 2.0, Stroke::new(1.5, theme::EDGE), StrokeKind::Inside);
        let at = pos2(whole.right() + 16.0 * k, y);
        write(
            painter,
            at,
            Align2::LEFT_CENTER,
            &format!("{percent:.0} % right"),
            30.0 * k,
            theme::INK,
        );
    }
    paragraph(
        ui,
        &format!(
            "Change of the share of right answers: {:+.0} points (95 % interval {:+.0} to {:+.0}), over {} that answered \
             at least half of both. A room without comparison groups also gains by practice alone.",
            100.0 * change.mean,
            100.0 * change.interval.0,
            100.0 * change.interval.1,
            count(change.count, "phone", "phones")
        ),
    );
}

fn items(ui: &mut Ui, lecture: &Lecture, part: &str) {
    let record = lecture.record();
    let parts = record.parts();
    egui::Grid::new("items").num_columns(5).striped(true).spacing([22.0, 5.0]).show(ui, |ui| {
        for words in ["Item", "It was", "Found", "False alarms", "Commonest error"] {
            ui.strong(words);
        }
        ui.end_row();
        let of_part = record.items().iter().filter(|item| {
            record.title_of(item) == part && parts.iter().any(|p| p.part.title == part)
        });
        for (number, item) in of_part.enumerate() {
            ui.label((number + 1).to_string());
            ui.label(&item.truth);
            ui.label(item.hits().map_or_else(|| "\u{2013}".to_owned(), share));
            ui.label(item.false_alarms().map_or_else(|| "\u{2013}".to_owned(), share));
            let error = item.commonest_error();
            ui.label(
                error.map_or_else(|| "\u{2013}".to_owned(), |(name, n)| format!("{name} ({n})")),
            );
            ui.end_row();
        }
    });
}
