//! The blend chart against the truth, and the cross-section against the layers that were asked for.

use rand::RngExt;
use second_glance::bake::cross_section::{CutHeight, LayerRole, cross_section};
use second_glance::bake::{Estimator, bake};
use second_glance::chart::{BlendChart, ChartCase, blend_chart};
use second_glance::colorimetry::{
    ACCEPTABILITY_DE00, Illuminant, Lch, Observer, PERCEPTIBILITY_DE00, ciede2000,
};
use second_glance::material::Library;
use second_glance::optics::search::{Choices, colours};
use second_glance::optics::transport::{Base, CEMENT_JOINT, joint_reflection};
use second_glance::optics::{Layer, Medium};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{
    Case, Ceramic, NaturalTooth, Patient, Preparation, Restoration, Staging, Thickness, Tooth,
    Translucency,
};

fn case(prepared_tooth: &str) -> Case {
    let tooth = Tooth::new(21).unwrap();
    let body = Lch { l: 75.0, c: 16.0, h: 88.0 };
    let natural = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    let restoration = Restoration {
        tooth,
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "lithium-disilicate".to_owned(),
            translucency: Translucency::High,
            shade: Lch { l: 78.0, c: 15.0, h: 90.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.2, neck_mm: 0.4, body_mm: 0.5, incisal_mm: 0.7 },
        cement: "clear".to_owned(),
        cement_film_mm: 0.05,
        prepared_tooth: prepared_tooth.to_owned(),
        drift: None,
    };
    Case {
        seed: 3,
        patient: Patient { teeth: vec![natural], gingiva: Lch { l: 51.0, c: 33.0, h: 34.0 } },
        restorations: vec![restoration],
        shift: None,
        illuminant: Illuminant::D65,
        staging: Staging::default(),
    }
}

fn chart(case: &Case, library: &Library) -> BlendChart {
    blend_chart(&ChartCase::of(case).unwrap(), "A", &[], library).unwrap()
}

#[test]
fn the_chart_says_what_the_estimator_and_the_bake_say() {
    let library = Library::shipped().unwrap();
    let case = case("brown");
    let chart = chart(&case, &library);
    assert_eq!(chart.panels.len(), 3);
    let restoration = case.restorations[0].clone();
    let tooth = case.patient.teeth[0];
    let estimator = Estimator::new(&tooth, case.seed, case.illuminant, &library).unwrap();
    let panel = chart.panel(Translucency::High).unwrap();
    let mut between = 0.0_f64;
    for (mm, l) in [(0.5, 78.0), (0.3, 84.0), (1.0, 76.0), (0.55, 79.0), (0.85, 81.0)] {
        let reading = chart.at(panel, mm, l).unwrap();
        let mut varied = restoration.clone();
        varied.thickness = restoration.thickness.scaled(mm / 0.5);
        varied.ceramic.shade = reading.shade;
        let direct = estimator.difference(&varied).unwrap();
        let off = (direct.de00 - reading.difference.de00).abs();
        let on_node = l % 2.0 == 0.0 && ((mm * 10.0_f64).round() - mm * 10.0).abs() < 1e-9;
        assert!(!on_node || off < 1e-9, "{mm} mm L {l}: {reading:?} {direct:?}");
        between = between.max(off);
    }
    println!("between nodes {between:.4}");
    // Colours are nearly straight over 0.1 mm and 2 L*; a quarter of the perceptibility threshold.
    assert!(between < 0.2, "{between}");
    // And the baked truth, which the estimator is held to 0.15 of elsewhere.
    let truth = bake(&case, &library).unwrap().truth.unwrap();
    let here = chart.at(panel, 0.5, 78.0).unwrap().difference;
    assert!((here.de00 - truth.difference.de00).abs() < 0.15, "{here:?} {truth:?}");
    assert!((here.dl00 - truth.difference.dl00).abs() < 0.15, "{here:?} {truth:?}");
}

