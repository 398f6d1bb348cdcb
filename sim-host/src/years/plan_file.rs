//! A plan from a file.
