#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| boothwright_fuzz::tone(bytes));
