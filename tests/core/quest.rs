//! Ladder, Match, Two lights and Verdict, played by simulated learners.

use second_glance::bake::Estimator;
use second_glance::colorimetry::Illuminant;
use second_glance::material::Library;
use second_glance::scene::*;

#[test]
#[ignore]
fn metamerism() {
    let library = Library::shipped().unwrap();
    let level = crate::bake::shipped_levels().into_iter().find(|l| l.id == "whole-smile").unwrap();
    let plan = second_glance::level::lower(&level, &library, 5, Some(8)).unwrap();
    for trial in plan.trials.iter().take(3) {
        let tooth = trial.case.patient.teeth.iter().find(|t| t.tooth.number() == 11).unwrap();
        println!("tooth {:?}", tooth.body);
        let lights = Illuminant::ALL;
        let est: Vec<_> =
            lights.iter().map(|l| Estimator::new(tooth, 1, *l, &library).unwrap()).collect();
        for class in ["feldspathic", "lithium-disilicate", "zirconia"] {
            for cement in ["clear", "warm", "very-warm", "opaque-light"] {
                for prepared in ["light", "warm-yellow", "grey-brown"] {
                    let mut rows: Vec<Vec<f64>> = Vec::new();
                    for &shade in &library.ceramics().shades.lattice {
                        for mm in [0.4, 0.7, 1.0] {
                            let r = Restoration {
                                tooth: tooth.tooth,
                                preparation: Preparation::Veneer,
                                ceramic: Ceramic {
                                    class: class.into(),
                                    translucency: Translucency::Medium,
                                    shade,
                                    graded: false,
                                    block_shift: 0.0,
                                },
                                thickness: Thickness {
                                    margin_mm: 0.1,
                                    neck_mm: mm,
                                    body_mm: mm,
                                    incisal_mm: mm,
                                },
                                cement: cement.into(),
                                cement_film_mm: 0.08,
                                prepared_tooth: prepared.into(),
                                drift: None,
                            };
                            rows.push(est.iter().map(|e| e.difference(&r).unwrap().de00).collect());
                        }
                    }
                    rows.sort_by(|a, b| a[0].total_cmp(&b[0]));
                    let s: Vec<String> = rows
                        .iter()
                        .take(4)
                        .map(|r| r.iter().map(|v| format!("{v:.2}")).collect::<Vec<_>>().join(" "))
                        .collect();
                    println!("{class} {cement} {prepared}: {}", s.join(" | "));
                }
            }
        }
    }
}
