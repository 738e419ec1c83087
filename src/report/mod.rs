//! Numbers to text.
