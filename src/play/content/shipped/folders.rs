//! Courses and levels of folders of one's own.

use super::loaded::Shipped;
use crate::level::course_format::Course;
use crate::play::content::{Content, ContentError};
use std::path::PathBuf;

/// Folders with files of one's own.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Folders {
    /// Levels, instead of the built-in ones.
    pub levels: Option<PathBuf>,
    /// Materials.
    pub materials: Option<PathBuf>,
    /// Courses, before those that come with the program.
    pub courses: Option<PathBuf>,
}

/// A course by its id, of the folder `courses` or of those that ship, or the course of a file. It may
/// refer to the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError`] with every fault of the files, or when no course has this name.
pub fn course(name: &str, folders: &Folders) -> Result<Course, ContentError> {
    loaded(folders)?.course(name)
}

/// The courses in a folder, and those that come with the program and are not there. They may refer to
/// the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError::Invalid`] with every fault of the files.
pub fn courses(folders: &Folders) -> Result<Vec<Course>, ContentError> {
    let mut courses: Vec<Course> = Vec::new();
    for course in loaded(folders)?.courses() {
        if !courses.iter().any(|own| own.id == course.id) {
            courses.push(course);
        }
    }
    Ok(courses)
}

/// The levels and courses of the folders.
fn loaded(folders: &Folders) -> Result<Shipped, ContentError> {
    let (levels, materials) = (folders.levels.as_deref(), folders.materials.as_deref());
    let content = Shipped::load_all(levels, materials, None)?;
    match &folders.courses {
        Some(folder) => content.with_courses(folder),
        None => Ok(content),
    }
}
