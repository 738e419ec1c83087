//! tmp
use second_glance::colorimetry::*;
use second_glance::optics::*;
use second_glance::spectrum::Spectrum;
#[test]
fn grid() {
    let mut n = 0;
    let mut fails = std::collections::BTreeMap::new();
    let mut maxit = 0;
    let mut worst = 0.0f64;
    let t0 = std::time::Instant::now();
    let mut tmax = 0.0f64;
    let mut tfail = 0.0f64;
    for backing in [0.03, 0.25, 0.5, 0.88] {
        let back = Spectrum::constant(backing);
        for th in [0.5, 1.0, 2.0, 4.0] {
            for l in [40., 50., 60., 70., 75., 80., 85., 90.] {
                for c in [4., 8., 16., 24., 32.] {
                    for h in [70., 80., 85., 90., 95., 100.] {
                        for cr in [0.35, 0.5, 0.6, 0.7, 0.8, 0.9] {
                            let t = DesignTarget {
                                colour: Lch { l, c, h },
                                thickness_mm: th,
                                backing: &back,
                                interface: Interface::between_air_and(1.5),
                                translucency: TranslucencyTarget::ContrastRatio {
                                    value: cr,
                                    thickness_mm: 1.0,
                                },
                                scattering_exponent: 1.2,
                                refractive_index: 1.5,
                            };
                            n += 1;
                            let t1 = std::time::Instant::now();
                            let r = design::design(&t);
                            let e = t1.elapsed().as_secs_f64();
                            match r {
                                Ok(d) => {
                                    maxit = maxit.max(d.iterations);
                                    worst = worst.max(d.residual);
                                    tmax = tmax.max(e);
                                }
                                Err(e2) => {
                                    tfail = tfail.max(e);
                                    *fails
                                        .entry(format!("b{backing} t{th} L{l} CR{cr}"))
                                        .or_insert(0) += 1;
                                    if (n % 97) == 0 {
                                        println!("{l} {c} {h} b{backing} t{th} cr{cr}: {e2}");
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
    println!(
        "n {n} fails {} maxit {maxit} worst {worst:e} tmax {tmax} tfail {tfail} total {}",
        fails.values().sum::<i32>(),
        t0.elapsed().as_secs_f64()
    );
    for (k, v) in &fails {
        println!("{k}: {v}/30");
    }
    let mut f = 0;
    let mut nn = 0;
    for l in [30., 40., 50., 60., 70., 80., 85., 90., 94.] {
        for c in [4., 8., 16., 24., 32.] {
            for h in [60., 70., 80., 85., 90., 95., 100., 105.] {
                nn += 1;
                if let Err(e) = ReflectanceShape::fit(Lch { l, c, h }) {
                    f += 1;
                    println!("fit {l} {c} {h} {e}");
                }
            }
        }
    }
    println!("fits {nn} fails {f}");
}
