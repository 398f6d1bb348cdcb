//! The catalogue of injections as text: a list, one fault in full, and the book's table.