/// Restorations as people compose them: any shade between those of the lattice, any thickness.
fn composed(number: u32) -> Restoration {
    let key = StreamKey {
        form: "charts",
        seed: 4,
        purpose: Purpose::Restoration,
        block: 0,
        trial: number,
    };
    let mut stream = key.stream();
    let mut restoration = case("brown").restorations.remove(0);
    let classes = ["lithium-disilicate", "feldspathic", "zirconia", "leucite-glass-ceramic"];
    let translucencies = [Translucency::Low, Translucency::Medium, Translucency::High];
    let cements = ["clear", "warm", "light"];
    let prepared = ["brown", "light", "grey-brown", "mid-yellow"];
    let mut any = |n: usize| stream.random_range(0..n);
    restoration.ceramic.class = classes[any(4)].to_owned();
    restoration.ceramic.translucency = translucencies[any(3)];
    restoration.cement = cements[any(3)].to_owned();
    restoration.prepared_tooth = prepared[any(4)].to_owned();
    restoration.ceramic.shade = Lch {
        l: stream.random_range(66.0..84.0),
        c: stream.random_range(9.0..19.0),
        h: stream.random_range(84.0..95.0),
    };
    restoration.thickness = restoration.thickness.scaled(stream.random_range(0.6..2.2));
    restoration
}

#[test]
fn a_mark_reads_what_is_stated_of_it() {
    let library = Library::shipped().unwrap();
    let (mut placed, mut worst, mut old) = (0, 0.0_f64, 0.0_f64);
    for number in 0..24 {
        let case = Case { restorations: vec![composed(number)], ..case("brown") };
        // Each is charted beside another, which differs in all.
        let other = ("B".to_owned(), composed(number + 100));
        let of = ChartCase::of(&case).unwrap();
        let chart = blend_chart(&of, "A", std::slice::from_ref(&other), &library).unwrap();
        let stated = |restoration: &Restoration| {
            let case = Case { restorations: vec![restoration.clone()], ..case.clone() };
            bake(&case, &library).unwrap().truth.unwrap().difference
        };
        for mark in &chart.tried {
            let restoration = if mark.label == "A" { &case.restorations[0] } else { &other.1 };
            let stated = stated(restoration);
            let panel = chart.panel(mark.translucency).unwrap();
            let read = chart.at(panel, mark.thickness_mm, mark.lightness).unwrap();
            assert!((read.shade.c - restoration.ceramic.shade.c).abs() < 1e-9);
            worst = worst.max((read.difference.de00 - stated.de00).abs());
            assert!(
                (read.difference.de00 - stated.de00).abs() <= BlendChart::ERROR_DE00,
                "{number} {mark:?}: reads {:?}, stated {stated:?}",
                read.difference
            );
        }
        // Nothing is passed over: what has no mark is named.
        assert_eq!(chart.tried.len() + chart.elsewhere.len(), 2);
        placed += chart.tried.len();
        // What a chart in the tooth's own chroma and hue would have read at the same place.
        let mut as_before = case.restorations[0].clone();
        let body = case.patient.teeth[0].body;
        (as_before.ceramic.shade.c, as_before.ceramic.shade.h) = (body.c.round(), body.h.round());
        let before = stated(&as_before).de00 - stated(&case.restorations[0]).de00;
        old = old.max(before.abs());
    }
    println!("{placed} marks of 48; worst {worst:.3} ΔE00; in the tooth's own colour {old:.2}");
    // All of their own chart, and hardly another.
    assert!((22..30).contains(&placed), "{placed}");
}

#[test]
fn a_chart_is_of_the_tooth_that_counts() {
    let library = Library::shipped().unwrap();
    let mut case = case("brown");
    let first = case.patient.teeth[0];
    let second = NaturalTooth {
        tooth: Tooth::new(11).unwrap(),
        body: Lch { l: first.body.l + 5.0, ..first.body },
        ..first
    };
    case.patient.teeth.push(second);
    case.restorations.push(Restoration { tooth: second.tooth, ..case.restorations[0].clone() });
    let off = |of: &ChartCase<'_>| {
        let estimator = Estimator::new(of.tooth, of.seed, of.illuminant, &library).unwrap();
        estimator.difference(of.restoration).unwrap().de00
    };
    let furthest = ChartCase::furthest(&case, &library).unwrap().unwrap();
    assert!(off(&furthest) >= off(&ChartCase::of(&case).unwrap()));
    assert_eq!(furthest.tooth.tooth, second.tooth);
}

#[test]
fn lines_lie_where_the_difference_is() {
    let library = Library::shipped().unwrap();
    let case = case("light");
    let chart = chart(&case, &library);
    let mut points = 0;
    for panel in &chart.panels {
        for (isoline, wanted) in
            panel.isolines.iter().zip([PERCEPTIBILITY_DE00, ACCEPTABILITY_DE00])
        {
            assert_eq!(isoline.de00, wanted);
            for [mm, l] in isoline.lines.iter().flatten() {
                points += 1;
                let reading = chart.at(panel, *mm, *l).unwrap();
                // Straight pieces between points a sixth of a node apart.
                assert!((reading.difference.de00 - wanted).abs() < 0.06, "{reading:?}");
            }
        }
    }
    // Over a light tooth there is a ceramic that blends in each translucency.
    assert!(points > 100, "{points}");
}

