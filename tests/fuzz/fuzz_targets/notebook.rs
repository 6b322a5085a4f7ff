#![no_main]

#[path = "../entry.rs"]
#[allow(dead_code)]
mod entry;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| entry::notebook(bytes));
