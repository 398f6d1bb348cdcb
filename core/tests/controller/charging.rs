//! What a charge, its end and every way out of a phase book and say.
