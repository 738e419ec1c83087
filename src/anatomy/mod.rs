//! Shapes of crowns, gum and lips as plain vertices; no GPU types.
