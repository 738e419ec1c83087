//! Tests of the app: drawing, screens, commands.

mod cases;
mod viewport;
