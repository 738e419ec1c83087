//! What a learner is told once the results of a course are handed in.

use super::measurement::axis_in_words;
use crate::course::{Competency, CourseData, FormSitting, Judgement, Practise, Profile, Verdict};
use crate::level::course_format::{Course, Phase};
use crate::psychophysics::{Proportion, smallest_real_change};
use crate::results::Counted;
use crate::words::count;

/// What is told about one form, or about all of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Feedback {
    /// What it is about.
    pub heading: String,
    /// Sentences.
    pub lines: Vec<String>,
}

/// The feedback of one learner, form by form, then the change and the judgement.
#[must_use]
pub fn exam_feedback(data: &CourseData, course: &Course, learner: &str) -> Vec<Feedback> {
    let mut told = Vec::new();
    let mut sat: Vec<&FormSitting> = Vec::new();
    for phase in data.phases() {
        if let Some(sitting) = data.of_phase(phase).get(learner) {
            told.push(of_form(data, phase, sitting));
            sat.push(sitting);
        }
    }
    let lines = [change(&sat), judged(data, course, &sat), class(data, course, &sat)];
    let lines: Vec<String> = lines.into_iter().flatten().collect();
    if !lines.is_empty() {
        told.push(Feedback { heading: "All in all".to_owned(), lines });
    }
    told
}

const fn phase_in_words(phase: Phase) -> &'static str {
    match phase {
        Phase::Pre => "Form before teaching",
        Phase::Post => "Form after teaching",
        Phase::Delayed => "Form some weeks later",
        Phase::Only => "Form",
    }
}

fn of_form(data: &CourseData, phase: Phase, sitting: &FormSitting) -> Feedback {
    let (found, false_alarms) = (data.found(sitting), data.false_alarms(sitting));
    let mut lines = vec![
        format!(
            "{:.0} % of {} answered rightly.",
            data.score(sitting),
            count(sitting.shown(), "smile", "smiles")
        ),
        format!(
            "{} of {} restorations found; a tooth named on {} of {} smiles without one.",
            found.successes, found.total, false_alarms.successes, false_alarms.total
        ),
    ];
    if let Some(estimate) = sitting.estimate {
        let (threshold, low, high) = estimate.threshold_de00();
        lines.push(format!(
            "Smallest difference you see half of the time: about {threshold:.1} ΔE00 (95 % \
             interval {low:.1} to {high:.1})."
        ));
    }
    if let Some(profile) = Profile::new(data, sitting) {
        lines.push(match profile.practise {
            Practise::Axis(axis) => {
                format!("Practise differences {} first.", axis_in_words(axis))
            }
            Practise::FewerFalseAlarms => {
                "Practise saying \u{201c}none\u{201d}: many smiles without a restoration were taken \
                 for restored."
                    .to_owned()
            }
            Practise::Keep => "No kind of difference stands out as weak.".to_owned(),
        });
    }
    if let Counted::First { of } = sitting.counted {
        lines.push(format!(
            "You sat this {of} times. The fullest sitting counts, of equals the first: this is it."
        ));
    }
    if sitting.spoilt > 0 {
        let spoilt = sitting.spoilt;
        lines.push(count(
            spoilt,
            "exposure was not held and does not count.",
            "exposures were not held and do not count.",
        ));
    }
    Feedback { heading: phase_in_words(phase).to_owned(), lines }
}

/// From the first form to the last.
fn change(sat: &[&FormSitting]) -> Option<String> {
    let (first, last) = (sat.first()?.estimate?, sat.last()?.estimate?);
    if sat.len() < 2 {
        return None;
    }
    let factor = (last.ln_threshold - first.ln_threshold).exp();
    let real = smallest_real_change(f64::midpoint(first.sd, last.sd)).exp();
    let percent = 100.0 * (factor - 1.0);
    Some(if factor * real < 1.0 {
        format!("From the first form to the last your threshold fell by {:.0} %.", -percent)
    } else if factor > real {
        format!("From the first form to the last your threshold rose by {percent:.0} %.")
    } else {
        format!(
            "From the first form to the last your threshold changed by {percent:+.0} %, which is less \
             than two forms of this length can tell from chance ({:.0} %).",
            100.0 * (real - 1.0)
        )
    })
}

fn judged(data: &CourseData, course: &Course, sat: &[&FormSitting]) -> Option<String> {
    let (rule, last) = (course.pass?, sat.last()?);
    let estimate = last.estimate?;
    let false_alarms = data.false_alarms(last);
    let share = 100.0 * false_alarms.value().unwrap_or(0.0);
    let allowed = 100.0 * rule.false_alarms;
    let cut = rule.threshold_de00;
    let is_below = Judgement::of(estimate.threshold_de00().0, cut, estimate.sd);
    Some(match Verdict::of(&estimate, false_alarms, &rule) {
        Verdict::Passed => format!("Passed: the threshold lies below {cut} ΔE00."),
        Verdict::Borderline if is_below == Judgement::Passed => format!(
            "Borderline: a tooth was named on {share:.0} % of the smiles without a restoration, above \
             {allowed:.0} % by no more than chance. Sit another form."
        ),
        Verdict::Borderline => format!(
            "Borderline: one form cannot tell whether the threshold lies below {cut} ΔE00. Sit another."
        ),
        Verdict::ThresholdTooHigh => {
            format!("Not passed: the threshold lies above {cut} ΔE00.")
        }
        Verdict::TooManyFalseAlarms => format!(
            "Not passed: a tooth was named on {share:.0} % of the smiles without a restoration, above {allowed:.0} %."
        ),
    })
}

fn class(data: &CourseData, course: &Course, sat: &[&FormSitting]) -> Option<String> {
    let estimate = sat.last()?.estimate?;
    let threshold = estimate.threshold_de00();
    let mut false_alarms = Proportion::default();
    for sitting in sat {
        let here = data.false_alarms(sitting);
        false_alarms.total += here.total;
        false_alarms.successes += here.successes;
    }
    let class = Competency::of(threshold, false_alarms, &course.class_limits());
    let why = match class {
        Competency::CannotBeTold => " from so few answers: sit another form",
        _ => "",
    };
    Some(format!(
        "Class: {}{why}. Classes are provisional; there are no norms yet. They say nothing certain about \
         colour vision.",
        class.words()
    ))
}
