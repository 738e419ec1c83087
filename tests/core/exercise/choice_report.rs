//! What a measurement of choosing found, by hand and for known choosers.

use crate::shared::choosing::{chooser, measured_by, picked};
use second_glance::exercise::{BlendAnswer, ChoiceAsked, ChoiceReport};
use second_glance::psychophysics::Chooser;

#[test]
fn agreement_is_that_of_the_pairs_and_says_when_it_cannot_be_told() {
    // Picks the option that was in the first place when it was new, but once another.
    let seed = 4;
    let original = |asked: &ChoiceAsked, place: usize| {
        let places = asked.places.clone().unwrap_or_else(|| vec![0, 1, 2]);
        places.iter().position(|p| *p == place).unwrap()
    };
    let liked = |asked: &ChoiceAsked| asked.blend.number as usize % 3;
    let mut repeats = 0;
    let rows = measured_by(seed, |asked, _| {
        repeats += usize::from(asked.places.is_some());
        let off = usize::from(asked.places.is_some() && repeats == 2);
        picked(original(asked, (liked(asked) + off) % 3))
    });
    let report = ChoiceReport::of(&rows).unwrap();
    let found = &report.repeats;
    assert_eq!((report.answered, found.pairs, found.alike), (40, 5, 4));
    let kappa = found.choice.unwrap();
    // By hand from the places that were liked.
    let of: Vec<u64> =
        rows.iter().filter_map(|r| r.truth["measured"]["repeat_of"].as_u64()).collect();
    let share = |k: u64, shift: bool| {
        let liked = of.iter().enumerate().map(|(i, of)| (of + u64::from(shift && i == 1)) % 3);
        liked.filter(|l| *l == k).count() as f64 / 5.0
    };
    let chance: f64 = (0..3).map(|k| share(k, false) * share(k, true)).sum();
    assert!((kappa.kappa.value - (0.8 - chance) / (1.0 - chance)).abs() < 1e-12, "{kappa:?}");
    assert!(kappa.kappa.low < kappa.kappa.value && kappa.kappa.value < kappa.kappa.high);
    assert!(found.accepted.unwrap().kappa.value > 0.0);
    let said = report.sentences().join("\n");
    assert!(said.contains("5 questions came again mirrored: you chose alike in 4"), "{said}");
    // Repeats are no evidence of what is preferred.
    assert_eq!(report.fit.unwrap().choices, 35);

    // Too few pairs.
    let few = ChoiceReport::of(&rows[..24]).unwrap();
    assert_eq!((few.repeats.pairs, few.repeats.choice), (3, None));
    assert!(few.sentences().join("\n").contains("Only 3 questions came again; 4 are needed"));
    // No variation: "none" all along.
    let none = BlendAnswer::none();
    let report = ChoiceReport::of(&measured_by(seed, |_, _| none.clone())).unwrap();
    assert_eq!((report.repeats.pairs, report.repeats.choice, &report.fit), (5, None, &None));
    let said = Repeated(&report).to_string();
    assert!(said.contains("one and the same") && said.contains("cannot be told"), "{said}");
    // As earlier versions stored it: no repeats, and nothing is wrong with it.
    let mut old = rows.clone();
    old.iter_mut().for_each(|r| drop(r.truth.as_object_mut().unwrap().remove("measured")));
    let report = ChoiceReport::of(&old).unwrap();
    assert_eq!((report.repeats.pairs, report.fit.as_ref().unwrap().choices), (0, 40));
    assert!(Repeated(&report).to_string().contains("No question came again"));
}

struct Repeated<'a>(&'a ChoiceReport);

impl std::fmt::Display for Repeated<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0.repeats.sentences().join("\n"))
    }
}

/// Kappa of known choosers: nothing for one who picks by chance, all of it for one without noise.
#[test]
fn kappa_tells_known_choosers_apart() {
    let mean = |noise_de00: f64| {
        let of = Chooser { noise_de00, value_weight: 1.0, value_bias: 0.3, lapse: 0.0 };
        let kappas: Vec<f64> = (0..50)
            .filter_map(|seed| {
                let rows = measured_by(seed, chooser(of, seed));
                Some(ChoiceReport::of(&rows).unwrap().repeats.choice?.kappa.value)
            })
            .collect();
        assert!(kappas.len() > 40, "told in {}", kappas.len());
        let n = kappas.len() as f64;
        let mean = kappas.iter().sum::<f64>() / n;
        let sd = (kappas.iter().map(|k| (k - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        (mean, sd / n.sqrt())
    };
    let [sure, usual, blind] = [0.001, 0.5, 50.0].map(mean);
    println!("noise 0.001, 0.5, 50: kappa {sure:.2?}, {usual:.2?}, {blind:.2?}");
    assert!(sure.0 > 0.95, "{sure:?}");
    // Kappa of few pairs is a little below 0 on average where there is nothing: less than one in n
    // − 1.
    assert!(blind.0.abs() < 3.0 * blind.1 + 0.05, "{blind:?}");
    assert!(usual.0 > blind.0 && usual.0 < sure.0, "{usual:?}");
}
