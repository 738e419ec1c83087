//! Puts what is in view, and what may be next, on the graphics card.

use crate::app::picture::textures::{Card, Content, Textures};
use crate::play::picture::PreparedScene;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::view::DebriefView;
use crate::trial::Phase;
use bevy::prelude::*;

/// Textures kept at most: each smile in its colours and one more way, and small.
const MOST: usize = 40;

/// The same while a recipe changes.
const MOST_COMPOSING: usize = 12;

/// Uploads what a session's phase needs: picture and mask before the exposure, the rest in the debrief.
pub(crate) fn of_session(
    session: Res<Session>,
    view: Res<DebriefView>,
    mut textures: ResMut<Textures>,
    mut card: Card,
) {
    let Some(shown) = session.shown() else { return };
    textures.show(shown, &mut card);
    let mut wanted: Vec<Content> = match session.phase() {
        Phase::Debrief if view.value_only => {
            vec![Content::Restored, Content::Twin, Content::RestoredValue, Content::TwinValue]
        }
        Phase::Debrief => vec![Content::Restored, Content::Twin],
        _ => vec![Content::Restored, Content::Mask],
    };
    if session.phase() == Phase::Debrief {
        wanted.extend(Content::in_debrief(*view));
    }
    for content in wanted {
        textures.want(shown, content, &mut card);
    }
}

/// Uploads what a round has in view now, and every option's own picture before it is asked for.
pub(crate) fn of_round(
    exercising: Res<Exercising>,
    preparation: Res<Preparation>,
    view: Res<DebriefView>,
    mut textures: ResMut<Textures>,
    mut card: Card,
) {
    let is_debrief = exercising.may_compare();
    let sights = exercising.sights();
    let mut wanted: Vec<(&PreparedScene, Content)> = Vec::new();
    for sight in &sights {
        let Some(prepared) = preparation.latest(&sight.case) else { continue };
        wanted.push((prepared, Content::Restored));
        if exercising.shows_sheet() {
            wanted.push((prepared, Content::small(sights.len(), view.value_only)));
        }
    }
    if let Some(shown) = exercising.shown(&preparation) {
        wanted.push((shown, Content::Restored));
        if is_debrief {
            wanted.push((shown, Content::Twin));
        }
        if let Some(content) = Content::in_question(*view, is_debrief) {
            wanted.push((shown, content));
        }
    }
    for (prepared, content) in wanted {
        textures.want(prepared, content, &mut card);
    }
    // Every change of a recipe has a picture of its own, and few are seen again.
    let most = if exercising.is_composing() { MOST_COMPOSING } else { MOST };
    textures.keep(most, &mut card);
}

/// Lets everything go when the round is left.
pub(crate) fn clear(mut textures: ResMut<Textures>, mut card: Card) {
    textures.clear(&mut card);
}
