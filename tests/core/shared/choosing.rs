//! Measurements of choosing without laying a question out, and who answers them.

use super::answers;
use rand::RngExt;
use second_glance::exercise::{BlendAnswer, CHOICE_ID, ChoiceAsked, ChoiceMeasurement};
use second_glance::level::format::{Level, ron_options};
use second_glance::psychophysics::{Chooser, OptionStop, SeenOption};
use second_glance::random::{Purpose, StreamKey};
use second_glance::results::AnswerRow;
use serde_json::json;

/// The level that choosing is measured by.
pub fn level() -> Level {
    ron_options().from_str(include_str!("../../../levels/blend-value-first.ron")).unwrap()
}

pub fn measurement(seed: u64) -> ChoiceMeasurement {
    ChoiceMeasurement::new(level(), seed, OptionStop::default()).unwrap()
}

/// Goes on until its most questions are asked, whatever is known.
pub fn endless(seed: u64) -> ChoiceMeasurement {
    let stop = OptionStop { regret_se_de00: -1.0, ..OptionStop::default() };
    ChoiceMeasurement::new(level(), seed, stop).unwrap()
}

/// Options like those of a question with this gap: the best, and an equal pair. As they lie in the
/// question where each is new, whichever place that is.
pub fn options_of(asked: &ChoiceAsked) -> Vec<SeenOption> {
    let pair = 0.8 + asked.blend.gap_de00;
    let (value, rest) = (0.85 * pair, pair * (1.0_f64 - 0.85 * 0.85).sqrt());
    let mut options = vec![SeenOption { value: -value, rest }, SeenOption { value, rest }];
    options.insert(asked.blend.best_slot, SeenOption { value: 0.1, rest: 0.79 });
    match &asked.places {
        Some(places) => places.iter().map(|place| options[*place]).collect(),
        None => options,
    }
}

/// The row of an answer to the next question, without laying it out.
pub fn row(measured: &ChoiceMeasurement, seed: u64, answer: &BlendAnswer) -> AnswerRow {
    let asked = measured.next();
    let options = options_of(&asked);
    let de00 = |option: &SeenOption| option.distance(1.0, 0.0);
    let best = (0..3).min_by(|a, b| de00(&options[*a]).total_cmp(&de00(&options[*b]))).unwrap();
    let mut how = json!({ "gap_de00": asked.blend.gap_de00 });
    if let Some(places) = &asked.places {
        how["repeat_of"] = json!(asked.blend.number);
        how["places"] = json!(places);
    }
    let shown: Vec<_> =
        options.iter().map(|o| json!({ "de00": de00(o), "dl00": o.value })).collect();
    AnswerRow {
        number: asked.number,
        mode: "measure".to_owned(),
        level: CHOICE_ID.to_owned(),
        seed_key: format!("blend-value-first/{seed}/0/{}", asked.blend.number),
        is_catch: asked.blend.catch,
        truth: json!({ "options": shown, "best": best, "measured": how }),
        answer: json!(answer),
        regret_de00: answer.best.map(|pick| de00(&options[pick]) - de00(&options[best])),
        ..answers::rows(1).remove(0)
    }
}

/// Takes a row in, as a run that takes the measurement up does.
pub fn taken(measured: ChoiceMeasurement, row: &AnswerRow) -> ChoiceMeasurement {
    measured.resumed(std::slice::from_ref(row)).unwrap()
}

/// A whole measurement of somebody who picks by `pick` from the options shown.
pub fn measured_by(
    seed: u64,
    mut pick: impl FnMut(&ChoiceAsked, &[SeenOption]) -> BlendAnswer,
) -> Vec<AnswerRow> {
    let (mut measured, mut rows) = (endless(seed), Vec::new());
    while measured.is_done().is_none() {
        let asked = measured.next();
        let answer = pick(&asked, &options_of(&asked));
        let row = row(&measured, seed, &answer);
        measured = taken(measured, &row);
        rows.push(row);
    }
    rows
}

/// Picks and accepts the option in one place alone.
pub fn picked(place: usize) -> BlendAnswer {
    BlendAnswer { best: Some(place), acceptable: vec![place] }
}

/// Answers by the model, with ticks for whatever lies within 1.8 of where they would like it.
pub fn chooser(
    chooser: Chooser,
    seed: u64,
) -> impl FnMut(&ChoiceAsked, &[SeenOption]) -> BlendAnswer {
    let key = StreamKey { form: "chooser", seed, purpose: Purpose::Observer, block: 0, trial: 0 };
    let mut stream = key.stream();
    move |_, options| {
        let best = chooser.pick(options, stream.random());
        let near = |o: &SeenOption| o.distance(chooser.value_weight, chooser.value_bias) < 1.8;
        let acceptable = (0..options.len()).filter(|k| near(&options[*k]) || *k == best);
        BlendAnswer { best: Some(best), acceptable: acceptable.collect() }
    }
}
