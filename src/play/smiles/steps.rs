//! What is done for the smiles of a [`Preparation`]: bakes are begun and taken in, pictures asked for.

use super::{Drawing, Leave, MOST_TWINS, PictureId, Preparation, SLOW_FRAME_S, Step};
use crate::bake::{BakedScene, Condition};
use crate::play::content::ActiveContent;
use crate::play::picture::{Picture, PreparedScene};
use crate::play::problem::Problem;
use crate::play::work::Workers;
use crate::scene::Case;
use std::sync::Arc;
use std::time::Duration;

/// A picture to be drawn.
#[derive(Debug, Clone)]
pub struct WantedPicture {
    /// The name of this request.
    pub id: PictureId,
    /// What to draw.
    pub scene: Arc<BakedScene>,
    /// Restored or twin.
    pub condition: Condition,
}

impl Preparation {
    /// Draws smiles anew whose pictures are not of `size`, pixels, any more. While a smile is looked at
    /// or answered, it stays as it is.
    pub fn draw_anew(&mut self, size: [u32; 2]) {
        if self.leave != Leave::Everything {
            return;
        }
        for job in &mut self.jobs {
            match &mut job.step {
                Step::Ready(prepared) if prepared.size() != size => {
                    let drawing = Drawing::of(prepared.scene.clone());
                    job.outdated = Some(prepared.clone());
                    job.step = Step::Baked(drawing);
                }
                Step::Baked(drawing) if drawing.asked.is_none() => {
                    let half = drawing.restored.take();
                    drawing.restored = half.filter(|half| [half.width, half.height] == size);
                }
                _ => {}
            }
        }
    }

    /// Begins to bake the most urgent smile that waits, unless another is baked or something unwanted
    /// goes on.
    pub fn begin_bake(&mut self, content: &ActiveContent, workers: &Workers) {
        self.count_strays(workers);
        let is_busy = self.jobs.iter().any(|job| matches!(job.step, Step::Baking(_)));
        if self.leave == Leave::Nothing || is_busy || self.has_strays {
            return;
        }
        let waiting = self.jobs.iter_mut().find(|job| matches!(job.step, Step::Waiting));
        if let Some(job) = waiting {
            let (content, case) = (content.0.clone(), job.case.clone());
            job.step = Step::Baking(workers.begin(move || content.bake(&case)));
        }
    }

    /// Where pictures should follow at once, this frame may see the end of the bake it has begun.
    pub fn wait_for_bake(&self) {
        for job in &self.jobs {
            if let Step::Baking(work) = &job.step {
                work.wait_for(self.patience());
            }
        }
    }

    /// Takes bakes in that are done.
    pub fn finish_bakes(&mut self, workers: &Workers, problem: &mut Problem) {
        self.count_strays(workers);
        for job in &mut self.jobs {
            let Step::Baking(work) = &mut job.step else { continue };
            let Some(scene) = work.take() else { continue };
            self.baked_for += work.took();
            job.step = match scene {
                Ok(scene) => Step::Baked(Drawing::of(Arc::new(scene))),
                Err(error) => {
                    problem.report(error);
                    Step::Failed
                }
            };
        }
    }

    fn count_strays(&mut self, workers: &Workers) {
        self.has_strays = workers.strays() > 0;
    }

    /// The picture to be asked for now, of this size, pixels; `now` since the program began.
    pub fn next_picture(&mut self, now: Duration) -> Option<WantedPicture> {
        // A frame that is to show a smile does not draw the next, or the window would be left out of
        // it.
        let shows = std::mem::take(&mut self.just_ready) && self.hurries;
        if shows || !self.may_draw() || self.awaited().is_some() {
            return None;
        }
        let id = self.new_id();
        let drawing = self.jobs.iter_mut().find_map(|job| match &mut job.step {
            Step::Baked(drawing) => Some(drawing),
            _ => None,
        })?;
        let condition = match drawing.restored {
            None => Condition::Restored,
            Some(_) => Condition::Twin,
        };
        drawing.asked = Some(id);
        drawing.asked_at = now;
        self.slow.longest_s = 0.0;
        Some(WantedPicture { id, scene: drawing.scene.clone(), condition })
    }

