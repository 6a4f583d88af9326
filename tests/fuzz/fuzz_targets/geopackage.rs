#![no_main]

use checkstrip_acceptance::Reader;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|case: &[u8]| Reader::called("geopackage").feed(case));
