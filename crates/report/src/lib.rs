//! The report of one field, built from its results.
