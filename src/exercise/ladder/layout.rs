//! Laying out questions of Value ladder.

use super::{LadderTask, Patch};
use crate::colorimetry::{Lab, Lch, is_displayable};
use crate::exercise::cases::Layout;
use crate::exercise::seeing::{flags, shuffle};
use crate::exercise::{ExerciseError, Question, Task};
use crate::level::format::{Exercise, LchRanges, Range};
use crate::psychophysics::pearson;
use crate::random::Purpose;
use rand::RngExt;

/// Share of questions in which two patches have exactly the same value. A setting of this program.
const TIE_SHARE: f64 = 0.15;
/// Largest rank correlation of chroma with value that a question may have: chroma must not give
/// the order away, nor its reverse.
const LARGEST_CORRELATION: f64 = 0.6;
/// Orders of chroma tried until one is scrambled enough.
const SCRAMBLES: usize = 50;

pub(in crate::exercise) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Ladder { patches, step, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    let ties = flags(layout, TIE_SHARE);
    let question = |(number, tie): (u32, bool)| Question {
        number,
        seed_key: layout.seed_key(number),
        catch: tie,
        sights: Vec::new(),
        task: Task::Ladder(LadderTask {
            patches: draw(layout, number, usize::from(patches), step, tie),
        }),
    };
    Ok((0..layout.questions).zip(ties).map(question).collect())
}

/// The patches of one question: a ladder of value around a colour of the level's range, chroma and
/// hue spread over their ranges in an order of their own, all in random order.
fn draw(layout: &Layout<'_>, number: u32, patches: usize, step: Range, tie: bool) -> Vec<Patch> {
    let LchRanges { l, c, h } = layout.level.patient.central;
    let mut stream = layout.stream(Purpose::Scene, number);
    let mut values = vec![0.0; patches];
    let tied = 1 + stream.random_range(0..patches - 1);
    for i in 1..patches {
        let rise = step.at(stream.random());
        values[i] = values[i - 1] + if tie && i == tied { 0.0 } else { rise };
    }
    let middle = l.at(stream.random()) - 0.5 * values[patches - 1];
    let mut spread = |range: Range| -> Vec<f64> {
        let mut order: Vec<usize> = (0..patches).collect();
        for _ in 0..SCRAMBLES {
            shuffle(&mut order, &mut stream);
            let ranks: Vec<(f64, f64)> =
                order.iter().enumerate().map(|(i, r)| (i as f64, *r as f64)).collect();
            if pearson(&ranks).is_some_and(|r| r.abs() <= LARGEST_CORRELATION) {
                break;
            }
        }
        let at = |rank: &usize| (*rank as f64 + stream.random::<f64>()) / patches as f64;
        order.iter().map(at).map(|t| range.at(t)).collect()
    };
    let (chroma, hue) = (spread(c), spread(h));
    let mut drawn: Vec<Patch> = (0..patches)
        .map(|i| displayable(Lch { l: middle + values[i], c: chroma[i], h: hue[i] }))
        .collect();
    shuffle(&mut drawn, &mut stream);
    drawn
}

/// The patch of a colour, its chroma lowered until the display can show it.
fn displayable(mut lch: Lch) -> Patch {
    loop {
        let colour = Lab { l: lch.l, ..Lab::from(lch) };
        let linear = colour.to_linear_srgb();
        if is_displayable(linear) || lch.c < 0.1 {
            return Patch { colour, linear };
        }
        lch.c *= 0.95;
    }
}
