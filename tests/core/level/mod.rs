//! Files of levels, courses, cases and materials.

mod clinic;
mod course_files;
mod level_files;
mod material_use;
