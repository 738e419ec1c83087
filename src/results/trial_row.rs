//! One stored trial.

use crate::bake::{PictureDifference, Truth, ZoneDifference};
use crate::scene::{AxisChange, Restoration, Tooth};
use crate::trial::{
    Exposure, InputDevice, Onsets, Plan, PlannedTrial, Response, TrialKind, TrialOutcome, Verdict,
};
use serde_json::{Value, json};

/// Everything stored about one trial. [`COLUMNS`](crate::results::COLUMNS) says what each
/// exported column means.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialRow {
    /// How the trial went.
    pub outcome: TrialOutcome,
    /// The exercise, such as `glance`.
    pub task: String,
    /// The mode, such as `practice`.
    pub mode: String,
    /// The level's id.
    pub level: String,
    /// What names the trial's random streams: `level/seed/block/trial`.
    pub seed_key: String,
    /// Seed of shapes and texture.
    pub scene_seed: u64,
    /// Teeth that could be answered.
    pub n_teeth: u32,
    /// Position of the restored tooth among them, 1 at the viewer's left, 0 for none.
    pub target_pos: u32,
    /// Position of the tooth that was answered, 1 at the viewer's left.
    pub response_pos: Option<u32>,
    /// Restored minus twin, over the tooth; `None` without a restoration.
    pub difference: Option<ZoneDifference>,
    /// Restored minus twin in the pictures as drawn, before rounding to 8 bit, ΔE00; `None` where
    /// no pictures were drawn.
    pub drawn_de00: Option<f64>,
    /// Restored minus twin in the 8-bit pixels shown.
    pub shown: Option<ZoneDifference>,
    /// ΔE00 per third: cervical, body, incisal.
    pub zones_de00: Option<[f64; 3]>,
    /// 5th, 50th and 95th percentile of the texel-wise ΔE00.
    pub percentiles_de00: Option<[f64; 3]>,
    /// ΔE00 to the same tooth on the other side.
    pub contralateral_de00: Option<f64>,
    /// Residual of each tooth that could be answered from the norm of its position, ΔE00.
    pub residuals_de00: Vec<f64>,
    /// The restoration, as JSON.
    pub recipe: Option<Value>,
    /// The light, such as `D65`.
    pub light: String,
}

/// Writes one row.
const INSERT: &str = "INSERT INTO trial (
    session, run, block, trial, trial_kind, task, mode, level, seed_key,
    scene_seed, n_teeth, target_pos, target_tooth, x_de00, dl00, dc00, dh00,
    x_zone, x_percentiles, contralateral_de00, u_resid, recipe, light,
    exposure_req, exposure_actual, frame_ms_max, dropped, refresh_hz,
    t_fix, t_on, t_mask, t_resp, response, response_pos, response_tooth,
    response_time, verdict, timeout, input_device, drawn_de00,
    shown_de00, shown_dl00, shown_dc00, shown_dh00
) VALUES (
    :session, :run, :block, :trial, :trial_kind, :task, :mode, :level, :seed_key,
    :scene_seed, :n_teeth, :target_pos, :target_tooth, :x_de00, :dl00, :dc00, :dh00,
    :x_zone, :x_percentiles, :contralateral_de00, :u_resid, :recipe, :light,
    :exposure_req, :exposure_actual, :frame_ms_max, :dropped, :refresh_hz,
    :t_fix, :t_on, :t_mask, :t_resp, :response, :response_pos, :response_tooth,
    :response_time, :verdict, :timeout, :input_device, :drawn_de00,
    :shown_de00, :shown_dl00, :shown_dc00, :shown_dh00
)";

impl TrialRow {
    /// The row of a finished Glance trial. `truth` is that of the case shown, `None` for a smile
    /// without a restoration; `mode` is stored as given.
    #[must_use]
    pub fn glance(
        plan: &Plan,
        mode: &str,
        planned: &PlannedTrial,
        outcome: &TrialOutcome,
        truth: Option<&Truth>,
    ) -> Self {
        let case = &planned.case;
        let position = |tooth: Tooth| {
            plan.teeth.iter().position(|t| *t == tooth).map(|index| index as u32 + 1)
        };
        let residual = |tooth: &Tooth| {
            let natural = case.patient.teeth.iter().find(|t| t.tooth == *tooth);
            natural.map_or(0.0, |t| t.residual_de00)
        };
        Self {
            outcome: *outcome,
            task: "glance".to_owned(),
            mode: mode.to_owned(),
            level: plan.level_id.clone(),
            seed_key: format!(
                "{}/{}/{}/{}",
                plan.level_id, plan.seed, planned.block, planned.trial
            ),
            scene_seed: case.seed,
            n_teeth: plan.teeth.len() as u32,
            target_pos: outcome.restored.and_then(position).unwrap_or(0),
            response_pos: match outcome.response {
                Response::Tooth(tooth) => position(tooth),
                Response::None | Response::Timeout => None,
            },
            difference: truth.map(|t| t.difference),
            drawn_de00: None,
            shown: None,
            zones_de00: truth.map(|t| t.zones.map(|zone| zone.de00)),
            percentiles_de00: truth.map(|t| t.percentiles),
            contralateral_de00: truth.map(|t| t.contralateral.de00),
            residuals_de00: plan.teeth.iter().map(residual).collect(),
            recipe: case.restoration().map(recipe).or_else(|| case.shift.map(shift)),
            light: json!(case.illuminant).as_str().unwrap_or_default().to_owned(),
        }
    }

