//! Laying out questions of Bench.

use super::BenchTask;
use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::exercise::at_hand::Offered;
use crate::exercise::cases::Layout;
use crate::exercise::choosing::kind_by_share;
use crate::exercise::recipe::Recipe;
use crate::exercise::recipe_part::{RecipePart, at, map_of};
use crate::exercise::{ExerciseError, Question, Sight, Task};
use crate::level::format::{BenchThickness, Exercise};
use crate::random::Purpose;
use rand::RngExt;

/// One question in this many cannot be met: about 15 %.
const UNREACHABLE_ONE_IN: u32 = 7;
/// The best of a question that can be met is at most this, and of one that cannot at least that
/// much more than acceptable, ΔE00; what lies between would hang on the model's own error.
const CLEAR_DE00: f64 = 0.3;
/// Draws until a question is of the wanted kind.
const DRAWS: u32 = 12;

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Bench { attempts, thickness, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    (0..layout.questions).map(|number| question(layout, number, attempts, thickness)).collect()
}

/// Whether a question is one of those that cannot be met: one in every run of so many, at a place
/// of its own.
fn unreachable(layout: &Layout<'_>, number: u32) -> bool {
    let run = number / UNREACHABLE_ONE_IN;
    let mut stream = layout.stream(Purpose::Schedule, run);
    number % UNREACHABLE_ONE_IN == stream.random_range(0..UNREACHABLE_ONE_IN)
}

fn question(
    layout: &Layout<'_>,
    number: u32,
    attempts: u8,
    thickness: BenchThickness,
) -> Result<Question, ExerciseError> {
    if layout.level.is_stated() {
        return stated(layout, number, attempts);
    }
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let hopeless = unreachable(layout, number);
    let natural = layout.natural_case(number)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let darkest = || {
        let prepared = library.tissues().prepared_teeth.iter();
        prepared.min_by(|a, b| a.colour.l.total_cmp(&b.colour.l)).map(|p| p.id.clone())
    };
    let mut last: Option<BenchTask> = None;
    for draw in 0..DRAWS {
        let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
        let film = kind.cement_film_mm;
        // A question that cannot be met has the darkest prepared tooth and ever less space.
        let (prepared, scale) = if hopeless {
            let scale = 0.7 - 0.05 * f64::from(draw);
            (darkest().unwrap_or_else(|| kind.prepared_tooth.clone()), scale)
        } else {
            // Ever more space until it can be met.
            (kind.prepared_tooth.clone(), 1.0 + 0.08 * f64::from(draw))
        };
        let reduction = map_of(|part| at(&kind.thickness_mm, part) * scale + film);
        let mut task = BenchTask::free(
            natural.clone(),
            tooth,
            kind.preparation,
            &prepared,
            reduction,
            library,
        )
        .map_err(wrap)?;
        // What was removed has to be filled; only where thickness is asked, less may be removed.
        let limits = task.limits.clone();
        let limits = match thickness {
            BenchThickness::Prepared => limits.filled(film),
            BenchThickness::Free => limits.on_film(film),
        };
        task.hold(limits, film, library).map_err(wrap)?;
        task.attempts = Some(attempts);
        task.find_best(library).map_err(wrap)?;
        let Some(best) = &task.best else { continue };
        let off = best.difference.de00 - ACCEPTABILITY_DE00;
        let clear = if hopeless { off >= CLEAR_DE00 } else { off <= -CLEAR_DE00 };
        task.start = start(&task, &mut stream);
        last = Some(task);
        if clear {
            break;
        }
    }
    let Some(task) = last else {
        let why = "no recipe was found at all".to_owned();
        return Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why });
    };
    Ok(asked(layout, number, task))
}

/// A case as it was measured: its own prepared tooth and room whatever comes of it, and the
/// ceramics that it offers. That nothing at hand is acceptable is an answer, too.
fn stated(layout: &Layout<'_>, number: u32, attempts: u8) -> Result<Question, ExerciseError> {
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let natural = layout.natural_case(number)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
    let film = kind.cement_film_mm;
    let reduction = map_of(|part| at(&kind.thickness_mm, part) + film);
    let prepared = &kind.prepared_tooth;
    let mut task = BenchTask::free(natural, tooth, kind.preparation, prepared, reduction, library)
        .map_err(wrap)?;
    let alike = layout.kinds_for(tooth).into_iter().filter(|other| {
        let room = (other.thickness_mm, other.cement_film_mm, other.preparation);
        other.prepared_tooth == *prepared
            && room == (kind.thickness_mm, kind.cement_film_mm, kind.preparation)
    });
    let offered: Vec<Offered> = alike.map(Offered::from).collect();
    task.offer(&offered, film, library).map_err(wrap)?;
    // In a level nothing else can be tried either, or an attempt could be better than the best.
    task.limits = task.limits.filled(film);
    task.attempts = Some(attempts);
    task.find_best(library).map_err(wrap)?;
    if task.best.is_none() {
        let why = "none of its ceramics can be made".to_owned();
        return Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why });
    }
    task.start = start(&task, &mut stream);
    task.start.cement.clone_from(&kind.cement);
    Ok(asked(layout, number, task))
}

fn asked(layout: &Layout<'_>, number: u32, task: BenchTask) -> Question {
    let natural = Sight { name: "Natural".to_owned(), case: task.natural.clone() };
    let start = Sight { name: "As it stands".to_owned(), case: task.case_with(&task.start) };
    Question {
        number,
        seed_key: layout.seed_key(number),
        catch: task.can_be_met() == Some(false),
        sights: vec![start, natural],
        task: Task::Bench(task),
    }
}

/// A recipe to begin with: two to four value steps off the best, in another translucency.
fn start(task: &BenchTask, stream: &mut impl rand::Rng) -> Recipe {
    let Some(best) = &task.best else { return task.start.clone() };
    let steps = 2 * stream.random_range(2..=4);
    let up = stream.random::<bool>();
    let towards = |steps: i32| best.recipe.stepped(RecipePart::Lightness, steps, &task.limits);
    let mut recipe = towards(if up { steps } else { -steps });
    // At the end of the shades there may be no room that way.
    if (recipe.ceramic.shade.l - best.recipe.ceramic.shade.l).abs() < 3.0 {
        recipe = towards(if up { -steps } else { steps });
    }
    let class = stream.random_range(0..task.limits.classes.len().max(1));
    if let Some(class) = task.limits.classes.get(class) {
        recipe.ceramic.class.clone_from(&class.id);
        recipe.ceramic.graded = false;
    }
    recipe.held(&task.limits)
}
