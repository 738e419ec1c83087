//! The form for a case from the clinic.

mod cases;

use crate::app::shell::asking::Asked;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::theme;
use crate::app::ui::value_row::{RowAct, ValueRow};
use crate::app::ui::widgets::{big_button, body, card, heading, paragraph, section, small};
use crate::colorimetry::Lch;
use crate::exercise::{plain_classes, translucency_name};
use crate::level::Severity;
use crate::level::clinic::{CaseField, CaseFinding, CeramicChoice};
use crate::play::cautions::CAUTIONS;
use crate::play::clinic::ClinicForm;
use crate::play::content::ActiveContent;
use crate::play::intents::CaseChoice;
use crate::play::intents::FormIntent;
use crate::play::intents::Intent;
use crate::play::start::PendingStart;
use crate::scene::{Space, Thickness};
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, RichText, Ui, vec2};

/// Width of a field for a number, points.
const NUMBER: f32 = 64.0;
/// Widest the form gets, points.
const WIDTH: f32 = 980.0;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<ClinicForm>().add_observer(fill_in);
}

fn fill_in(
    asked: On<Asked>,
    mut form: ResMut<ClinicForm>,
    content: Res<ActiveContent>,
    mut pending: ResMut<PendingStart>,
) {
    if let Intent::Form(intent) = asked.event().0.clone() {
        form.handle(intent, &content, &mut pending);
    }
}

pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::ClinicForm)),
    );
}

fn draw_screen(
    mut canvas: Canvas,
    form: Res<ClinicForm>,
    content: Res<ActiveContent>,
    pending: Res<PendingStart>,
) -> Result {
    canvas.draw(|ui| draw(ui, &form, &content, pending.waits()))
}

/// Draws the screen; what was asked for.
pub fn draw(ui: &mut Ui, form: &ClinicForm, content: &ActiveContent, waits: bool) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 10));
    egui::Panel::bottom("form actions").show_separator_line(false).frame(frame).show(ui, |ui| {
        if let Some(question) = &form.question {
            asked.extend(cases::question(ui, form, question));
            return;
        }
        state(ui, form, waits);
        ui.horizontal_wrapped(|ui| {
            let list = if form.listed.is_some() { "Close the list" } else { "Open a case…" };
            for (label, intent) in [
                ("Check", FormIntent::Check),
                ("To the bench", FormIntent::Bench),
                ("Save", FormIntent::Save),
                (list, FormIntent::List),
                ("Invented example", FormIntent::Example),
                ("Clear", FormIntent::Clear),
            ] {
                if big_button(ui, label).clicked() {
                    asked.push(Intent::Form(intent));
                }
            }
            if big_button(ui, "Back").clicked() {
                asked.push(Intent::BackToTitle);
            }
        });
    });
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 14));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        heading(ui, "A case from the clinic");
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            egui::Frame::NONE.inner_margin(egui::Margin::symmetric(6, 6)).show(ui, |ui| {
                ui.set_max_width(WIDTH.min(ui.available_width()));
                paragraph(
                    ui,
                    "Your own measured colours and room, to rehearse on: CIELAB under D65 and the 2° \
                     observer, specular excluded, middle third. No names of patients.",
                );
                ui.add_space(4.0);
                if let Some(list) = &form.listed {
                    asked.extend(cases::list(ui, list));
                    ui.add_space(8.0);
                }
                sections(ui, form, content, &mut asked);
                ui.add_space(theme::GAP);
                card(ui, |ui| {
                    section(ui, "Cautions");
                    small(ui, &CAUTIONS.replace('\n', " "));
                });
            });
        });
    });
    asked
}

/// What the latest check or save came to.
fn state(ui: &mut Ui, form: &ClinicForm, waits: bool) {
    let words = if waits {
        "Setting up the bench…".to_owned()
    } else if let Some(path) = &form.saved {
        let renamed = form.renamed.as_ref().map_or_else(String::new, |why| format!("{why} "));
        format!(
            "{renamed}Saved: {}. It stands under \"Your own levels\", and can be opened here again.",
            path.display()
        )
    } else if !form.checked {
        "Tab goes from field to field.".to_owned()
    } else {
        match (form.errors(), form.findings.len()) {
            (0, 0) => "Nothing is wrong with this case.".to_owned(),
            (0, odd) => format!("It can be used; {odd} unusual, see the form."),
            (errors, _) => {
                let first = form.findings.iter().find(|f| f.severity == Severity::Error);
                let first = first.map_or_else(String::new, |f| f.message.clone());
                format!("{errors} to put right. The first: {first}.")
            }
        }
    };
    ui.add(egui::Label::new(RichText::new(words).color(theme::INK).strong()).wrap());
}

