//! Blend: what is asked, whether it is true, and what practitioners know of it.

mod facts;
mod shipped;
mod truth;