    /// Takes note of how long a frame lasted, s.
    pub fn pass(&mut self, frame_s: f64) {
        self.slow.longest_s = self.slow.longest_s.max(frame_s);
    }

    /// Takes in a picture that was asked for; `now` since the program began.
    pub fn take_in(&mut self, id: PictureId, picture: &Arc<Picture>, now: Duration) {
        // A frame that was to wait says nothing about drawing.
        if !self.hurries {
            self.slow.is_slow = self.slow.longest_s > SLOW_FRAME_S;
        }
        if self.stray_picture == Some(id) {
            self.stray_picture = None;
        }
        let mut new_twin = None;
        for job in &mut self.jobs {
            let Step::Baked(drawing) = &mut job.step else { continue };
            if drawing.asked != Some(id) {
                continue;
            }
            drawing.asked = None;
            self.picture_took = Some(now.saturating_sub(drawing.asked_at));
            let Some((restored, twin)) =
                both(drawing, picture.clone(), &job.case, &self.twins, &mut new_twin)
            else {
                continue;
            };
            let scene = drawing.scene.clone();
            job.step = Step::Ready(PreparedScene { scene, restored, twin });
            job.outdated = None;
            self.just_ready = true;
        }
        if let Some((natural, twin)) = new_twin {
            keep_twin(&mut self.twins, natural, twin);
        }
    }

    /// Gives up on a picture that cannot be drawn.
    pub fn give_up(&mut self, id: PictureId, reason: &str, problem: &mut Problem) {
        if self.stray_picture == Some(id) {
            self.stray_picture = None;
        }
        for job in &mut self.jobs {
            if matches!(&job.step, Step::Baked(drawing) if drawing.asked == Some(id)) {
                problem.report(format!("The picture cannot be drawn: {reason}"));
                job.step = Step::Failed;
            }
        }
    }
}

/// Both pictures of a smile, restored and twin, now that another of them is there; `None` while one is
/// missing.
fn both(
    drawing: &mut Drawing,
    picture: Arc<Picture>,
    case: &Case,
    twins: &[(Case, Arc<Picture>)],
    new_twin: &mut Option<(Case, Arc<Picture>)>,
) -> Option<(Arc<Picture>, Arc<Picture>)> {
    // Without a restoration both conditions are the same picture.
    match drawing.restored.take() {
        None if drawing.scene.truth.is_some() => {
            let natural = natural_of(case);
            let size = size_of(&picture);
            let known = twins.iter().find(|(case, twin)| *case == natural && size_of(twin) == size);
            let Some((_, twin)) = known else {
                drawing.restored = Some(picture);
                return None;
            };
            Some((picture, twin.clone()))
        }
        None => Some((picture.clone(), picture)),
        // The window has another size since the first of the two: both are drawn anew.
        Some(restored) if size_of(&restored) != size_of(&picture) => None,
        Some(restored) => {
            *new_twin = Some((natural_of(case), picture.clone()));
            Some((restored, picture))
        }
    }
}

fn size_of(picture: &Picture) -> (u32, u32) {
    (picture.width, picture.height)
}

/// Remembers the twin of a smile for others of the same mouth.
fn keep_twin(twins: &mut Vec<(Case, Arc<Picture>)>, natural: Case, twin: Arc<Picture>) {
    twins.retain(|(case, _)| *case != natural);
    twins.insert(0, (natural, twin));
    twins.truncate(MOST_TWINS);
}

/// The mouth of a case with every tooth natural.
fn natural_of(case: &Case) -> Case {
    Case { restorations: Vec::new(), shift: None, ..case.clone() }
}
