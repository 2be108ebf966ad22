#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| bedway_fuzz::prompt(bytes));
