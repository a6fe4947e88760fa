#![no_main]

use talk::read::Format;
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    laws::check(bytes, Some(Format::WebVtt));
});
