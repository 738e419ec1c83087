//! Observer models.
