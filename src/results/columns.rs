//! The columns of the exports and what they mean.

/// One column of the export.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Name in the header.
    pub name: &'static str,
    /// Unit or type.
    pub unit: &'static str,
    /// What it holds.
    pub meaning: &'static str,
    /// SQL expression over `trial` or `answer` joined with `session`.
    pub(super) sql: &'static str,
}

const fn stored(name: &'static str, unit: &'static str, meaning: &'static str) -> Column {
    Column { name, unit, meaning, sql: name }
}

const fn derived(
    name: &'static str,
    unit: &'static str,
    meaning: &'static str,
    sql: &'static str,
) -> Column {
    Column { name, unit, meaning, sql }
}

const LEARNER: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.learner') END"
);
const COURSE: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.course') END"
);
const PHASE: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.phase') END"
);
const FORM: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.form') END"
);
const SEAT: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.seat') END"
);
const FACTOR: &str = concat!(
    "CASE WHEN json_valid(session.settings) THEN ",
    "json_extract(session.settings, '$.course.response_factor') END"
);
const FOCUS_LOST: &str = "(SELECT count(*) FROM sitting_log l
    WHERE l.session = trial.session AND l.trial = trial.trial AND l.event = 'focus_lost')";
const AWAY: &str = "(SELECT sum(away_s) FROM sitting_log l
    WHERE l.session = trial.session AND l.trial = trial.trial AND l.event = 'resumed')";
const CUT_OFF: &str = "(SELECT count(*) FROM sitting_log l
    WHERE l.session = trial.session AND l.trial = trial.trial AND l.event = 'cut_off')";
const COUNTS: &str = "(SELECT counts FROM temp.counted_sitting c WHERE c.session = trial.session)";
const COUNTS_WHY: &str = "(SELECT why FROM temp.counted_sitting c WHERE c.session = trial.session)";
const MISSED: &str = "(SELECT missed FROM measured_trial m
    WHERE m.session = trial.session AND m.trial = trial.trial)";
const MEASURED_HZ: &str = "(SELECT refresh_hz_now FROM measured_trial m
    WHERE m.session = trial.session AND m.trial = trial.trial)";
const MEASURED_ELAPSED: &str = "(SELECT elapsed_s FROM measured_trial m
    WHERE m.session = trial.session AND m.trial = trial.trial)";
const REPEAT_OF: &str = "json_extract(answer.truth, '$.measured.repeat_of')";

