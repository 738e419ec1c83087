//! Test: a course's teeth are called the same wherever they are called anything.

use crate::app::room::lecture::screen::truth_in_words;
use crate::app::ui::blend_chart::BlendChartView;
use crate::app::ui::cross_section;
use crate::app::ui::debrief_picture::overlays;
use crate::app::ui::tooth_row::ToothRow;
use crate::bake::ZoneDifference;
use crate::bake::cross_section::CrossSection;
use crate::chart::{Axes, BlendChart};
use crate::colorimetry::{Illuminant, Lab, Lch};
use crate::course::{CourseData, FormSitting, ItemAnswer, ShownForm, ShownItem};
use crate::exercise::{Answer, Question, Round, Sight, Task, VerdictAnswer, VerdictTask};
use crate::lecture::{LecturePart, LectureRecord, Tally};
use crate::level::course_format::{Course, Phase, ToothNames};
use crate::play::frames::FrameTimes;
use crate::play::lecture::{Lecture, Line, ballot_of, ballot_of_question, truth_of};
use crate::play::naming::{Naming, verdict_in_words};
use crate::play::picture::{Picture, ToothOutline};
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::start::{LaidOut, Opened, Opening, Place, SessionOptions, Start};
use crate::play::view::{DebriefView, Showing, Side};
use crate::play::wanted::PartWanted;
use crate::psychophysics::Direction;
use crate::report::{CourseReportOptions, course_report};
use crate::results::Counted;
use crate::scene::{Case, NaturalTooth, Patient, Preparation, Staging, Tooth};
use crate::trial::{
    Exposure, InputDevice, Onsets, Plan, Response, Timing, TrialKind, TrialOutcome, Verdict,
};

/// Teeth in view. The three systems of numbers give three numbers to each of them.
fn teeth() -> Vec<Tooth> {
    Tooth::arch(10)
}

const DIFFERENCE: ZoneDifference = ZoneDifference { de00: 7.75, dl00: -7.5, dc00: 0.5, dh00: 0.25 };

fn course(names: &str) -> Course {
    let text = format!(
        r#"(format: 1, id: "c", title: "Course", teaches: "Look.", minutes: 20, mode: Lecture,
            tooth_names: {names}, exposure_s: 2.5, response_s: 6,
            accommodation: (most_response_factor: 1, may_be_untimed: false), forms: [], steps: [])"#
    );
    ron::from_str(&text).unwrap()
}

fn plan() -> Plan {
    Plan {
        level_id: "level".to_owned(),
        title: String::new(),
        teaches: String::new(),
        seed: 1,
        teeth: teeth(),
        timing: Timing::default(),
        trials: Vec::new(),
    }
}

/// Questions on a tooth: a restoration, and the tooth left natural.
fn round(tooth: Tooth) -> Round {
    let body = Lch { l: 78.0, c: 14.0, h: 88.0 };
    let natural = |tooth| NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    let case = Case {
        seed: 1,
        patient: Patient { teeth: teeth().into_iter().map(natural).collect(), gingiva: body },
        restorations: Vec::new(),
        shift: None,
        illuminant: Illuminant::D65,
        staging: Staging::default(),
    };
    let question = |is_natural| {
        let difference = if is_natural { ZoneDifference::default() } else { DIFFERENCE };
        let task = VerdictTask { tooth, exposure_s: 1.0, is_natural, difference, cause: None };
        Question {
            number: u32::from(is_natural),
            seed_key: String::new(),
            catch: is_natural,
            sights: vec![Sight { name: "Smile".to_owned(), case: case.clone() }],
            task: Task::Verdict(task),
        }
    };
    Round {
        level_id: "level".to_owned(),
        title: String::new(),
        teaches: String::new(),
        exercise: "verdict",
        seed: 1,
        questions: [false, true].map(question).to_vec(),
    }
}