    /// The row with what the pictures of the trial showed.
    #[must_use]
    pub fn with_pictures(mut self, difference: Option<PictureDifference>) -> Self {
        self.drawn_de00 = difference.map(|d| d.drawn.de00);
        self.shown = difference.map(|d| d.shown);
        self
    }

    /// Writes the row for `session`. `id` is left to the file.
    pub(super) fn insert(
        &self,
        connection: &rusqlite::Connection,
        session: i64,
        run: u32,
    ) -> rusqlite::Result<()> {
        let outcome = &self.outcome;
        let (response, response_tooth) = match outcome.response {
            Response::Tooth(tooth) => ("tooth", Some(tooth.number())),
            Response::None => ("none", None),
            Response::Timeout => ("timeout", None),
        };
        let text = |values: Option<[f64; 3]>| values.map(|v| json!(v).to_string());
        connection.prepare_cached(INSERT)?.execute(rusqlite::named_params! {
            ":session": session,
            ":run": run,
            ":block": outcome.block,
            ":trial": outcome.trial,
            ":trial_kind": outcome.kind.name(),
            ":task": self.task,
            ":mode": self.mode,
            ":level": self.level,
            ":seed_key": self.seed_key,
            ":scene_seed": self.scene_seed.to_string(),
            ":n_teeth": self.n_teeth,
            ":target_pos": self.target_pos,
            ":target_tooth": outcome.restored.map(Tooth::number),
            ":x_de00": self.difference.map(|d| d.de00),
            ":dl00": self.difference.map(|d| d.dl00),
            ":dc00": self.difference.map(|d| d.dc00),
            ":dh00": self.difference.map(|d| d.dh00),
            ":x_zone": text(self.zones_de00),
            ":x_percentiles": text(self.percentiles_de00),
            ":contralateral_de00": self.contralateral_de00,
            ":u_resid": json!(self.residuals_de00).to_string(),
            ":recipe": self.recipe.as_ref().map(Value::to_string),
            ":light": self.light,
            ":exposure_req": outcome.exposure.requested_frames,
            ":exposure_actual": outcome.exposure.shown_frames,
            ":frame_ms_max": outcome.exposure.longest_frame_ms,
            ":dropped": outcome.exposure.dropped_frames,
            ":refresh_hz": outcome.exposure.refresh_hz,
            ":t_fix": outcome.onsets.fixation_s,
            ":t_on": outcome.onsets.onset_s,
            ":t_mask": outcome.onsets.mask_s,
            ":t_resp": outcome.onsets.response_s,
            ":response": response,
            ":response_pos": self.response_pos,
            ":response_tooth": response_tooth,
            ":response_time": outcome.response_time_s,
            ":verdict": outcome.verdict.name(),
            ":timeout": outcome.response == Response::Timeout,
            ":input_device": outcome.input_device.map(InputDevice::name),
            ":drawn_de00": self.drawn_de00,
            ":shown_de00": self.shown.map(|d| d.de00),
            ":shown_dl00": self.shown.map(|d| d.dl00),
            ":shown_dc00": self.shown.map(|d| d.dc00),
            ":shown_dh00": self.shown.map(|d| d.dh00),
        })?;
        Ok(())
    }