/// Every column of the export, in order. A missing value is `n/a`.
pub const COLUMNS: &[Column] = &[
    derived("onset", "s", "picture onset, since the run began", "t_on"),
    derived("duration", "s", "picture onset to mask onset", "t_mask - t_on"),
    derived("session", "id", "session number in this store", "trial.session"),
    derived("date", "day", "day the session began, UTC", "substr(session.started_at, 1, 10)"),
    derived("build", "text", "version of the program", "session.build"),
    derived("learner_id", "hex", "random id of the learner, in a course", LEARNER),
    derived("course", "text", "course id", COURSE),
    derived("phase", "pre/post/delayed/only", "when in the course a form was sat", PHASE),
    derived("form_id", "text", "form of the course", FORM),
    derived("seat", "int", "0-based seat; decides the order of a form's items", SEAT),
    derived("response_factor", "factor", "granted longer time to answer; 0 unlimited", FACTOR),
    stored("run", "int", "1, and one more each time the session was resumed"),
    stored("block", "int", "0-based block"),
    stored("trial", "int", "0-based trial in the session"),
    stored("trial_kind", "signal/catch", "whether a tooth was restored"),
    derived("task", "text", "exercise", "trial.task"),
    derived("mode", "text", "practice, measure or exam", "trial.mode"),
    derived("level", "text", "level id", "trial.level"),
    stored("seed_key", "text", "what names the trial's random streams: level/seed/block/trial"),
    stored("scene_seed", "int", "seed of shapes and texture"),
    stored("n_teeth", "int", "teeth that could be answered"),
    stored("target_pos", "int", "restored tooth, 1 at the viewer's left, 0 none"),
    stored("target_tooth", "ISO 3950", "restored tooth"),
    stored("x_de00", "CIEDE2000", "restored tooth to its natural twin, zone-weighted"),
    derived("dL00", "CIEDE2000", "signed lightness part, negative when darker", "dl00"),
    derived("dC00", "CIEDE2000", "signed chroma part", "dc00"),
    derived("dH00", "CIEDE2000", "signed hue part", "dh00"),
    stored("drawn_de00", "CIEDE2000", "as x_de00, in the pictures before rounding to 8 bit"),
    stored("shown_de00", "CIEDE2000", "as x_de00, in the 8-bit pixels of the pictures shown"),
    derived("shown_dL00", "CIEDE2000", "signed lightness part of shown_de00", "shown_dl00"),
    derived("shown_dC00", "CIEDE2000", "signed chroma part of shown_de00", "shown_dc00"),
    derived("shown_dH00", "CIEDE2000", "signed hue part of shown_de00", "shown_dh00"),
    stored("x_zone", "json", "CIEDE2000 to the twin: cervical, body, incisal third"),
    stored("x_percentiles", "json", "5th, 50th, 95th percentile of the CIEDE2000 map"),
    stored("contralateral_de00", "CIEDE2000", "restored tooth to the same tooth opposite"),
    stored("u_resid", "json", "natural residual of each tooth, viewer's left to right"),
    stored("recipe", "json", "preparation, ceramic, thickness, cement, prepared tooth"),
    stored("light", "text", "CIE illuminant"),
    stored("exposure_req", "frames", "exposure asked for, refresh periods"),
    stored("exposure_actual", "frames", "frames shown"),
    stored("frame_ms_max", "ms", "longest frame of the exposure"),
    stored("dropped", "int", "refreshes without a new frame during the exposure"),
    derived("refresh_hz", "Hz", "refresh rate the frames were counted at", "trial.refresh_hz"),
    stored("t_fix", "s", "fixation onset, since the run began"),
    stored("t_on", "s", "picture onset"),
    stored("t_mask", "s", "mask onset; the response window opens"),
    stored("t_resp", "s", "answer"),
    stored("response", "tooth/none/timeout", "the answer"),
    stored("response_pos", "int", "tooth answered, 1 at the viewer's left"),
    stored("response_tooth", "ISO 3950", "tooth answered"),
    stored("response_time", "s", "mask onset to answer, to one frame"),
    stored("input_device", "text", "pointer, keyboard or simulated"),
    stored("verdict", "text", "found, wrong_tooth, missed, false_alarm, correctly_none, timed_out"),
    derived("elapsed", "s", "measuring time before the trial's end, all runs", MEASURED_ELAPSED),
    derived("refresh_hz_now", "Hz", "refresh rate estimated anew at the trial's end", MEASURED_HZ),
    derived("missed", "text", "why a measured trial does not count and was shown again", MISSED),
    stored("timeout", "0/1", "the window closed without an answer"),
    derived("focus_lost", "int", "times another window got the keyboard meanwhile", FOCUS_LOST),
    derived("away", "s", "time away from the sitting just before, in an exam", AWAY),
    derived("sitting_counts", "0/1", "whether reports count this sitting of a form", COUNTS),
    derived("sitting_counts_why", "text", "why, where a learner sat a phase twice", COUNTS_WHY),
    derived("cut_off", "0/1", "the program ended while it was on; not shown again", CUT_OFF),
];

/// Every column of the export of answers to questions, in order. A missing value is `n/a`.
pub const ANSWER_COLUMNS: &[Column] = &[
    derived("onset", "s", "all smiles of the question there, since the run began", "t_shown"),
    derived("duration", "s", "until the answer", "t_answer - t_shown"),
    derived("session", "id", "session number in this store", "answer.session"),
    derived("date", "day", "day the session began, UTC", "substr(session.started_at, 1, 10)"),
    derived("build", "text", "version of the program", "session.build"),
    derived("learner_id", "hex", "random id of the learner, in a course", LEARNER),
    derived("course", "text", "course id", COURSE),
    derived("phase", "pre/post/delayed/only", "when in the course it was asked", PHASE),
    derived("seat", "int", "0-based seat in the course", SEAT),
    stored("run", "int", "1, and one more each time the session was resumed"),
    stored("number", "int", "0-based question in the session"),
    derived("task", "text", "exercise", "answer.task"),
    derived("mode", "text", "practice, measure or rehearsal", "answer.mode"),
    derived("level", "text", "level id", "answer.level"),
    stored("seed_key", "text", "what names the question's random streams: level/seed/0/number"),
    stored(
        "is_catch",
        "0/1",
        "whether it is a catch: none acceptable, no effect, not offered, a tie, a natural tooth",
    ),
    stored("light", "text", "CIE illuminant of the first smile"),
    stored("sights", "json", "smiles that could be looked at: name, seed, light, restorations"),
    stored("truth", "json", "options with their differences, the best, the acceptable"),
    derived("repeat_of", "int", "question that this one asks again, mirrored", REPEAT_OF),
    derived("response", "json", "the answer", "answer.answer"),
    stored("score", "0..100", "how good the answer was; n/a where it counts neither way"),
    stored("regret_de00", "CIEDE2000", "how much worse than the best that could be had"),
    stored("correct", "0/1", "whether it was right, where there is right and wrong"),
    stored("t_shown", "s", "question onset, since the run began"),
    stored("t_answer", "s", "answer"),
    stored("response_time", "s", "question onset to answer, without pauses, to one frame"),
    stored("input_device", "text", "pointer, keyboard or simulated"),
];