/// A step of a course's lecture, as it is opened there.
fn opened(lecture: &Lecture, laid_out: LaidOut) -> Opened {
    let folder = tempfile::tempdir().unwrap();
    let opening = Opening {
        refresh_hz: 60.0,
        options: SessionOptions::default(),
        records: &Records::open(Some(folder.path())).unwrap(),
        frames: &FrameTimes::default(),
    };
    let level = "level".to_owned();
    let wanted = PartWanted::Practice { level, trials: None, sitting: None, begun: None };
    let (wanted, place) = (Start::Part(Box::new(wanted)), Place::of(Some(lecture), None));
    opening.open(&wanted, laid_out, place, &mut Problem::default()).unwrap()
}

fn session(lecture: &Lecture) -> Session {
    match opened(lecture, LaidOut::Plan(plan(), None)) {
        Opened::Session(session) => *session,
        Opened::Round(_) => panic!("a plan is opened as a session"),
    }
}

fn exercising(lecture: &Lecture, tooth: Tooth) -> Exercising {
    match opened(lecture, LaidOut::Round(round(tooth), None)) {
        Opened::Round(round) => *round,
        Opened::Session(_) => panic!("a round is opened as an exercise"),
    }
}

/// A smile in which `restored` is, answered by `answered`.
fn outcome(restored: Option<Tooth>, answered: Response) -> TrialOutcome {
    TrialOutcome {
        trial: 0,
        block: 0,
        kind: if restored.is_some() { TrialKind::Signal } else { TrialKind::Catch },
        restored,
        response: answered,
        verdict: Verdict::of(restored, answered),
        response_time_s: None,
        exposure: Exposure {
            requested_frames: 150,
            shown_frames: 150,
            longest_frame_ms: 17.0,
            dropped_frames: 0,
            refresh_hz: 60.0,
        },
        input_device: None,
        onsets: Onsets::default(),
    }
}

/// Everything in a text that is the name of a tooth in some naming: whole numbers and words.
fn names_in(text: &str) -> Vec<String> {
    let mut found: Vec<String> = text
        .split(|c: char| !c.is_alphanumeric() && c != '.')
        .map(|word| word.trim_end_matches('.'))
        .filter(|word| !word.is_empty() && word.chars().all(|c| c.is_ascii_digit()))
        .map(str::to_owned)
        .collect();
    for name in teeth().into_iter().map(Tooth::name) {
        found.extend(text.matches(name.as_str()).map(str::to_owned));
    }
    found
}

/// What is said after a number is which tooth that is.
fn unexplained(text: &str, names: ToothNames, tooth: Tooth) -> String {
    let explanation = format!(", the {}", tooth.name());
    if names == ToothNames::Words {
        return text.to_owned();
    }
    assert!(text.contains(&explanation), "{text}");
    text.replace(&explanation, "")
}

/// What is on the screen and on phones about a smile in which `tooth` is restored, and where.
fn about_a_smile(
    names: ToothNames,
    session: &Session,
    tooth: Tooth,
) -> Vec<(&'static str, String)> {
    let (teeth, naming) = (teeth(), Naming::of(session));
    let place = teeth.iter().position(|known| *known == tooth).unwrap();
    let ballot = ballot_of(names, Some(tooth), &teeth);
    assert_eq!((ballot.right.as_slice(), ballot.choices.len()), (&[place][..], 11));
    let mut said = vec![("phones", ballot.choices[place].clone())];

    let row = ToothRow { teeth: &teeth, cursor: None, names: session.names() };
    let (written, label) = row.words_of(place);
    said.push(("answer row", written));
    said.push(("answer row, read out", unexplained(&label, names, tooth)));

    let polygon = vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]];
    let outlines = vec![ToothOutline { tooth, polygon }];
    let picture = Picture { outlines, ..Picture::default() };
    let view =
        DebriefView { showing: Showing::Picture(Side::Restored, 0.0), ..DebriefView::default() };
    let (right, none) = (Response::Tooth(tooth), None);
    for outcome in [outcome(Some(tooth), right), outcome(none, right)] {
        let labels = overlays(&outcome, &picture, view, naming);
        assert_eq!(labels.len(), 1);
        said.extend(labels.into_iter().map(|overlay| ("picture", overlay.label)));
    }

    for response in [right, Response::None, Response::Timeout] {
        let words = verdict_in_words(&outcome(Some(tooth), response), naming);
        said.push(("debrief", unexplained(&words, names, tooth)));
    }
    said.push(("debrief", verdict_in_words(&outcome(None, right), naming)));
    said.push(("solution", truth_in_words(naming, Some((tooth, &DIFFERENCE)))));
    said
}

