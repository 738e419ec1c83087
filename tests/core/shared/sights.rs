//! What simulated observers are shown.

use second_glance::psychophysics::{Direction, SeenDifference, Sight};
use second_glance::scene::Tooth;

/// Ten teeth, all alike.
pub fn nothing() -> Sight {
    sight(10, None)
}

/// `n` teeth without natural variation; the second differs by `x` in a direction.
pub fn sight(n: usize, differs: Option<(Direction, f64)>) -> Sight {
    let teeth = Tooth::arch(n);
    let signal = differs.map(|(direction, x)| SeenDifference::on_axis(teeth[1], direction, x));
    Sight { residuals_de00: vec![0.0; n], teeth, signal, exposure_s: 2.5, trial: 0 }
}
