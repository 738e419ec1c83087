//! The truth: how far the restored tooth is from its twin.

use crate::bake::map::{BakedTooth, Condition, ReflectanceMap, Truth, ZoneDifference};
use crate::colorimetry::{Lab, ciede2000};
use crate::scene::Tooth;

/// Weights of the cervical, body and incisal third in the whole difference. A setting of this
/// program: the body weighs most because it is what a glance lands on.
pub const ZONE_WEIGHTS: [f64; 3] = [0.3, 0.5, 0.2];

/// Mean colours of the three thirds of a face given as linear sRGB at `width × height` texels.
pub(crate) fn zone_means(
    width: usize,
    height: usize,
    texel: impl Fn(usize, usize) -> [f64; 3],
) -> [Lab; 3] {
    let mut sums = [[0.0; 3]; 3];
    let mut counts = [0_u32; 3];
    for row in 0..height {
        let zone = (3 * row / height).min(2);
        for column in 0..width {
            let value = texel(column, row);
            for channel in 0..3 {
                sums[zone][channel] += value[channel];
            }
            counts[zone] += 1;
        }
    }
    std::array::from_fn(|zone| {
        Lab::from_linear_srgb(sums[zone].map(|sum| sum / f64::from(counts[zone].max(1))))
    })
}

pub(crate) fn map_zones(map: &ReflectanceMap) -> [Lab; 3] {
    zone_means(map.width, map.height, |x, y| map.texel(x, y).map(f64::from))
}

/// Differences of the three thirds, second minus first.
pub(crate) fn by_zone(natural: &[Lab; 3], restored: &[Lab; 3]) -> [ZoneDifference; 3] {
    std::array::from_fn(|zone| {
        let difference = ciede2000(natural[zone], restored[zone]);
        ZoneDifference {
            de00: difference.de00,
            dl00: difference.dl00,
            dc00: difference.dc00,
            dh00: difference.dh00,
        }
    })
}

impl ZoneDifference {
    /// The zone-weighted difference of a tooth whose thirds (cervical, middle, incisal) have these
    /// colours, restored minus natural.
    #[must_use]
    pub fn of_thirds(natural: &[Lab; 3], restored: &[Lab; 3]) -> Self {
        weighted(&by_zone(natural, restored))
    }
}

/// The zone-weighted difference: totals and signed parts are weighted alike.
pub(crate) fn weighted(zones: &[ZoneDifference; 3]) -> ZoneDifference {
    let sum = |part: fn(&ZoneDifference) -> f64| {
        zones.iter().zip(ZONE_WEIGHTS).map(|(zone, weight)| weight * part(zone)).sum()
    };
    ZoneDifference {
        de00: sum(|z| z.de00),
        dl00: sum(|z| z.dl00),
        dc00: sum(|z| z.dc00),
        dh00: sum(|z| z.dh00),
    }
}

/// 5th, 50th and 95th percentile of the texel-wise difference.
fn percentiles(natural: &ReflectanceMap, restored: &ReflectanceMap) -> [f64; 3] {
    let lab = |texel: &[f32; 3]| Lab::from_linear_srgb(texel.map(f64::from));
    // Every fourth texel each way: the maps vary over several texels.
    let mut differences: Vec<f64> = (0..natural.height)
        .step_by(4)
        .flat_map(|y| (0..natural.width).step_by(4).map(move |x| (x, y)))
        .map(|(x, y)| ciede2000(lab(&natural.texel(x, y)), lab(&restored.texel(x, y))).de00)
        .collect();
    differences.sort_by(f64::total_cmp);
    let last = differences.len().saturating_sub(1);
    [0.05, 0.5, 0.95].map(|share| differences[(share * last as f64).round() as usize])
}

pub(crate) fn of_maps(tooth: Tooth, teeth: &[BakedTooth]) -> Option<Truth> {
    let baked = teeth.iter().find(|t| t.tooth == tooth)?;
    let restored = baked.restored.as_ref()?;
    let restored_zones = map_zones(restored);
    let zones = by_zone(&map_zones(&baked.natural), &restored_zones);
    let contralateral = teeth
        .iter()
        .find(|t| t.tooth == tooth.contralateral())
        .map(|other| by_zone(&map_zones(other.map(Condition::Twin)), &restored_zones))
        .map(|zones| weighted(&zones))
        .unwrap_or_default();
    Some(Truth {
        tooth,
        difference: weighted(&zones),
        zones,
        percentiles: percentiles(&baked.natural, restored),
        contralateral,
    })
}
