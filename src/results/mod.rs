//! The result store.