    /// Reads a row of `SELECT * FROM trial`.
    pub(super) fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<Self> {
        let restored = tooth(row, "target_tooth")?;
        let response = match row.get::<_, String>("response")?.as_str() {
            "tooth" => Response::Tooth(
                tooth(row, "response_tooth")?
                    .ok_or_else(|| unreadable("response_tooth", "NULL"))?,
            ),
            "none" => Response::None,
            "timeout" => Response::Timeout,
            other => return Err(unreadable("response", other)),
        };
        let kind = match row.get::<_, String>("trial_kind")?.as_str() {
            "signal" => TrialKind::Signal,
            "catch" => TrialKind::Catch,
            other => return Err(unreadable("trial_kind", other)),
        };
        let input_device = match row.get::<_, Option<String>>("input_device")? {
            None => None,
            Some(name) => Some(device_named(&name)?),
        };
        let to_twin = difference(row, ["x_de00", "dl00", "dc00", "dh00"])?;
        let shown = difference(row, ["shown_de00", "shown_dl00", "shown_dc00", "shown_dh00"])?;
        let scene_seed: String = row.get("scene_seed")?;
        Ok(Self {
            outcome: TrialOutcome {
                trial: row.get("trial")?,
                block: row.get("block")?,
                kind,
                restored,
                response,
                verdict: Verdict::of(restored, response),
                response_time_s: row.get("response_time")?,
                exposure: Exposure {
                    requested_frames: row.get("exposure_req")?,
                    shown_frames: row.get("exposure_actual")?,
                    longest_frame_ms: row.get("frame_ms_max")?,
                    dropped_frames: row.get("dropped")?,
                    refresh_hz: row.get("refresh_hz")?,
                },
                input_device,
                onsets: Onsets {
                    fixation_s: row.get("t_fix")?,
                    onset_s: row.get("t_on")?,
                    mask_s: row.get("t_mask")?,
                    response_s: row.get("t_resp")?,
                },
            },
            task: row.get("task")?,
            mode: row.get("mode")?,
            level: row.get("level")?,
            seed_key: row.get("seed_key")?,
            scene_seed: scene_seed.parse().map_err(|_| unreadable("scene_seed", &scene_seed))?,
            n_teeth: row.get("n_teeth")?,
            target_pos: row.get("target_pos")?,
            response_pos: row.get("response_pos")?,
            difference: to_twin,
            drawn_de00: row.get("drawn_de00")?,
            shown,
            zones_de00: parsed(row, "x_zone")?,
            percentiles_de00: parsed(row, "x_percentiles")?,
            contralateral_de00: row.get("contralateral_de00")?,
            residuals_de00: parsed(row, "u_resid")?.unwrap_or_default(),
            recipe: parsed(row, "recipe")?,
            light: row.get("light")?,
        })
    }
}

/// A restoration as it is stored.
pub(super) fn recipe(restoration: &Restoration) -> Value {
    let mut recipe = json!({
        "preparation": restoration.preparation,
        "ceramic": restoration.ceramic,
        "thickness": restoration.thickness,
        "cement": restoration.cement,
        "cement_film_mm": restoration.cement_film_mm,
        "prepared_tooth": restoration.prepared_tooth,
    });
    if let (Some(drift), Value::Object(fields)) = (restoration.drift, &mut recipe) {
        fields.insert("drift".to_owned(), json!(drift));
    }
    recipe
}

fn shift(change: AxisChange) -> Value {
    match change {
        AxisChange::BuildUp(build_up) => json!({ "build_up": build_up.masses }),
        AxisChange::Shift(shift) => json!({ "spectral_shift": shift.thirds }),
    }
}

/// A difference from its four columns; `NULL` in the first means that there is none.
fn difference(
    row: &rusqlite::Row<'_>,
    [de00, dl00, dc00, dh00]: [&str; 4],
) -> rusqlite::Result<Option<ZoneDifference>> {
    let Some(de00) = row.get(de00)? else { return Ok(None) };
    let (dl00, dc00, dh00) = (row.get(dl00)?, row.get(dc00)?, row.get(dh00)?);
    Ok(Some(ZoneDifference { de00, dl00, dc00, dh00 }))
}

fn tooth(row: &rusqlite::Row<'_>, column: &str) -> rusqlite::Result<Option<Tooth>> {
    let Some(number) = row.get::<_, Option<u8>>(column)? else { return Ok(None) };
    Tooth::new(number).map(Some).map_err(|_| unreadable(column, &number.to_string()))
}

pub(super) fn parsed<T: serde::de::DeserializeOwned>(
    row: &rusqlite::Row<'_>,
    column: &str,
) -> rusqlite::Result<Option<T>> {
    let Some(text) = row.get::<_, Option<String>>(column)? else { return Ok(None) };
    serde_json::from_str(&text).map(Some).map_err(|_| unreadable(column, &text))
}

pub(super) fn device_named(name: &str) -> rusqlite::Result<InputDevice> {
    match name {
        "pointer" => Ok(InputDevice::Pointer),
        "keyboard" => Ok(InputDevice::Keyboard),
        "simulated" => Ok(InputDevice::Simulated),
        other => Err(unreadable("input_device", other)),
    }
}

/// A value no version of this program writes.
pub(super) fn unreadable(column: &str, value: &str) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(
        0,
        rusqlite::types::Type::Text,
        format!("column {column} holds {value:?}, which is not a value it can have").into(),
    )
}
