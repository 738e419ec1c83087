//! Charts and widgets, drawn without an adapter.

pub mod paint;
mod widgets;
