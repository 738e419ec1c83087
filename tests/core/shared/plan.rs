//! A plan of scheduled trials, made without a level.

use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use second_glance::trial::{Plan, PlannedTrial, Timing, schedule};

const FORM: &str = "test";

pub fn key(seed: u64) -> StreamKey<'static> {
    StreamKey { form: FORM, seed, purpose: Purpose::Schedule, block: 0, trial: 0 }
}

fn case(seed: u64, restored: Option<Tooth>) -> Case {
    let body = Lch { l: 74.0, c: 18.0, h: 86.0 };
    Case {
        seed,
        patient: Patient {
            teeth: Tooth::arch(10)
                .into_iter()
                .map(|tooth| NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 })
                .collect(),
            gingiva: Lch { l: 55.0, c: 25.0, h: 25.0 },
        },
        restorations: restored
            .into_iter()
            .map(|tooth| Restoration {
                tooth,
                preparation: Preparation::Veneer,
                ceramic: Ceramic {
                    class: "lithium-disilicate".to_owned(),
                    translucency: Translucency::High,
                    shade: body,
                    graded: false,
                    block_shift: 0.0,
                },
                thickness: Thickness {
                    margin_mm: 0.1,
                    neck_mm: 0.3,
                    body_mm: 0.5,
                    incisal_mm: 0.7,
                },
                cement: "clear".to_owned(),
                cement_film_mm: 0.05,
                prepared_tooth: "light".to_owned(),
                drift: None,
            })
            .collect(),
        shift: None,
        illuminant: Illuminant::D65,
        staging: Default::default(),
    }
}

/// A plan of scheduled trials over ten teeth.
pub fn plan(seed: u64, n_trials: usize) -> Plan {
    let teeth = Tooth::arch(10);
    let trials = schedule(key(seed), n_trials, &teeth, 0.5)
        .unwrap()
        .into_iter()
        .map(|t| PlannedTrial {
            block: t.block,
            trial: t.trial,
            kind: t.kind,
            case: case(u64::from(t.trial), t.tooth),
        })
        .collect();
    Plan {
        level_id: FORM.to_owned(),
        title: "Test".to_owned(),
        teaches: "Nothing.".to_owned(),
        seed,
        teeth,
        timing: Timing::default(),
        trials,
    }
}