#[test]
fn over_a_dark_tooth_thin_high_translucency_never_blends() {
    // Common practice, no source.
    let library = Library::shipped().unwrap();
    let case = case("grey-brown");
    let chart = chart(&case, &library);
    let panel = chart.panel(Translucency::High).unwrap();
    for &mm in chart.axes.thickness_mm.iter().filter(|mm| **mm < 0.45) {
        let best = chart.best_shade(panel, mm).unwrap();
        assert!(best.difference.de00 > ACCEPTABILITY_DE00, "{best:?}");
    }
    // What lies beneath shows the less the more opaque the ceramic is.
    let seen = |t: Translucency| {
        let mut restoration = case.restorations[0].clone();
        restoration.ceramic.translucency = t;
        let case = Case { restorations: vec![restoration], ..case.clone() };
        chart_uncertainty(&case, &library)
    };
    let (low, high) = (seen(Translucency::Low), seen(Translucency::High));
    println!("uncertainty in shade: low {low:.2}, high {high:.2} L*");
    assert!(low < high && low > 0.0, "{low} {high}");
}

fn chart_uncertainty(case: &Case, library: &Library) -> f64 {
    chart(case, library).uncertainty.unwrap().shade_lightness
}

#[test]
fn the_axes_are_steps_in_value() {
    let library = Library::shipped().unwrap();
    let case = case("light");
    let chart = chart(&case, &library);
    let axes = &chart.axes;
    assert!(axes.shades.windows(2).all(|pair| pair[1].l - pair[0].l > 1.0));
    // The values of the lattice, in the chroma and hue of the restoration.
    let lattice = &library.ceramics().shades.lattice;
    for shade in &axes.shades {
        assert!(lattice.iter().any(|other| other.l == shade.l), "{shade:?}");
        assert_eq!((shade.c, shade.h), (15.0, 90.0));
    }
    for (i, shade) in axes.shades.iter().enumerate() {
        assert!((axes.row_of(shade.l) - i as f64).abs() < 1e-12);
    }
    assert!(axes.row_of(50.0) < 0.0 && axes.row_of(99.0) > (axes.shades.len() - 1) as f64);
    let panel = &chart.panels[0];
    assert!(chart.at(panel, 0.05, 76.0).is_none() && chart.at(panel, 0.5, 50.0).is_none());
    assert_eq!((chart.tried.len(), chart.elsewhere.len()), (1, 0));
    assert_eq!((chart.tried[0].thickness_mm, chart.tried[0].lightness), (0.5, 78.0));
}

#[test]
fn the_quick_search_agrees_in_the_middle_of_the_tooth() {
    // What the search sees is a flat stack in the middle; the estimator means the middle third,
    // with light that spreads sideways.
    let library = Library::shipped().unwrap();
    let case = case("brown");
    let restoration = case.restorations[0].clone();
    let estimator =
        Estimator::new(&case.patient.teeth[0], case.seed, case.illuminant, &library).unwrap();
    let cut = &cross_section(&case, &case.restorations[0], &library).unwrap().unwrap().cuts[1];
    let mm = |role: LayerRole| cut.layers.iter().find(|l| l.role == role).unwrap().thickness_mm;
    let prepared = library.prepared_tooth("brown").unwrap();
    let closing = Layer { medium: library.enamel(), thickness_mm: mm(LayerRole::Back) };
    let base = Base::Mouth(closing, library.mouth_reflectance());
    let tooth = [Layer { medium: &*prepared, thickness_mm: mm(LayerRole::PreparedTooth) }];
    let below = joint_reflection(library.tables(), &tooth, base, CEMENT_JOINT);
    let shades = [70.0, 76.0, 82.0].map(|l| Lch { l, c: 15.0, h: 90.0 });
    let ceramics: Vec<Medium> = shades
        .iter()
        .map(|s| *library.ceramic("lithium-disilicate", Translucency::High, *s).unwrap())
        .collect();
    let cements = [*library.cement("clear").unwrap()];
    let thicknesses_mm = [0.3, 0.5, 0.9];
    let choices = Choices {
        ceramics: &ceramics,
        thicknesses_mm: &thicknesses_mm,
        cements: &cements,
        film_mm: 0.05,
    };
    let found = colours(library.tables(), &choices, &below, (Illuminant::D65, Observer::Cie1931));
    let mut worst = 0.0_f64;
    for (i, shade) in shades.iter().enumerate() {
        for (k, mm) in thicknesses_mm.iter().enumerate() {
            let mut varied = restoration.clone();
            varied.ceramic.shade = *shade;
            varied.thickness = restoration.thickness.scaled(mm / 0.5);
            let [_, body, _] = estimator.zones(&varied).unwrap();
            worst = worst.max(ciede2000(body, found.of(i, 0, k)).de00);
        }
    }
    println!("search against the middle third: worst {worst:.3} ΔE00");
    // Below what half of observers notice (Paravina et al. 2015), so that it may guide a search,
    // and above what the chart needs, which therefore asks the estimator.
    assert!(worst < PERCEPTIBILITY_DE00, "{worst}");
}