/// What is said about a question on `tooth`: the marking of it, chart and layers.
fn about_a_question(mut exercising: Exercising, tooth: Tooth) -> Vec<(&'static str, String)> {
    let called = exercising.tooth_said(tooth);
    let layers = CrossSection { tooth, preparation: Preparation::Veneer, cuts: Vec::new() };
    let chart = BlendChart {
        axes: Axes { thickness_mm: Vec::new(), shades: Vec::new() },
        panels: Vec::new(),
        natural: [Lab { l: 0.0, a: 0.0, b: 0.0 }; 3],
        tooth,
        preparation: Preparation::Veneer,
        colour: None,
        tried: Vec::new(),
        elsewhere: Vec::new(),
        uncertainty: None,
    };
    let mut said = vec![
        ("layers", cross_section::in_words(&layers, &called)),
        ("chart", BlendChartView { chart: &chart, tooth: &called }.note()),
    ];
    for _ in 0..2 {
        let sitting = exercising.sitting_mut();
        sitting.show();
        let answer = Answer::Verdict(VerdictAnswer { accept: false });
        sitting.answer(answer, InputDevice::Simulated).unwrap();
        let (_, mark) = sitting.last().unwrap();
        said.push(("verdict", mark.sentences.join(" ")));
        sitting.go_on();
    }
    said
}

/// What is kept of a lecture: the record on the screen and the file.
fn recorded(
    names: ToothNames,
    exercising: &Exercising,
    tooth: Tooth,
) -> Vec<(&'static str, String)> {
    let teeth = teeth();
    let place = teeth.iter().position(|known| *known == tooth).unwrap();
    let mut record = LectureRecord::default();
    record.begin(LecturePart { title: "Part".to_owned(), phase: None });
    let truth = truth_of(names, Some((tooth, &DIFFERENCE)), &teeth);
    let mut counts = vec![0; 11];
    counts[place] = 4;
    // Once the tooth is right, and once a natural one that was taken for restored.
    for odd in [Some(tooth), None] {
        let ballot = ballot_of(names, odd, &teeth);
        let (counts, right) = (counts.clone(), ballot.right.clone());
        record.keep(truth.clone(), true, &ballot, Some(Tally { counts, right, phones: 4 }), &[]);
    }
    let question = exercising.sitting().question().unwrap();
    let (ballot, about, has_target) = ballot_of_question(names, question).unwrap();
    record.keep(about, has_target, &ballot, None, &[]);

    let items = record.items();
    let mut said: Vec<_> = items.iter().map(|item| ("record", item.truth.clone())).collect();
    assert_eq!((said.len(), items[0].commonest_error()), (3, None));
    said.push(("record, commonest error", items[1].commonest_error().unwrap().0.to_owned()));
    let file = record.to_csv();
    for line in file.lines().skip(1) {
        // Between quotes: part, truth, counts of every choice.
        let fields: Vec<&str> = line.split('"').skip(1).step_by(2).collect();
        said.push(("file", fields[1].to_owned()));
        // The third question is counted by hands.
        let count = fields[2].split("; ").nth(place).and_then(|count| count.strip_suffix("=4"));
        said.extend(count.map(|count| ("file, counts", count.to_owned())));
    }
    assert_eq!(said.len(), 4 + 3 + 2, "{file}");
    said
}