fn sections(ui: &mut Ui, form: &ClinicForm, content: &ActiveContent, asked: &mut Vec<Intent>) {
    card(ui, |ui| {
        section(ui, "The case");
        ui.horizontal_wrapped(|ui| {
            body(ui, "Title");
            asked.extend(text(ui, form, CaseField::Title, "title of the case", 360.0));
        });
        ui.horizontal_wrapped(|ui| {
            body(ui, "File name, if not from the title");
            asked.extend(text(ui, form, CaseField::Name, "file name of the case", 240.0));
            small(ui, &format!("saved as {}.ron", form.form.id()));
        });
        if let Some(file) = &form.opened {
            small(ui, &format!("Opened or saved: {}", file.path.display()));
        }
        findings(ui, form.findings_at("title").chain(form.findings_at("id")));
        for choice in [CaseChoice::Tooth, CaseChoice::Preparation] {
            asked.extend(choice_row(ui, form, choice, content));
        }
    });
    ui.add_space(8.0);
    card(ui, |ui| {
        section(ui, "Natural teeth, at least one");
        small(ui, "Leave the others blank: they follow from those that were measured.");
        for (row, neighbour) in form.form.neighbours.iter().enumerate() {
            let name = format!("{}, {}", neighbour.tooth, neighbour.tooth.name());
            asked.extend(lab_row(ui, form, &name, |part| CaseField::Neighbour(row, part)));
            if let Some(place) = form.form.place_of_row(row) {
                findings(ui, form.findings_at(&format!("teeth[{place}]")));
            }
        }
        findings(ui, form.findings.iter().filter(|finding| finding.path == "teeth"));
        let wanted = "Wanted colour, if not that of the other side";
        asked.extend(lab_row(ui, form, wanted, CaseField::Target));
        findings(ui, form.findings_at("target"));
    });
    ui.add_space(8.0);
    card(ui, |ui| {
        section(ui, "Beneath and room");
        asked.extend(lab_row(ui, form, "Prepared tooth", CaseField::Prepared));
        findings(ui, form.findings_at("prepared_tooth"));
        ui.horizontal_wrapped(|ui| {
            body(ui, "Tooth removed, mm:");
            for (height, name) in ["margin", "neck", "middle", "incisal"].into_iter().enumerate() {
                body(ui, name);
                let label = format!("tooth removed at the {name}, mm");
                asked.extend(text(ui, form, CaseField::Reduction(height), &label, NUMBER));
            }
        });
        findings(ui, form.findings_at("space.reduction"));
        ui.horizontal_wrapped(|ui| {
            body(ui, "Gap for the cement, mm:");
            asked.extend(text(ui, form, CaseField::CementGap, "gap for the cement, mm", NUMBER));
            small(ui, &room_in_words(form));
        });
        findings(ui, form.findings_at("space.cement_gap_mm"));
        asked.extend(choice_row(ui, form, CaseChoice::Cement, content));
    });
    ui.add_space(8.0);
    card(ui, |ui| {
        section(ui, "Ceramics to choose from");
        ceramics(ui, form, content, asked);
        findings(ui, form.findings_at("ceramics"));
    });
    ui.add_space(8.0);
    card(ui, |ui| {
        section(ui, "How it is seen, and what the level does");
        let rest = [CaseChoice::Arch, CaseChoice::Light, CaseChoice::Framing, CaseChoice::Exercise];
        for choice in rest {
            asked.extend(choice_row(ui, form, choice, content));
        }
    });
}

/// What is left for the ceramic, where that can be told.
fn room_in_words(form: &ClinicForm) -> String {
    let number = |field| form.form.text(field).trim().replace(',', ".").parse::<f64>().ok();
    let heights = [0, 1, 2, 3].map(|height| number(CaseField::Reduction(height)));
    let (Some(cement_gap_mm), [Some(margin_mm), Some(neck_mm), Some(body_mm), Some(incisal_mm)]) =
        (number(CaseField::CementGap), heights)
    else {
        return "Room for ceramic: removed less the gap.".to_owned();
    };
    let reduction = Thickness { margin_mm, neck_mm, body_mm, incisal_mm };
    let left = Space { reduction, cement_gap_mm }.ceramic();
    format!(
        "Room for ceramic: margin {:.2}, neck {:.2}, middle {:.2}, incisal {:.2} mm",
        left.margin_mm, left.neck_mm, left.body_mm, left.incisal_mm
    )
}

