//! Free play on the bench is set up: tooth, what lies beneath, room, neighbours, light.

use crate::app::shell::asking::Asked;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::page::{Page, back};
use crate::app::ui::theme;
use crate::app::ui::value_row::{RowAct, ValueRow};
use crate::app::ui::widgets::{big_button, card, paragraph, section, small};
use crate::colorimetry::{Lab, Lch, to_display_8bit};
use crate::exercise::{PreparedChoice, SetupPart};
use crate::material::Library;
use crate::play::bench::BenchBeingSet;
use crate::play::content::ActiveContent;
use crate::play::intents::Intent;
use crate::play::intents::SetupIntent;
use crate::play::keys::{KeyContext, label, while_set_up};
use crate::play::start::PendingStart;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Color32, Sense, Stroke, StrokeKind, Ui, vec2};

/// Narrowest column, points.
const COLUMN: f32 = 350.0;

const WHAT: [SetupPart; 3] = [SetupPart::Tooth, SetupPart::Preparation, SetupPart::MarginHeight];
const BENEATH: [SetupPart; 4] = [
    SetupPart::Prepared,
    SetupPart::PreparedLightness,
    SetupPart::PreparedChroma,
    SetupPart::PreparedHue,
];
const ROOM: [SetupPart; 4] =
    [SetupPart::Margin, SetupPart::Neck, SetupPart::Middle, SetupPart::Incisal];
const NATURAL: [SetupPart; 3] =
    [SetupPart::CentralLightness, SetupPart::CentralChroma, SetupPart::CentralHue];
const VIEW: [SetupPart; 4] =
    [SetupPart::Light, SetupPart::Framing, SetupPart::Lamp, SetupPart::Mouth];

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<BenchBeingSet>().add_observer(set_up);
}

fn set_up(
    asked: On<Asked>,
    mut setup: ResMut<BenchBeingSet>,
    content: Res<ActiveContent>,
    mut pending: ResMut<PendingStart>,
) {
    if let Intent::Setup(intent) = asked.event().0 {
        setup.handle(intent, &content, &mut pending);
    }
}

pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::BenchSetup)),
    );
}

fn draw_screen(
    mut canvas: Canvas,
    being_set: Res<BenchBeingSet>,
    content: Res<ActiveContent>,
    pending: Res<PendingStart>,
) -> Result {
    canvas.draw(|ui| draw(ui, &being_set, &content, pending.waits()))
}

/// Draws the screen; what was asked for.
pub fn draw(
    ui: &mut Ui,
    being_set: &BenchBeingSet,
    content: &ActiveContent,
    waits: bool,
) -> Vec<Intent> {
    let library = content.0.library();
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| {
        let start = Intent::Setup(SetupIntent::Start);
        if big_button(ui, &label(KeyContext::Setup, &start, false)).clicked() {
            asked.push(start);
        }
        back(ui, "Back", asked);
        if ui.available_width() > 180.0 && big_button(ui, "As at first").clicked() {
            asked.push(Intent::Setup(SetupIntent::Reset));
        }
    };
    let status = if waits {
        "Setting up the bench…".to_owned()
    } else {
        format!("{} Nothing is scored or stored.", while_set_up())
    };
    let below = |ui: &mut Ui| small(ui, &status);
    Page::new("Bench, free play").without_page_keys().show(ui, beside, below, |ui, asked| {
        let columns = ((ui.available_width() / COLUMN) as usize).clamp(1, 3);
        let groups: [&[Group]; 3] = match columns {
            3 => [&[Group::What, Group::Beneath], &[Group::Room, Group::Natural], &[Group::View]],
            2 => [&[Group::What, Group::Beneath, Group::View], &[Group::Room, Group::Natural], &[]],
            _ => {
                [&[Group::What, Group::Beneath, Group::Room, Group::Natural, Group::View], &[], &[]]
            }
        };
        ui.columns(columns, |uis| {
            for (ui, groups) in uis.iter_mut().zip(groups) {
                // Columns stretch their words otherwise.
                ui.with_layout(egui::Layout::top_down(egui::Align::Min), |ui| {
                    for group in groups {
                        asked.extend(draw_group(ui, *group, being_set, library));
                        ui.add_space(theme::GAP);
                    }
                });
            }
        });
    })
}

