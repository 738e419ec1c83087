//! props.