/// The heads of the columns under which a report counts how often each tooth was named.
fn reported(course: &Course) -> Vec<String> {
    let item = |signal| {
        let residuals_de00 = vec![0.0; teeth().len()];
        Some(ShownItem { signal, residuals_de00, exposure_s: 2.5 })
    };
    let items = vec![item(Some((0, Direction::Darker, 2.0))), item(None)];
    let form = ShownForm { seed: 1, id: "a".to_owned(), teeth: teeth(), items, unlike: 0 };
    let sitting = |seat: u64, answers: [ItemAnswer; 2]| FormSitting {
        session: seat as i64,
        learner: format!("learner {seat}"),
        seat,
        phase: Phase::Only,
        form: 0,
        day: "2026-01-31".to_owned(),
        counted: Counted::Only,
        response_factor: 1.0,
        answers: answers.map(Some).to_vec(),
        named: vec![Some(1), None],
        median_right_s: None,
        spoilt: 0,
        estimate: None,
    };
    let sittings = vec![
        sitting(0, [ItemAnswer::Right, ItemAnswer::None]),
        sitting(1, [ItemAnswer::None, ItemAnswer::TimedOut]),
    ];
    let data = CourseData { forms: vec![form], sittings, ..CourseData::default() };
    let options = CourseReportOptions {
        course: Some(course),
        shared: false,
        pages: false,
        day: "2026-01-31",
    };
    let page = course_report(&data, &options, &|_| {});
    let heads = page.split("<th>D27</th>").nth(1).unwrap().split("<th>none</th>").next().unwrap();
    heads.split("<th>").skip(1).map(|head| head.replace("</th>", "").trim().to_owned()).collect()
}

/// Names of 15 to 25, the viewer's left to right. Universal numbers from memory, as in the tests of
/// teeth.
fn expected(names: ToothNames) -> Vec<String> {
    let numbers: [u8; 10] = match names {
        ToothNames::Iso3950 => [15, 14, 13, 12, 11, 21, 22, 23, 24, 25],
        ToothNames::Universal => [4, 5, 6, 7, 8, 9, 10, 11, 12, 13],
        ToothNames::Places => [1, 2, 3, 4, 5, 6, 7, 8, 9, 10],
        ToothNames::Words => return words().map(str::to_owned).to_vec(),
    };
    numbers.map(|number| number.to_string()).to_vec()
}

const fn words() -> [&'static str; 10] {
    [
        "upper right second premolar",
        "upper right first premolar",
        "upper right canine",
        "upper right lateral incisor",
        "upper right central incisor",
        "upper left central incisor",
        "upper left lateral incisor",
        "upper left canine",
        "upper left first premolar",
        "upper left second premolar",
    ]
}

#[test]
fn a_tooth_has_one_name_wherever_a_course_names_it() {
    let namings = [
        ("ISO3950", ToothNames::Iso3950),
        ("Universal", ToothNames::Universal),
        ("Words", ToothNames::Words),
        ("Places", ToothNames::Places),
    ];
    for (written, names) in namings {
        let course = course(written);
        assert_eq!(course.tooth_names, names);
        let expected = expected(names);
        assert_eq!(reported(&course), expected, "report, {written}");
        let lecture = Lecture::open(course, Line::Hands(String::new()));
        let session = session(&lecture);
        for (tooth, name) in teeth().into_iter().zip(&expected) {
            let exercising = exercising(&lecture, tooth);
            let mut said = recorded(names, &exercising, tooth);
            said.extend(about_a_smile(names, &session, tooth));
            said.extend(about_a_question(exercising, tooth));
            for (place, text) in said {
                assert_eq!(names_in(&text), [name.as_str()], "{place}, {written}: {text}");
                // Everyone in a room answered for themselves.
                if ["picture", "verdict", "solution"].contains(&place) {
                    assert!(!text.to_lowercase().contains("you"), "{place}: {text}");
                }
            }
        }
    }
}

#[test]
fn outside_courses_teeth_have_the_numbers_of_iso_3950() {
    let tooth = Tooth::new(24).unwrap();
    assert_eq!(Session::new(&plan(), 60.0, None).names(), ToothNames::Iso3950);
    let exercising = Exercising::new(round(tooth), 60.0, None);
    for (place, text) in about_a_question(exercising, tooth) {
        assert_eq!(names_in(&text), ["24"], "{place}: {text}");
    }
}