#[derive(Clone, Copy)]
enum Group {
    What,
    Beneath,
    Room,
    Natural,
    View,
}

fn draw_group(
    ui: &mut Ui,
    group: Group,
    being_set: &BenchBeingSet,
    library: &Library,
) -> Vec<Intent> {
    let setup = &being_set.setup;
    let (title, parts): (&str, &[SetupPart]) = match group {
        Group::What => ("What is restored", &WHAT),
        Group::Beneath => ("What lies beneath", &BENEATH),
        Group::Room => ("Tooth removed (ceramic and cement)", &ROOM),
        Group::Natural => ("Natural central incisors", &NATURAL),
        Group::View => ("How it is seen", &VIEW),
    };
    let mut asked = Vec::new();
    card(ui, |ui| {
        ui.horizontal(|ui| {
            section(ui, title);
            let colour = match group {
                Group::Beneath => setup.prepared_colour(library),
                Group::Natural => Some(setup.central),
                _ => None,
            };
            if let Some(colour) = colour {
                swatch(ui, colour);
            }
        });
        ui.spacing_mut().item_spacing.y = 3.0;
        for part in parts {
            asked.extend(part_row(ui, *part, being_set, library));
        }
        match group {
            Group::Beneath if matches!(setup.prepared, PreparedChoice::Own(_)) => {
                small(ui, "A colour of your own: CIELAB LCh under D65, middle third, moist.");
            }
            Group::Beneath => small(ui, "Changing a number makes it a colour of your own."),
            Group::Natural => {
                small(ui, "The other teeth lie their usual steps from the central incisors.");
            }
            Group::Room if setup.margin_height().is_some() => small(
                ui,
                "Above the margin line, from there to the cusp. The cement film is chosen on the \
                 bench and taken off.",
            ),
            Group::Room => small(ui, "The cement film is chosen on the bench and taken off."),
            Group::View => paragraph(ui, "Another mouth has other shapes, not other colours."),
            Group::What if setup.margin_height().is_some() => {
                small(
                    ui,
                    "The margin line lies above the gum: 0 is the gum, 1 the tip of the cusp.",
                );
            }
            Group::What => {}
        }
    });
    asked
}

fn part_row(
    ui: &mut Ui,
    part: SetupPart,
    being_set: &BenchBeingSet,
    library: &Library,
) -> Option<Intent> {
    let setup = &being_set.setup;
    let number = setup.number(part, library);
    let share = number.zip(part.range()).map(|(v, (low, high))| (v - low) / (high - low));
    let row = ValueRow {
        name: part.name(),
        value: &setup.in_words(part, library),
        is_current: being_set.part() == part,
        is_idle: part == SetupPart::MarginHeight && number.is_none(),
        share: share.filter(|_| part != SetupPart::Mouth),
    };
    Some(Intent::Setup(match (row.show(ui, part)?, part.range()) {
        (RowAct::Step(steps), _) => SetupIntent::Change(part, steps),
        (RowAct::Slide(share, _), Some((low, high))) => {
            let step = part.step().unwrap_or(1.0);
            SetupIntent::Set(part, ((low + share * (high - low)) / step).round() * step)
        }
        (RowAct::Slide(..), None) => return None,
    }))
}

/// A patch of a colour as the display shows it.
fn swatch(ui: &mut Ui, colour: Lch) {
    let [r, g, b] = to_display_8bit(Lab::from(colour).to_linear_srgb());
    let (rect, response) = ui.allocate_exact_size(vec2(44.0, 20.0), Sense::hover());
    let stroke = Stroke::new(1.0, theme::EDGE);
    ui.painter().rect(rect, 2.0, Color32::from_rgb(r, g, b), stroke, StrokeKind::Inside);
    response.widget_info(|| {
        let label = format!("patch of the colour {}", colour.name());
        egui::WidgetInfo::labeled(egui::WidgetType::Other, true, label)
    });
}
