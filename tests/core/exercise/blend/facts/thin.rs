//! Thin veneers: shade, cement and drift tell under them.

use super::{GLASS_CERAMICS, Recipe, generated, mean, patients_of, veneer};
use second_glance::bake::ZoneDifference;
use second_glance::colorimetry::{Lch, PERCEPTIBILITY_DE00};
use second_glance::scene::{Cure, Drift, Preparation, Restoration, Translucency};

#[test]
fn the_shade_of_the_tooth_itself_is_right_only_when_thick() {
    // Trade fact 3: almost never when thin; when thick, right.
    let cases = [patients_of("blend-thin-veneer"), patients_of("blend-one-step-or-several")];
    let right = |preparation, mm: f64| {
        let right = cases.iter().flatten().flat_map(|case| {
            // The first and the last: the second is as translucent as the first.
            GLASS_CERAMICS.into_iter().step_by(2).flat_map(move |class| {
                [Translucency::Low, Translucency::High].map(|translucency| {
                    let recipe = Recipe { preparation, ..veneer(class, translucency, mm) };
                    f64::from(u8::from(case.nearest_whole_step(&recipe) == 0))
                })
            })
        });
        mean(right)
    };
    let (thin, thick) = (right(Preparation::Veneer, 0.5), right(Preparation::Crown, 2.5));
    println!("the tooth's own value is nearest in {thin:.2} of thin and {thick:.2} of thick cases");
    assert!(thin <= 0.1, "{thin}");
    assert!(thick >= 0.75, "{thick}");
}

#[test]
fn cement_tells_under_thin_veneers_only() {
    // Trade fact 6.
    for class in GLASS_CERAMICS {
        let thin = veneer(class, Translucency::High, 0.3);
        let thick =
            Recipe { preparation: Preparation::Crown, ..veneer(class, Translucency::Low, 2.0) };
        for case in generated(&["light", "mid-yellow"], 6) {
            let estimator = case.estimator();
            // How far the tooth goes from clear cement to another at most.
            let shift = |recipe: Recipe<'_>| {
                let shade = Lch { l: 80.0, c: 15.0, h: 90.0 };
                let thirds = |cement: &str| {
                    let r = case.restoration(&Recipe { cement, ..recipe }, shade);
                    estimator.zones(&r).unwrap()
                };
                let clear = thirds("clear");
                ["very-light", "very-warm"]
                    .map(|cement| ZoneDifference::of_thirds(&clear, &thirds(cement)).de00)
                    .into_iter()
                    .fold(0.0, f64::max)
            };
            let (thin, thick) = (shift(thin), shift(thick));
            println!("{} {class}: thin {thin:.2}, thick {thick:.2}", case.name);
            assert!(thin > PERCEPTIBILITY_DE00, "{} {class}: {thin}", case.name);
            assert!(thick < PERCEPTIBILITY_DE00, "{} {class}: {thick}", case.name);
        }
    }
}

#[test]
fn a_thin_veneer_that_matches_on_the_day_ends_up_low_in_value() {
    // Trade fact 7: about one step brighter on the day.
    let drift = Drift { months: 24.0, cure: Cure::LightCured, deviate: 0.0 };
    let (mut sinks, mut nearer) = (Vec::new(), Vec::new());
    for case in generated(&["light", "mid-yellow"], 4) {
        let recipe = veneer("feldspathic", Translucency::High, 0.3);
        let estimator = case.estimator();
        let (shade, day) = case.best(&recipe);
        let later = |shade: Lch| {
            let seated = case.restoration(&recipe, shade);
            estimator.difference(&Restoration { drift: Some(drift), ..seated }).unwrap()
        };
        let (same, brighter) = (later(shade), later(Lch { l: shade.l + 2.0, ..shade }));
        println!(
            "{}: day {:.2} ({:+.2}), later {:.2} ({:+.2}), a step brighter later {:.2} ({:+.2})",
            case.name, day.de00, day.dl00, same.de00, same.dl00, brighter.de00, brighter.dl00
        );
        sinks.push(same.dl00 - day.dl00);
        nearer.push(same.dl00.abs() - brighter.dl00.abs());
    }
    assert!(sinks.iter().all(|sunk| *sunk < 0.0), "{sinks:?}");
    // One step up is nearer in value later on than the match of the day.
    assert!(mean(nearer.iter().copied()) > 0.0, "{nearer:?}");
}
