//! Numbers to text, and the pages of reports.

mod causes;
mod pages;
