//! What is told before a measurement and between its blocks, and between the blocks of an exam.

use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body, card, heading, paragraph, small};
use crate::measure::BLOCK_TRIALS;
use crate::play::course::ExamLog;
use crate::play::intents::Intent;
use crate::play::keys::{KeyContext, in_answer_row, key_name, pauses};
use crate::play::measuring::Measuring;
use crate::play::session::Session;
use crate::report::axis_in_words;
use crate::trial::{InputDevice, Progress};
use crate::words::{count, count_of};
use bevy::prelude::*;
use bevy_egui::egui::{self, Ui};
use std::time::SystemTime;

const STOP: &str = "Stop and see the result";

/// What is told while the eyes settle.
pub(crate) fn instructions(session: &Session, measuring: &Measuring) -> Vec<String> {
    let timing = session.plan().timing;
    let mut lines = vec![
        format!(
            "1.  Look at the cross. A smile appears for {:.1} s, then a scrambled picture.",
            timing.exposure_s
        ),
        format!(
            "2.  Which tooth is the odd one? In 5 of {BLOCK_TRIALS} smiles nothing was restored: \
             then \u{201c}None\u{201d} is right."
        ),
        format!(
            "3.  Answer within {:.0} s: click a tooth or \u{201c}None\u{201d}; or keys {}.",
            timing.response_s,
            in_answer_row(None)
        ),
        "4.  You are not told whether you were right. Many differences are meant to be too small \
         to see; natural teeth differ a little, too."
            .to_owned(),
        format!("A rest after every {BLOCK_TRIALS} smiles. {}.", pauses()),
    ];
    let done = measuring.measurement().instrument().trials();
    if done > 0 {
        lines.push(format!("Goes on after {}.", count(done, "smile", "smiles")));
    }
    lines
}

/// What is told before smiles that stay until they are searched.
pub(crate) fn search_instructions(session: &Session) -> Vec<String> {
    let timing = session.plan().timing;
    let key = |intent| key_name(KeyContext::Searching, &intent);
    vec![
        format!(
            "1.  Look at the cross. A smile appears and stays for up to {:.0} s.",
            timing.exposure_s
        ),
        format!(
            "2.  Press {} as soon as you have found the odd tooth; then say which it was.",
            key(Intent::Seen)
        ),
        format!(
            "3.  About one smile in four has no restoration: press {}, or let it run out.",
            key(Intent::Answer(None, InputDevice::Keyboard))
        ),
        "4.  You are not told whether you were right. Be right first, then quick.".to_owned(),
        format!(
            "{}; a rest after every {BLOCK_TRIALS}. {}.",
            count(session.plan().trials.len(), "smile", "smiles"),
            pauses()
        ),
    ]
}

fn answered_of(progress: Progress) -> String {
    format!("{} answered.", count_of(progress.answered, progress.total, "smile", "smiles"))
}

/// The rest between two blocks of searching.
pub(crate) fn search_rest(ui: &mut Ui, progress: Progress) -> Vec<Intent> {
    rest_card(ui, Some(STOP), |ui| {
        body(ui, &answered_of(progress));
    })
}

/// The rest between two blocks of a form.
pub(crate) fn exam_rest(
    ui: &mut Ui,
    progress: Progress,
    log: &ExamLog,
    now: SystemTime,
) -> Vec<Intent> {
    // Who wants to leave the form pauses it.
    rest_card(ui, None, |ui| {
        body(ui, &answered_of(progress));
        let elapsed = minutes(log.elapsed_s(now));
        body(ui, &format!("{elapsed} since the start. The clock runs on while you rest."));
    })
}

/// The rest between two blocks.
pub(crate) fn rest(ui: &mut Ui, measuring: &Measuring) -> Vec<Intent> {
    rest_card(ui, Some(STOP), |ui| {
        let instrument = measuring.measurement().instrument();
        let minutes = count((measuring.elapsed_s() / 60.0).round() as usize, "minute", "minutes");
        let smiles = count(instrument.trials(), "smile", "smiles");
        body(ui, &format!("{smiles}, {minutes} so far."));
        ui.add_space(4.0);
        let goal = instrument.config().stop.sd_ln_threshold;
        for axis in instrument.progress() {
            body(ui, &progress_line(axis_in_words(axis.axis), axis.sd_ln_threshold, goal));
        }
        if measuring.missed() > 0 {
            small(
                ui,
                &format!(
                    "{} exposures were not held; those smiles are shown again.",
                    measuring.missed()
                ),
            );
        }
    })
}

fn rest_card(ui: &mut Ui, stop: Option<&str>, so_far: impl FnOnce(&mut Ui)) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(36, 24));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        let width = ui.available_width().min(720.0);
        let margin = (ui.available_width() - width) / 2.0;
        ui.add_space(0.12 * ui.available_height());
        ui.horizontal(|ui| {
            ui.add_space(margin);
            ui.vertical(|ui| {
                ui.set_width(width);
                card(ui, |ui| {
                    heading(ui, "Rest your eyes");
                    so_far(ui);
                    ui.add_space(theme::GAP);
                    paragraph(
                        ui,
                        "Look at the grey or away from the screen for as long as you like.",
                    );
                    ui.add_space(4.0);
                    ui.horizontal(|ui| {
                        let go_on = big_button(ui, "Go on");
                        crate::app::ui::focus::give_focus(&go_on);
                        if go_on.clicked() {
                            asked.push(Intent::Continue);
                        }
                        if let Some(stop) = stop
                            && big_button(ui, stop).clicked()
                        {
                            asked.push(Intent::StopSession);
                        }
                    });
                });
            });
        });
    });
    asked
}

/// How sharp an axis is so far. Says nothing of where the threshold lies: that could steer answers.
fn progress_line(name: &str, sd_ln: f64, goal: f64) -> String {
    let percent = 100.0 * (sd_ln.exp() - 1.0);
    let goal_percent = 100.0 * (goal.exp() - 1.0);
    if sd_ln <= goal {
        format!("Differences {name}: sharp enough (to about {percent:.0} %).")
    } else {
        format!(
            "Differences {name}: known to about {percent:.0} %; the aim is {goal_percent:.0} %."
        )
    }
}

/// A time in minutes and seconds.
pub(crate) fn minutes(seconds: f64) -> String {
    let whole = seconds.round() as u64;
    format!("{} min {:02} s", whole / 60, whole % 60)
}
