//! The whole job for one field: trial file in, results, maps and report out.