/// A field for a text. Its label is what assistive technology reads.
fn text(
    ui: &mut Ui,
    form: &ClinicForm,
    field: CaseField,
    label: &str,
    width: f32,
) -> Option<Intent> {
    let mut typed = form.form.text(field).to_owned();
    let edit = egui::TextEdit::singleline(&mut typed)
        .id(egui::Id::new(("case field", field)))
        .desired_width(width)
        .margin(egui::Margin::symmetric(6, 4))
        // Or Enter would end it and lose the focus, and Tab begin anew at the first control.
        .return_key(None);
    let response = ui.add(edit);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::TextEdit, true, label));
    if response.has_focus() {
        theme::focus_ring(ui.painter(), response.rect.shrink(2.0));
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    response.changed().then_some(Intent::Form(FormIntent::Type(field, typed)))
}

/// A name and its L*, a* and b*.
fn lab_row(
    ui: &mut Ui,
    form: &ClinicForm,
    name: &str,
    field: impl Fn(usize) -> CaseField,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    ui.horizontal_wrapped(|ui| {
        let width = (ui.available_width() - 3.0 * (NUMBER + 60.0)).clamp(150.0, 380.0);
        ui.allocate_ui_with_layout(
            vec2(width, 30.0),
            egui::Layout::left_to_right(egui::Align::Center),
            |ui| {
                ui.set_min_width(width);
                ui.add(egui::Label::new(RichText::new(name).color(theme::INK)).wrap());
            },
        );
        for (part, letter) in ["L*", "a*", "b*"].into_iter().enumerate() {
            body(ui, letter);
            asked.extend(text(ui, form, field(part), &format!("{name}, {letter}"), NUMBER));
        }
    });
    asked
}

fn choice_row(
    ui: &mut Ui,
    form: &ClinicForm,
    choice: CaseChoice,
    content: &ActiveContent,
) -> Option<Intent> {
    let width = ui.available_width().min(560.0);
    let row = ValueRow {
        name: choice.name(),
        value: &form.in_words(choice, content),
        is_current: false,
        is_idle: false,
        share: None,
    };
    let act = ui
        .allocate_ui_with_layout(
            vec2(width, crate::app::ui::value_row::VALUE_ROW_HEIGHT),
            egui::Layout::top_down(egui::Align::Min),
            |ui| {
                ui.set_width(width);
                row.show(ui, choice)
            },
        )
        .inner;
    findings(ui, form.findings_at(choice.path()));
    match act? {
        RowAct::Step(steps) => Some(Intent::Form(FormIntent::Choose(choice, steps))),
        RowAct::Slide(..) => None,
    }
}

/// Every class in every translucency, to be ticked: the designed ones, then those of one's own with
/// the shades they come in.
fn ceramics(ui: &mut Ui, form: &ClinicForm, content: &ActiveContent, asked: &mut Vec<Intent>) {
    for class in plain_classes(content.0.library()) {
        if let Some(pieces) = &class.pieces {
            let name = |(translucency, shade): &(_, Lch)| {
                format!("{} {}", translucency_name(*translucency), shade.name())
            };
            let shades: Vec<String> = pieces.iter().map(name).collect();
            small(ui, &format!("{}, your own, measured in: {}", class.name, shades.join(", ")));
        }
        ui.horizontal_wrapped(|ui| {
            ui.allocate_ui_with_layout(
                vec2(260.0, 28.0),
                egui::Layout::left_to_right(egui::Align::Center),
                |ui| {
                    ui.set_min_width(260.0);
                    body(ui, &class.name);
                },
            );
            for &translucency in &class.translucencies {
                let choice = CeramicChoice { class: class.id.clone(), translucency };
                let mut chosen = form.form.ceramics.contains(&choice);
                let name = translucency_name(translucency);
                let response = ui.checkbox(&mut chosen, name);
                response.widget_info(|| {
                    let label = format!("{}, {name} translucency", class.name);
                    egui::WidgetInfo::selected(egui::WidgetType::Checkbox, true, chosen, label)
                });
                if response.has_focus() {
                    theme::focus_ring(ui.painter(), response.rect.shrink(2.0));
                }
                if response.gained_focus() {
                    response.scroll_to_me(None);
                }
                if response.changed() {
                    asked.push(Intent::Form(FormIntent::ToggleCeramic(choice)));
                }
            }
        });
    }
}

/// What is wrong or odd, with what to do, below the field.
fn findings<'a>(ui: &mut Ui, found: impl Iterator<Item = &'a CaseFinding>) {
    for finding in found {
        let kind = match finding.severity {
            Severity::Error => "To put right",
            Severity::Warning => "Unusual",
        };
        let words = format!("{kind}: {}. {}.", finding.message, capital(&finding.help));
        ui.add(egui::Label::new(RichText::new(words).color(theme::INK).strong()).wrap());
    }
}

/// A sentence with its first letter large.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