#[test]
fn a_cut_holds_the_layers_that_were_asked_for() {
    let library = Library::shipped().unwrap();
    let case = case("grey-brown");
    let section = cross_section(&case, &case.restorations[0], &library).unwrap().unwrap();
    for (cut, mm) in section.cuts.iter().zip([0.4, 0.5, 0.7]) {
        let [ceramic, cement, prepared, back] = &cut.layers;
        // Towards the edge the prepared tooth is rounded over and the ceramic thicker.
        let room = if cut.height == CutHeight::Incisal { 0.3 } else { 0.01 };
        assert!((ceramic.thickness_mm - mm).abs() < room, "{cut:?}");
        assert!(cement.thickness_mm <= 0.05 + 1e-12 && cement.thickness_mm > 0.03, "{cut:?}");
        assert!(prepared.thickness_mm > 0.2 && back.thickness_mm > 0.0, "{cut:?}");
        let shares: f64 = cut.layers.iter().map(|l| l.light_share).sum();
        assert!((shares - 1.0).abs() < 1e-9, "{shares}");
        // Steps of lightness and chroma add up to the colour.
        let lightness: f64 = cut.layers.iter().map(|l| l.change[0]).sum();
        let chroma: f64 = cut.layers.iter().map(|l| l.change[1]).sum();
        assert!((lightness - cut.colour.l).abs() < 1e-6 && (chroma - cut.colour.c).abs() < 1e-6);
        assert_eq!(cut.layers[0].colour, cut.colour);
        // Dark prepared tooth: the ceramic lightens it.
        assert!(ceramic.change[0] > 3.0, "{cut:?}");
    }
    let thickness: Vec<f64> = section.cuts.iter().map(|c| c.layers[0].light_share).collect();
    assert!(thickness[0] < thickness[1], "more ceramic returns more: {thickness:?}");
    let mut hidden = case.clone();
    hidden.patient.teeth.clear();
    assert!(cross_section(&hidden, &case.restorations[0], &library).unwrap().is_none());
}

#[test]
fn greys_have_no_hue_to_change() {
    let library = Library::shipped().unwrap();
    let (mut told, mut most, mut none) = (0, 0.0_f64, 0);
    for prepared in library.tissues().prepared_teeth.iter() {
        for light in [Illuminant::D65, Illuminant::A] {
            let case = Case { illuminant: light, ..case(&prepared.id) };
            let section = cross_section(&case, &case.restorations[0], &library).unwrap().unwrap();
            for cut in &section.cuts {
                for (i, pair) in cut.layers.windows(2).enumerate() {
                    let change = cut.hue_change(i);
                    let [here, below] = [pair[0].colour, pair[1].colour];
                    assert_eq!(
                        change.is_some(),
                        here.c >= 6.0 && below.c >= 6.0,
                        "{here:?} {below:?}"
                    );
                    match change {
                        Some(turn) => {
                            told += 1;
                            if turn.abs() > most {
                                most = turn.abs();
                                println!("{}: {below:?} to {here:?}: {turn:.1}", prepared.id);
                            }
                        }
                        None => none += 1,
                    }
                }
                assert_eq!(cut.hue_change(3), None, "the back counts from black");
            }
        }
    }
    println!("{told} told, at most {most:.1}; {none} from or to a grey");
    // Enamel over the dark of the mouth is grey: laying the tooth on it turned "−155.9°".
    assert!(told > 0 && none >= 2 * 3 * library.tissues().prepared_teeth.len());
    // What is told is a change that can be seen as one: no colour turns into its opposite.
    assert!(most < 45.0, "{most}");
}
