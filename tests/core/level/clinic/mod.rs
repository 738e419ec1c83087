//! Cases from the clinic: files, the form, and the way back.

mod cases;
mod form;
mod reopened;
