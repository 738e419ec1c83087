//! What a hand did to a control: whether it was activated and by which device, and drags from the
//! press to the release.
//!
//! egui forgets where a press was before it says that the drag is over, and takes a press, a move and
//! a release within one frame for nothing. A slow frame may hold all three, so drags are read from the
//! frame's events, one by one.

use crate::trial::InputDevice;
use bevy_egui::egui::{Event, Id, Key, PointerButton, Pos2, Response, Ui, Vec2};

/// By which device a control was activated, if it was: a click of the pointer, or Enter or Space
/// while it had the focus. After a click it gives the keyboard back to the screen.
pub fn activated(response: &Response) -> Option<InputDevice> {
    if response.clicked_by(PointerButton::Primary) {
        response.surrender_focus();
        return Some(InputDevice::Pointer);
    }
    response.clicked().then_some(InputDevice::Keyboard)
}

/// A pointer on its way with the button down, or let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drag {
    /// Where the button went down.
    pub from: Pos2,
    /// Where the pointer is, or where the button was let go; may lie outside the window.
    pub to: Pos2,
}

impl Drag {
    /// How far it went.
    #[must_use]
    pub fn by(&self) -> Vec2 {
        self.to - self.from
    }
}

/// The drags of one frame.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drags {
    /// The one under way.
    pub under_way: Option<Drag>,
    /// Those that ended, clicks among them, in their order.
    pub ended: Vec<Drag>,
}

/// A drag under way, and the pass that saw it last: one that passed unseen, below another screen or
/// with the window away, is over.
#[derive(Debug, Clone, Copy)]
struct Seen {
    drag: Drag,
    pass: u64,
}

/// The drags with the primary button that began on this layer, where `begins` holds. Escape ends one
/// without effect. To be asked once a frame for an `id`.
pub fn drags(ui: &Ui, id: Id, begins: impl Fn(Pos2) -> bool) -> Drags {
    let pass = ui.ctx().cumulative_pass_nr();
    let seen: Option<Seen> = ui.data(|data| data.get_temp(id)).flatten();
    let was_down = ui.input(|input| input.pointer.primary_down() || input.pointer.any_released());
    let mut under_way = seen.filter(|seen| seen.pass + 1 >= pass && was_down).map(|seen| seen.drag);
    let mut ended = Vec::new();
    for event in ui.input(|input| input.events.clone()) {
        match event {
            Event::PointerButton { pos, button: PointerButton::Primary, pressed: true, .. } => {
                let is_ours = ui.is_enabled() && is_on_top(ui, pos) && begins(pos);
                under_way = is_ours.then_some(Drag { from: pos, to: pos });
            }
            Event::PointerMoved(pos) => {
                if let Some(drag) = &mut under_way {
                    drag.to = pos;
                }
            }
            Event::PointerButton {
                pos, button: PointerButton::Primary, pressed: false, ..
            } => {
                ended.extend(under_way.take().map(|drag| Drag { to: pos, ..drag }));
            }
            Event::Key { key: Key::Escape, pressed: true, .. } => under_way = None,
            _ => {}
        }
    }
    let now = under_way.map(|drag| Seen { drag, pass });
    ui.data_mut(|data| data.insert_temp(id, now));
    Drags { under_way, ended }
}

/// Whether nothing lies over this layer there.
fn is_on_top(ui: &Ui, pos: Pos2) -> bool {
    let over = ui.ctx().layer_id_at(pos).is_some_and(|layer| layer != ui.layer_id());
    !over && ui.ctx().memory(|memory| memory.top_modal_layer()).is_none_or(|it| it == ui.layer_id())
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::{Context, Modifiers, RawInput, Rect, pos2, vec2};

    const WINDOW: Vec2 = vec2(400.0, 300.0);
    const START: Pos2 = pos2(50.0, 50.0);

    /// One frame with these events; `modal` lays a dialog over it.
    fn frame(ctx: &Context, modal: bool, events: Vec<Event>) -> Drags {
        let screen_rect = Some(Rect::from_min_size(Pos2::ZERO, WINDOW));
        let mut found = Drags::default();
        let mut output =
            ctx.run_ui(RawInput { screen_rect, events, ..RawInput::default() }, |ui| {
                let wide = Rect::from_min_size(Pos2::ZERO, vec2(100.0, 100.0));
                found = drags(ui, Id::new("drags"), |at| wide.contains(at));
                if modal {
                    bevy_egui::egui::Modal::new("modal".into())
                        .show(ui.ctx(), |ui| ui.label("over"));
                }
            });
        output.textures_delta.clear();
        found
    }

    fn moved(to: Pos2) -> Event {
        Event::PointerMoved(to)
    }

    fn button(pos: Pos2, pressed: bool) -> Event {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        Event::PointerButton { pos, button, pressed, modifiers }
    }

    #[test]
    fn a_drag_over_several_frames_keeps_where_it_began() {
        let ctx = Context::default();
        frame(&ctx, false, vec![moved(START)]);
        frame(&ctx, false, vec![button(START, true)]);
        let outside = pos2(900.0, -40.0);
        for to in [pos2(80.0, 60.0), pos2(300.0, 70.0), outside] {
            let now = frame(&ctx, false, vec![moved(to)]);
            assert_eq!(now, Drags { under_way: Some(Drag { from: START, to }), ended: vec![] });
        }
        // A frame without a move changes nothing.
        assert!(frame(&ctx, false, vec![]).under_way.is_some());
        let end = frame(&ctx, false, vec![button(outside, false)]);
        let drag = Drag { from: START, to: outside };
        assert_eq!(end, Drags { under_way: None, ended: vec![drag] });
        assert_eq!(frame(&ctx, false, vec![]), Drags::default());
    }

    #[test]
    fn press_move_and_release_within_one_frame_are_a_drag() {
        let ctx = Context::default();
        frame(&ctx, false, vec![]);
        let end = pos2(250.0, 55.0);
        let events = vec![moved(START), button(START, true), moved(end), button(end, false)];
        let drag = Drag { from: START, to: end };
        assert_eq!(frame(&ctx, false, events), Drags { under_way: None, ended: vec![drag] });
    }

    #[test]
    fn what_begins_elsewhere_or_below_a_dialog_or_is_given_up_is_no_drag() {
        let ctx = Context::default();
        let (elsewhere, end) = (pos2(200.0, 200.0), pos2(60.0, 60.0));
        let events = |from| vec![moved(from), button(from, true), moved(end), button(end, false)];
        frame(&ctx, false, vec![]);
        assert_eq!(frame(&ctx, false, events(elsewhere)), Drags::default());
        frame(&ctx, true, vec![]);
        frame(&ctx, true, vec![]);
        assert_eq!(frame(&ctx, true, events(START)), Drags::default());

        let ctx = Context::default();
        frame(&ctx, false, vec![moved(START), button(START, true)]);
        let escape = Event::Key {
            key: Key::Escape,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers: Modifiers::NONE,
        };
        frame(&ctx, false, vec![escape]);
        assert_eq!(frame(&ctx, false, vec![moved(end), button(end, false)]), Drags::default());
    }

    #[test]
    fn a_drag_that_passed_unseen_is_over() {
        let ctx = Context::default();
        frame(&ctx, false, vec![moved(START), button(START, true)]);
        // Another screen for two frames, and the release with it.
        for events in [vec![], vec![button(START, false)]] {
            let mut output = ctx.run_ui(RawInput { events, ..RawInput::default() }, |_| ());
            output.textures_delta.clear();
        }
        assert_eq!(frame(&ctx, false, vec![moved(pos2(90.0, 90.0))]), Drags::default());
    }
}
