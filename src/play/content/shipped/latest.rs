//! The smiles baked last: another restoration of the same tooth of a mouth is baked alone.

use crate::bake::{self, BakeError, BakedScene};
use crate::material::Library;
use crate::scene::{Case, Tooth};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Mouths and lights whose last smile is kept: a recipe is seen in two lights in turn.
const MOST_MOUTHS: usize = 2;

/// The smiles baked last in [`MOST_MOUTHS`] mouths and lights, the latest first.
#[derive(Debug, Default)]
pub(super) struct Latest(Mutex<Vec<(Case, BakedScene)>>);

impl Latest {
    /// Bakes a case, and keeps it.
    pub(super) fn bake(&self, case: &Case, library: &Library) -> Result<BakedScene, BakeError> {
        let scene = match self.same_but_for_one_restoration(case) {
            // The same to the byte as baking all of it.
            Some((mut scene, tooth)) => scene.rebake(case, tooth, library).map(|()| scene),
            None => bake::bake(case, library),
        }?;
        if only_restoration(case).is_some() {
            let natural = without_restoration(case);
            let mut latest = self.kept();
            latest.retain(|(before, _)| without_restoration(before) != natural);
            latest.insert(0, (case.clone(), scene.clone()));
            latest.truncate(MOST_MOUTHS);
        }
        Ok(scene)
    }

    fn kept(&self) -> MutexGuard<'_, Vec<(Case, BakedScene)>> {
        // A panic elsewhere does not make a finished smile wrong.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A smile baked lately and the restored tooth, where `case` is the same mouth in the same light
    /// with another restoration of that tooth.
    pub(super) fn same_but_for_one_restoration(&self, case: &Case) -> Option<(BakedScene, Tooth)> {
        let tooth = only_restoration(case)?;
        let natural = without_restoration(case);
        let latest = self.kept();
        let (_, scene) = latest.iter().find(|(before, _)| {
            only_restoration(before) == Some(tooth) && without_restoration(before) == natural
        })?;
        Some((scene.clone(), tooth))
    }
}

/// The tooth of a case with a single restoration and no other change.
fn only_restoration(case: &Case) -> Option<Tooth> {
    match &case.restorations[..] {
        [one] if case.shift.is_none() => Some(one.tooth),
        _ => None,
    }
}

/// The mouth of a case with every tooth natural.
fn without_restoration(case: &Case) -> Case {
    Case { restorations: Vec::new(), ..case.clone() }
}
